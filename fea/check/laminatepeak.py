# SPDX-License-Identifier: MIT
"""Where stress in a laminate does not converge: the stress a little way off, by a rule for notches.

A notched laminate breaks when the stress at a certain distance from the notch reaches its unnotched
strength, whatever the size of the notch (the point stress criterion). It was found on coupons with
holes and cracks under tension; it is borrowed here for corners, held and rigid edges and ends of
ribs, for every ply and for compression and shear too.

Source: whitney-nuismer-1974.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from fea.check.check import Check, Finding
from fea.check.factors import Factors
from fea.check.hotspot import HotSpot, HotSpots
from fea.check.plies import judge_ply_peak, outermost_plies
from fea.check.strength import Spot
from fea.device.device import Wall

DISTANCE = 1.0
"""mm from the place at which stress is read. Source: whitney-nuismer-1974, 0.04 in for carbon and
for glass in epoxy; status memory-M. Tests on other laminates gave one to several mm, and a longer
distance means less stress."""


def judge_laminate_peak(
    zone: str,
    wall: Wall,
    spots: Sequence[HotSpot],
    what: str,
    hot_spots: HotSpots,
    cases: Sequence[str],
    factors: Factors,
) -> list[Finding]:
    """Maximum stress in the plies at some spots of one laminated wall, in each case.

    Args:
        zone: that the checks are said of.
        wall: in which the stress is read.
        spots: with one station each.
        what: stands at these places, in words.
        hot_spots: made for `DISTANCE`.
        cases: names of all cases of the recovered solutions.
        factors: partial factors.
    """
    assert wall.layup is not None
    outer, read = outermost_plies(wall.layup), hot_spots.zone(spots[0])
    angles, numbers = [wall.layup.angles_deg[k] for k in outer], [k + 1 for k in outer]
    stations = [spot.stations[0] for spot in spots]
    rows = np.array([hot_spots.row(station.cell) for station in stations])
    weights = np.array([station.weights for station in stations])
    points = np.array([spot.point for spot in spots])
    findings: list[Finding] = []
    for k, case in enumerate(cases):
        recovered = hot_spots.recovered.case(k)
        corners = (recovered.ply_stress(read, outer)[0, rows],
                   recovered.ply_stress_error(read, np.abs, outer)[0, rows])
        stress, error = (np.einsum("sk,sk...->s...", weights, values) for values in corners)
        finding = judge_ply_peak(
            Spot(zone, case, points), stress, error, angles, numbers, wall.material, factors, what
        )
        findings.append(_borrowed(finding))
    return findings


def _borrowed(finding: Finding) -> Finding:
    if not isinstance(finding, Check):
        return finding
    note = f"the {DISTANCE:g} mm from the place: memory-M; the rule is borrowed from holed coupons"
    return replace(
        finding,
        sources=tuple(dict.fromkeys([*finding.sources, "whitney-nuismer-1974"])),
        note="; ".join(filter(None, [finding.note, note])),
    )

# SPDX-License-Identifier: MIT
"""The places that the plain maximum of stress leaves out, judged by other means, or not at all.

Corners and held or rigid edges of isotropic walls are judged by the structural hot-spot stress.
Washers, ends of struts and point loads wait for a check of the joint itself, laminates for a rule
of their own; until then they are not checked.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from fea.check.check import LOCAL_PEAK, Check, Finding, NotChecked
from fea.check.factors import Factors
from fea.check.hotspot import HotSpot, HotSpots, UnreadError
from fea.check.strength import Spot, judge_yield
from fea.device.device import Device
from fea.mesh.mesh import triangle_geometry
from fea.solver.recovery import Recovered
from fea.structure.singular import POINT, STRUT, WASHER, SingularPlace

_CURES = {
    WASHER: "the joint itself, its hole and its bearing are not judged in this version; test it",
    STRUT: "how the bar enters the wall is not judged in this version; test it",
    POINT: "spread the force over the area that it acts on",
}
_LAMINATE = "no rule for laminates was read in its source; test the place"


def judge_local_peaks(
    device: Device,
    places: Sequence[SingularPlace],
    recovered: Recovered,
    cases: Sequence[str],
    factors: Factors,
) -> tuple[Finding, ...]:
    """Judge the places where stress does not converge.

    Args:
        device: its walls are the zones of the solutions.
        places: left out of the plain maximum.
        recovered: stress of all cases;  cases: their names.
        factors: partial factors.

    Returns:
        A check "local peak" of each zone and case, at the worst place of the zone that could be
        judged; and one not-checked entry for each zone and reason. Together they name every
        place with its area.
    """
    hot_spots = HotSpots(recovered)
    judged: dict[str, list[tuple[SingularPlace, HotSpot]]] = {}
    missing: dict[tuple[str, str], list[SingularPlace]] = {}
    for place in places:
        shares = _shares(device, place)
        try:
            if any(device.walls[zone].layup is not None for zone in shares):
                raise UnreadError(_LAMINATE)
            if place.reason in _CURES:
                raise UnreadError(_CURES[place.reason])
            for spot in hot_spots.of(place):
                judged.setdefault(hot_spots.zone(spot), []).append((place, spot))
        except UnreadError as error:
            missing.setdefault((max(shares, key=shares.__getitem__), str(error)), []).append(place)
    findings: list[Finding] = [
        NotChecked(
            topic=LOCAL_PEAK,
            zone=zone,
            because=f"left out of the plain maximum, since stress does not converge there: "
            f"{left_out_words(group)}; {cure}",
        )
        for (zone, cure), group in missing.items()
    ]
    for zone, group in judged.items():
        findings += _judge_zone(device, zone, group, hot_spots, cases, factors)
    return tuple(findings)


def left_out_words(places: Sequence[SingularPlace]) -> str:
    """Places by reason, each with its position and area.

    Example:
        >>> corner = SingularPlace("re-entrant corner", "", np.array([0]), (4.0, -3.2, 0.0),
        ...                        np.array([True]), 12.4)
        >>> left_out_words([corner, corner])
        're-entrant corner at (4, -3, 0) 12 mm² and at (4, -3, 0) 12 mm²'
    """
    by_reason: dict[str, list[str]] = {}
    for place in places:
        position = ", ".join(f"{value:.0f}" for value in place.point)
        by_reason.setdefault(place.reason, []).append(f"at ({position}) {place.area_mm2:.0f} mm²")
    return "; ".join(f"{reason} {_listed(where)}" for reason, where in by_reason.items())


def _listed(words: Sequence[str]) -> str:
    return " and ".join(filter(None, [", ".join(words[:-1]), words[-1]]))


def _shares(device: Device, place: SingularPlace) -> dict[str, float]:
    """Area that a place leaves out of each zone, mm²."""
    areas, _ = triangle_geometry(device.mesh.points, device.mesh.cells["triangle"])
    area = np.where(place.cells, areas, 0.0)
    shares = {zone: float(area[device.mesh.zone(zone)[1]].sum()) for zone in device.walls}
    return {zone: share for zone, share in shares.items() if share > 0.0}


def _judge_zone(
    device: Device,
    zone: str,
    group: Sequence[tuple[SingularPlace, HotSpot]],
    hot_spots: HotSpots,
    cases: Sequence[str],
    factors: Factors,
) -> list[Finding]:
    places = list(dict.fromkeys(place for place, _ in group))
    points = np.array([spot.point for _, spot in group])
    stress, error = zip(*(hot_spots.stress(spot) for _, spot in group), strict=True)
    findings: list[Finding] = []
    for k, case in enumerate(cases):
        judgement = judge_yield(
            Spot(zone, case, points),
            np.stack([values[k] for values in stress], axis=1),
            device.walls[zone].material,
            factors,
            np.stack([values[k] for values in error], axis=1),
            topic=LOCAL_PEAK,
            what=f"structural hot-spot stress, worst of {left_out_words(places)},",
        )
        findings += [_borrowed(finding) for finding in judgement.findings]
    return findings


def _borrowed(finding: Finding) -> Finding:
    """A finding with the source of the hot-spot stress and what it was made for."""
    if not isinstance(finding, Check):
        return finding
    note = "the rule is borrowed from welded joints, and what a notch adds within a wall "
    note += "thickness is not in it"
    return replace(
        finding,
        sources=tuple(dict.fromkeys([*finding.sources, "hobbacher-2016"])),
        note="; ".join(filter(None, [finding.note, note])),
    )

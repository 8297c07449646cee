# SPDX-License-Identifier: MIT
"""A wall with something bonded on: every layer by the rules of its own material, and the bond.

Layers of one material are held against yield by their von Mises stress, plies by the criteria for
plies, what lies between plies by their interlaminar shear strength. The bond carries the shear that
equilibrium asks for there. How it is pulled and sheared at the ends of what is bonded on is not
computed: `judge_bonded` says so.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from fea.check.check import Finding, NotChecked
from fea.check.factors import Factors
from fea.check.interlaminar import judge_bond, judge_interlaminar_shear
from fea.check.plies import judge_plies, outermost_plies
from fea.check.strength import Spot, ZoneJudgement, judge_yield
from fea.device.device import Wall
from fea.material.library import LibraryMaterial
from fea.solver.edgeshear import beside_an_edge
from fea.solver.interlaminar import interlaminar_shear
from fea.solver.recovery import Measure, Recovered
from fea.tensors import von_mises

Array = NDArray[np.float64]

PEEL, SHIFT = "peel", "load taken over from a warm wall"
"""Topics of what is not computed."""

_CREEPS = ("thermoplastic", "printed")
_ENDS = (
    "at the ends and edges of what is bonded on, and where the wall under it is folded, the bond "
    "is pulled off and sheared hardest, over about the thickness of the wall; neither that nor its "
    "fatigue is computed: taper and round the ends, run them out to where little is asked, rivet "
    "or wrap them, and tap along the edges at every visit"
)
_WARM = (
    "as {soft} warms on the skin and creeps, it gives way, and what is bonded to it takes over "
    "load; stress is computed with both as stiff as at first: give the modulus of the warm, crept "
    "wall in a material file (--materials), and look at the checks of {zone} again"
)


def judge_bonded(spot: Spot, wall: Wall, recovered: Recovered, factors: Factors) -> ZoneJudgement:
    """All layers and bonds of one wall in one case.

    Args:
        spot: zone, case, and the corners of its cells.
        wall: with `layers`.
        recovered: the stress of that case.
        factors: partial factors.

    Returns:
        Checks of each layer's material, of the shear between plies, and of each bond; what is not
        computed as not checked. The shares are those of all checks together.
    """
    layers = [
        judgement
        for material in wall.materials
        for judgement in _layers(spot, wall, material, recovered, factors)
    ]
    between = _between(spot, wall, recovered, factors)
    findings: list[Finding] = [each for judged in layers + between for each in judged.findings]
    findings.append(NotChecked(topic=PEEL, zone=spot.zone, because=_ENDS))
    soft = [each.name for each in wall.materials if each.kind in _CREEPS]
    if 0 < len(soft) < len(wall.materials):
        because = _WARM.format(soft=" and ".join(soft), zone=f"'{spot.zone}'")
        findings.append(NotChecked(topic=SHIFT, zone=spot.zone, because=because))
    worst = np.max([judged.shares for judged in layers], axis=0)  # unknown where one of them is
    shares = np.fmax.reduce([worst, *(judged.shares for judged in between)])
    return ZoneJudgement(tuple(findings), np.where(np.isnan(worst), np.nan, shares))


def layers_of(wall: Wall, material: LibraryMaterial) -> list[int]:
    """Numbers of the layers of a wall that are of a material, from 0 at the bottom."""
    return [k for k, each in enumerate(wall.layers) if each.name == material.name]


def _layers(
    spot: Spot, wall: Wall, material: LibraryMaterial, recovered: Recovered, factors: Factors
) -> list[ZoneJudgement]:
    """The layers of one material."""
    assert wall.layup is not None
    count, own = len(spot.places), layers_of(wall, material)
    outer = outermost_plies(wall.layup, own)
    stress = recovered.ply_stress(spot.zone, outer).reshape(count, len(outer), 3, 3)

    def error_of(measure: Measure) -> Array:
        error = recovered.ply_stress_error(spot.zone, measure, outer)
        return error.reshape(count, *error.shape[3:])

    if material.kind == "laminate":
        angles = [wall.layup.angles_deg[k] for k in outer]
        numbers = [k + 1 for k in outer]
        return [judge_plies(spot, stress, angles, material, factors, error_of, numbers)]
    error = error_of(von_mises)
    return [
        judge_yield(
            spot, np.moveaxis(stress[:, row], 1, 0), material, factors, error[:, row].T,
            part=f"layer {number + 1} of {len(wall.layers)} of the wall, of {material.name}",
        )
        for row, number in enumerate(outer)
    ]  # fmt: skip


def _between(
    spot: Spot, wall: Wall, recovered: Recovered, factors: Factors
) -> list[ZoneJudgement]:
    """Shear in plies, between them, and in the bonds; away from edges, which `PEEL` is said of."""
    count = len(spot.places)
    away = ~beside_an_edge(recovered, spot.zone).ravel()
    judged = away if spot.judged is None else spot.judged & away
    inner = Spot(spot.zone, spot.case, spot.places, judged)
    shear = interlaminar_shear(recovered, spot.zone)
    stress, error = shear.stress.reshape(count, -1, 2), shear.error.reshape(count, -1)
    found = [
        judge_interlaminar_shear(
            inner, stress[:, heights], material, factors, error[:, heights], heights
        )
        for material in wall.materials
        if (heights := _heights(wall, material)) and material.kind == "laminate"
    ]
    for bond in wall.bonds:
        at = 2 * bond.below + 1
        found.append(judge_bond(inner, stress[:, at], bond.material, factors, error[:, at]))
    return found


def _heights(wall: Wall, material: LibraryMaterial) -> Sequence[int]:
    """Middles of the layers of a material, and the faces between two of them that are no bond."""
    own, bonds = layers_of(wall, material), [bond.below for bond in wall.bonds]
    inside = [2 * k + 1 for k in own if k + 1 in own and k not in bonds]
    return sorted([*(2 * k for k in own), *inside])

# SPDX-License-Identifier: MIT
"""All zones of a device against their strength: findings, and the share used cell by cell."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.check.check import Check, Finding, NotChecked
from fea.check.factors import Factors
from fea.check.strength import (
    Spot,
    ZoneJudgement,
    check_left_out,
    judge_bar,
    judge_plies,
    judge_yield,
)
from fea.device.device import Device, Wall
from fea.solver.solution import Solution, surface_stresses

LeftOut = Mapping[str, Mapping[str, NDArray[np.bool_]]]
"""Zone to reason to (c,) True for cells where stress does not converge."""


@dataclass(frozen=True, eq=False)
class Judgement:
    """Strength of all walls and bars in all cases.

    Attributes:
        findings: of every zone and case, and what was left out.
        utilisation: case to zone to the highest utilisation of the checks made there.
        cells: (c,) largest share over the cases of each triangle of the mesh; NaN where a cell is
            not judged.
    """

    findings: tuple[Finding, ...]
    utilisation: Mapping[str, Mapping[str, float]]
    cells: NDArray[np.float64]


def judge(
    device: Device,
    solutions: Mapping[str, Solution],
    factors: Factors,
    left_out: LeftOut | None = None,
) -> Judgement:
    """Strength of all walls and bars over all cases.

    Args:
        device: walls and bars with their materials; its zones are those of the solutions.
        solutions: case name to solution; all share one structure.
        factors: partial factors.
        left_out: cells that the strength checks must leave out, by zone and reason. Default:
            the cells under washers.

    Returns:
        Findings, shares by case and zone, shares by cell.
    """
    left_out = under_washers(device) if left_out is None else left_out
    findings: list[Finding] = []
    utilisation: dict[str, dict[str, float]] = {case: {} for case in solutions}
    cells = np.full(len(device.mesh.cells.get("triangle", ())), np.nan)
    for zone in (*device.walls, *device.bars):
        kind, numbers = device.mesh.zone(zone)
        masks = left_out.get(zone, {})
        for case, judgement in _judge_zone(device, zone, solutions, factors, masks).items():
            findings += judgement.findings
            made = [entry.utilisation for entry in judgement.findings if isinstance(entry, Check)]
            if made:
                utilisation[case][zone] = max(made)
            if kind == "triangle":
                cells[numbers] = np.fmax(cells[numbers], judgement.shares)
        findings += check_left_out(zone, masks, len(numbers))
    return Judgement((*findings, *_fastening_gaps(device)), utilisation, cells)


def under_washers(device: Device) -> LeftOut:
    """The shell cells that touch a washer: the pull of a tie does not converge there."""
    patches = [device.mesh.place(fastening.shell_place) for fastening in device.fastenings]
    if not patches:
        return {}
    nodes = np.unique(np.concatenate(patches))
    touching = {
        zone: np.asarray(np.isin(device.mesh.zone_cells(zone), nodes).any(axis=1))
        for zone in device.walls
    }
    return {zone: {"under a washer": mask} for zone, mask in touching.items() if mask.any()}


def _judge_zone(
    device: Device,
    zone: str,
    solutions: Mapping[str, Solution],
    factors: Factors,
    masks: Mapping[str, NDArray[np.bool_]],
) -> dict[str, ZoneJudgement]:
    """Judgement of one zone by case."""
    if not solutions:
        return {}
    places = device.mesh.points[device.mesh.zone_cells(zone)].mean(axis=1)
    judged = ~np.any(list(masks.values()), axis=0) if masks else None
    spots = {case: Spot(zone, case, places, judged) for case in solutions}
    if zone in device.bars:
        material = device.bars[zone].material
        return {
            case: judge_bar(spots[case], solution.fibre_stress(zone), material, factors)
            for case, solution in solutions.items()
        }
    return _judge_wall(spots, device.walls[zone], solutions, factors)


def _judge_wall(
    spots: Mapping[str, Spot], wall: Wall, solutions: Mapping[str, Solution], factors: Factors
) -> dict[str, ZoneJudgement]:
    zone = next(iter(spots.values())).zone
    if wall.layup is None:
        stress = surface_stresses(list(solutions.values()), zone)
        return {
            case: judge_yield(spots[case], layers, wall.material, factors)
            for case, layers in zip(solutions, stress, strict=True)
        }
    angles = wall.layup.angles_deg
    return {
        case: judge_plies(spots[case], solution.ply_stress(zone), angles, wall.material, factors)
        for case, solution in solutions.items()
    }


def _fastening_gaps(device: Device) -> tuple[NotChecked, ...]:
    return tuple(
        NotChecked(
            topic="fastening",
            zone=fastening.name,
            because="rivet, hole and bearing are not judged; fastenings are where devices fail "
            "first, so test this joint",
        )
        for fastening in device.fastenings
    )


STANDING_GAPS: tuple[NotChecked, ...] = tuple(
    NotChecked(topic=topic, zone="device", because=because)
    for topic, because in (
        (
            "life",
            "fatigue over months of steps is not computed in this version; a device that holds "
            "one step may still crack later",
        ),
        (
            "buckling",
            "stability of thin walls is not computed in this version; watch for it in a bench test",
        ),
        (
            "joints and holes",
            "rivets, screws, slots and the material round them are not judged in this version",
        ),
        (
            "mesh error",
            "no finer mesh was solved, and the stress of a cell is its mean; with half the cell "
            "size the peak of a shipped device rose by 16 %",
        ),
        (
            "local peaks",
            "sharp corners and edges where stress does not converge with the mesh are not "
            "judged separately in this version",
        ),
        (
            "skin pressure",
            "limb and device press and pull on each other in this version, so a pressure on the "
            "skin would not be true",
        ),
    )
)
"""What no device is judged on in this version: never a pass."""

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
from fea.solver.recovery import Measure, Recovered
from fea.solver.solution import Solution

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

    Walls are judged at the corners of their cells, on recovered stress with its estimated error.

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
    recovered = _recovered(device, solutions)
    for zone in (*device.walls, *device.bars):
        kind, numbers = device.mesh.zone(zone)
        masks = left_out.get(zone, {})
        judged = ~np.any(list(masks.values()), axis=0) if masks else None
        for k, (case, solution) in enumerate(solutions.items()):
            if kind == "triangle":
                spot = _corners(device, zone, case, judged)
                judgement = _judge_wall(spot, device.walls[zone], recovered[k], factors)
                shares = judgement.shares.reshape(-1, 3).max(axis=1)
                cells[numbers] = np.fmax(cells[numbers], shares)
            else:
                judgement = _judge_bar(device, zone, solution, judged, factors)
            findings += judgement.findings
            made = [entry.utilisation for entry in judgement.findings if isinstance(entry, Check)]
            if made:
                utilisation[case][zone] = max(made)
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


def _recovered(device: Device, solutions: Mapping[str, Solution]) -> list[Recovered]:
    """The recovered stress of each case; none where the device has no walls."""
    if not solutions or not device.walls:
        return []
    every = list(solutions.values())
    together = every[0].system.recovery(every)
    return [together.case(k) for k in range(len(every))]


def _corners(device: Device, zone: str, case: str, judged: NDArray[np.bool_] | None) -> Spot:
    """The corners of a wall's cells, three for each cell."""
    places = device.mesh.points[device.mesh.zone_cells(zone)].reshape(-1, 3)
    return Spot(zone, case, places, None if judged is None else np.repeat(judged, 3))


def _judge_wall(spot: Spot, wall: Wall, recovered: Recovered, factors: Factors) -> ZoneJudgement:
    count = len(spot.places)
    if wall.layup is None:
        stress = recovered.surface_stress(spot.zone).reshape(3, count, 3)
        error = recovered.stress_error(spot.zone).reshape(3, count)
        return judge_yield(spot, stress, wall.material, factors, error)

    def error_of(measure: Measure) -> NDArray[np.float64]:
        error = recovered.ply_stress_error(spot.zone, measure)
        return error.reshape(count, *error.shape[3:])

    plies = recovered.ply_stress(spot.zone)
    plies = plies.reshape(count, *plies.shape[3:])
    return judge_plies(spot, plies, wall.layup.angles_deg, wall.material, factors, error_of)


def _judge_bar(
    device: Device,
    zone: str,
    solution: Solution,
    judged: NDArray[np.bool_] | None,
    factors: Factors,
) -> ZoneJudgement:
    places = device.mesh.points[device.mesh.zone_cells(zone)].mean(axis=1)
    spot = Spot(zone, solution.case, places, judged)
    return judge_bar(spot, solution.fibre_stress(zone), device.bars[zone].material, factors)


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
            "joints and holes",
            "rivets, screws, slots and the material round them are not judged in this version",
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

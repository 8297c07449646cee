# SPDX-License-Identifier: MIT
"""Judges every zone of a device in every solved case."""

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from fea.check.check import Check, Finding, NotChecked, governing
from fea.check.factors import Factors
from fea.check.strength import Spot, check_bar, check_left_out, check_plies, check_yield
from fea.device.device import Device, Wall
from fea.solver.solution import Solution

LeftOut = Mapping[str, Mapping[str, NDArray[np.bool_]]]
"""Zone to reason to (c,) True for cells where stress does not converge."""


def check_strength(
    device: Device,
    solutions: Mapping[str, Solution],
    factors: Factors,
    left_out: LeftOut | None = None,
) -> tuple[tuple[Check, ...], tuple[NotChecked, ...]]:
    """Strength of all walls and bars over all cases.

    Args:
        device: walls and bars with their materials; its zones are those of the solutions.
        solutions: case name to solution.
        factors: partial factors.
        left_out: cells that the strength checks must leave out, by zone and reason. Default:
            the cells under washers.

    Returns:
        The governing check of every topic and zone, the worst first, and what was not checked.
    """
    left_out = under_washers(device) if left_out is None else left_out
    findings: list[Finding] = []
    for zone, wall in device.walls.items():
        masks = left_out.get(zone, {})
        places = zone_centroids(device, zone)
        judged = ~np.any(list(masks.values()), axis=0) if masks else None
        for case, solution in solutions.items():
            findings += _check_wall(Spot(zone, case, places, judged), wall, solution, factors)
        findings += check_left_out(zone, masks, len(places))
    for zone, bar in device.bars.items():
        places = zone_centroids(device, zone)
        for case, solution in solutions.items():
            stress = solution.fibre_stress(zone)
            findings.append(check_bar(Spot(zone, case, places), stress, bar.material, factors))
    findings += [
        NotChecked(
            topic="fastening",
            zone=fastening.name,
            because="rivet, hole and bearing are not judged; fastenings are where devices fail "
            "first, so test this joint",
        )
        for fastening in device.fastenings
    ]
    return governing(findings)


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


def zone_centroids(device: Device, zone: str) -> NDArray[np.float64]:
    """Centroids (c, 3) of a zone's cells, mm."""
    return device.mesh.points[device.mesh.zone_cells(zone)].mean(axis=1)


def _check_wall(
    spot: Spot, wall: Wall, solution: Solution, factors: Factors
) -> tuple[Finding, ...]:
    if wall.layup is None:
        layers = [solution.stress(spot.zone, at) for at in ("bottom", "middle", "top")]
        return (check_yield(spot, np.stack(layers), wall.material, factors),)
    stress = solution.ply_stress(spot.zone)
    return check_plies(spot, stress, wall.layup.angles_deg, wall.material, factors)

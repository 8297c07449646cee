# SPDX-License-Identifier: MIT
"""All zones of a device against their strength: findings, and the share used cell by cell."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.check.capacity import capacity_of
from fea.check.check import Check, Finding, NotChecked
from fea.check.factors import Factors
from fea.check.strength import (
    PLY_STRENGTHS,
    Spot,
    check_bar,
    check_left_out,
    check_plies,
    check_yield,
)
from fea.check.zones import LeftOut, under_washers, zone_centroids
from fea.device.device import Device, Wall
from fea.material.criteria import PlyStrength, stress_ratios, tsai_wu
from fea.solver.solution import Solution, surface_stresses
from fea.tensors import von_mises

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Judgement:
    """Strength of all zones in all cases.

    Attributes:
        findings: one or more for each zone and case.
        utilisation: case to zone to the highest utilisation found there.
        cells: (c,) highest utilisation over the cases of each triangle, in the mesh's order; NaN
            where a triangle is not judged.
    """

    findings: tuple[Finding, ...]
    utilisation: Mapping[str, Mapping[str, float]]
    cells: Array


def judge(
    device: Device,
    solutions: Mapping[str, Solution],
    factors: Factors,
    left_out: LeftOut | None = None,
) -> Judgement:
    """Judge the strength of every wall, bar and fastening in every case.

    Args:
        device: walls and bars with their materials; its zones are those of the solutions.
        solutions: case name to solution.
        factors: partial factors.
        left_out: cells that the strength checks leave out, by zone and reason; None leaves out
            those under washers.
    """
    left_out = under_washers(device) if left_out is None else left_out
    findings: list[Finding] = []
    cells = np.full(len(device.mesh.cells.get("triangle", ())), np.nan)
    for zone, wall in device.walls.items():
        masks = left_out.get(zone, {})
        places = zone_centroids(device, zone)
        judged = ~np.any(list(masks.values()), axis=0) if masks else np.full(len(places), True)
        spots = [Spot(zone, case, places, judged) for case in solutions]
        found, used = _judge_wall(spots, wall, list(solutions.values()), factors)
        findings += [*found, *check_left_out(zone, masks, len(places))]
        cells[device.mesh.zone(zone)[1]] = np.where(judged, used, np.nan)
    findings += _judge_bars(device, solutions, factors)
    return Judgement(tuple(findings), _utilisation(findings, solutions), cells)


def _judge_wall(
    spots: Sequence[Spot], wall: Wall, solutions: Sequence[Solution], factors: Factors
) -> tuple[list[Finding], Array]:
    """Findings of a wall, and the highest utilisation (c,) of its cells; NaN when unknown."""
    required = factors.required(wall.material.kind).value
    if wall.layup is None:
        stresses = surface_stresses(solutions, spots[0].zone)
        findings: list[Finding] = [
            check_yield(spot, stress, wall.material, factors)
            for spot, stress in zip(spots, stresses, strict=True)
        ]
        capacity = capacity_of(wall.material, "yield_strength", factors)
        limit = np.nan if capacity is None else capacity.value
        return findings, required / limit * von_mises(stresses).max(axis=(0, 1))
    strength = _ply_strength(wall, factors)
    findings, used = [], np.full(len(spots[0].places), np.nan)
    for spot, solution in zip(spots, solutions, strict=True):
        stress = solution.ply_stress(spot.zone)
        findings += check_plies(spot, stress, wall.layup.angles_deg, wall.material, factors)
        used = np.fmax(used, required * _ply_exposure(stress, strength))
    return findings, used


def _judge_bars(
    device: Device, solutions: Mapping[str, Solution], factors: Factors
) -> list[Finding]:
    findings: list[Finding] = []
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
    return findings


def _utilisation(
    findings: Sequence[Finding], solutions: Mapping[str, Solution]
) -> dict[str, dict[str, float]]:
    table: dict[str, dict[str, float]] = {case: {} for case in solutions}
    for finding in findings:
        if isinstance(finding, Check):
            of_case = table[finding.case]
            of_case[finding.zone] = max(of_case.get(finding.zone, 0.0), finding.utilisation)
    return table


def _ply_strength(wall: Wall, factors: Factors) -> PlyStrength:
    capacities = [capacity_of(wall.material, name, factors) for name in PLY_STRENGTHS]
    return PlyStrength(*(None if entry is None else entry.value for entry in capacities))


def _ply_exposure(stress: Array, strength: PlyStrength) -> Array:
    """Highest exposure (c,) over plies, their faces and the criteria that the strengths allow."""
    ratios = np.nanmax(stress_ratios(stress, strength), axis=(1, 2, 3), initial=0.0)
    if strength.missing:
        return ratios
    return np.fmax(ratios, tsai_wu(stress, strength).max(axis=(1, 2)))


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

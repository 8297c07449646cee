# SPDX-License-Identifier: MIT
"""All zones of a device against their strength: findings, and the share used cell by cell."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fea.check.bonded import judge_bonded
from fea.check.check import Check, Finding
from fea.check.factors import Factors
from fea.check.interlaminar import (
    PULL,
    judge_edge_shear,
    judge_interlaminar_shear,
    narrow_wall,
)
from fea.check.joints import judge_joints
from fea.check.local import judge_local_peaks, laminates_unread_at
from fea.check.plies import judge_plies, outermost_plies
from fea.check.strength import Spot, ZoneJudgement, judge_bar, judge_yield
from fea.device.device import Device, Wall
from fea.material.laminate import Laminate
from fea.solver.edgeshear import beside_an_edge, edge_shear
from fea.solver.interlaminar import interlaminar_shear
from fea.solver.recovery import Measure, Recovered
from fea.solver.solution import Solution
from fea.structure.region import Region
from fea.structure.sections import torsion_shear
from fea.structure.singular import SingularPlace, left_out, singular_places


@dataclass(frozen=True, eq=False)
class Judgement:
    """Strength of all walls and bars in all cases.

    Attributes:
        findings: of every zone and case, and what was left out.
        utilisation: case to zone to the highest utilisation of the checks made there.
        cells: (c,) largest share over the cases of each triangle of the mesh; NaN where a cell is
            not judged.
        left_out: places that the plain maximum leaves out, since stress does not converge there.
    """

    findings: tuple[Finding, ...]
    utilisation: Mapping[str, Mapping[str, float]]
    cells: NDArray[np.float64]
    left_out: tuple[SingularPlace, ...]


def judge(
    device: Device,
    solutions: Mapping[str, Solution],
    factors: Factors,
    outside: Region | None = None,
) -> Judgement:
    """Strength of all walls and bars over all cases.

    Walls are judged at the corners of their cells, on recovered stress with its estimated error;
    the places where stress does not converge are left out of that, and judged by themselves.

    Args:
        device: walls and bars with their materials; its zones are those of the solutions.
        solutions: case name to solution; all share one structure.
        factors: partial factors.
        outside: takes the plain maximum outside of this region in place of what these cells leave
            out, to compare meshes; the places themselves are those of these cells all the same.

    Returns:
        Findings, shares by case and zone, shares by cell, and what was left out.
    """
    findings: list[Finding] = []
    cells = np.full(len(device.mesh.cells.get("triangle", ())), np.nan)
    recovered = _recovered(device, solutions)
    places, out = _left_out(solutions, cells, outside)
    for zone in (*device.walls, *device.bars):
        kind, numbers = device.mesh.zone(zone)
        for k, (case, solution) in enumerate(solutions.items()):
            if kind == "triangle":
                assert recovered is not None
                spot = _corners(device, zone, case, ~out[numbers])
                judgement = _judge_wall(spot, device.walls[zone], recovered.case(k), factors)
                shares = judgement.shares.reshape(-1, 3).max(axis=1)
                cells[numbers] = np.fmax(cells[numbers], shares)
            else:
                judgement = _judge_bar(device, zone, solution, factors)
            findings += judgement.findings
    if recovered is not None:
        findings += judge_local_peaks(device, places, recovered, list(solutions), factors)
        findings += laminates_unread_at(device, places)
        findings += judge_joints(device, solutions, recovered, places, factors)
    if any(wall.layup is not None for wall in device.walls.values()):
        findings.append(PULL)
    return Judgement(tuple(findings), _utilisation(solutions, findings), cells, places)


def together(judgements: Sequence[Judgement]) -> Judgement:
    """Judgements of one device in different sets of cases, as one."""
    findings = [finding for judgement in judgements for finding in judgement.findings]
    shares = {case: row for each in judgements for case, row in each.utilisation.items()}
    cells = np.fmax.reduce([judgement.cells for judgement in judgements])
    return Judgement(tuple(dict.fromkeys(findings)), shares, cells, judgements[0].left_out)


def worst_by_instant(
    utilisation: Mapping[str, Mapping[str, float]], instants: Mapping[str, str]
) -> dict[str, dict[str, float]]:
    """Instant to zone to the highest share over the cases that stand for that instant."""
    worst: dict[str, dict[str, float]] = {}
    for case, shares in utilisation.items():
        row = worst.setdefault(instants[case], {})
        for zone, share in shares.items():
            row[zone] = max(row.get(zone, 0.0), share)
    return worst


def _left_out(
    solutions: Mapping[str, Solution], cells: NDArray[np.float64], outside: Region | None
) -> tuple[tuple[SingularPlace, ...], NDArray[np.bool_]]:
    """Where stress does not converge, and which cells (c,) the plain maximum leaves out.

    Devices are loaded on areas, so loads add nothing.
    """
    if not solutions:
        return (), np.zeros(len(cells), dtype=bool)
    structure = next(iter(solutions.values())).system.structure
    places = singular_places(structure)
    if outside is not None:
        return places, outside.on(structure.mesh)
    return places, left_out(structure, places).cells


def _recovered(device: Device, solutions: Mapping[str, Solution]) -> Recovered | None:
    """The recovered stress of all cases; None where the device has no walls."""
    if not solutions or not device.walls:
        return None
    every = list(solutions.values())
    return every[0].system.recovery(every)


def _utilisation(cases: Iterable[str], findings: Iterable[Finding]) -> dict[str, dict[str, float]]:
    """Case to zone to the highest utilisation of the checks made there."""
    shares: dict[str, dict[str, float]] = {case: {} for case in cases}
    for check in findings:
        if isinstance(check, Check):
            row = shares[check.case]
            row[check.zone] = max(row.get(check.zone, 0.0), check.utilisation)
    return shares


def _corners(device: Device, zone: str, case: str, judged: NDArray[np.bool_]) -> Spot:
    """The corners of a wall's cells, three for each cell."""
    places = device.mesh.points[device.mesh.zone_cells(zone)].reshape(-1, 3)
    return Spot(zone, case, places, np.repeat(judged, 3))


def _judge_wall(spot: Spot, wall: Wall, recovered: Recovered, factors: Factors) -> ZoneJudgement:
    count = len(spot.places)
    if wall.layup is None:
        stress = recovered.surface_stress(spot.zone).reshape(3, count, 3)
        error = recovered.stress_error(spot.zone).reshape(3, count)
        return judge_yield(spot, stress, wall.material, factors, error)
    if wall.layers:
        return judge_bonded(spot, wall, recovered, factors)
    plies = _judge_plies(spot, wall, wall.layup, recovered, factors)
    between = _judge_between_plies(spot, wall, recovered, factors)
    known = ~np.isnan(plies.shares)
    shares = np.where(known, np.fmax(plies.shares, between.shares), np.nan)
    return ZoneJudgement((*plies.findings, *between.findings), shares)


def _judge_between_plies(
    spot: Spot, wall: Wall, recovered: Recovered, factors: Factors
) -> ZoneJudgement:
    """Shear between plies away from edges of the wall; and at its free edges."""
    count, mesh = len(spot.places), recovered.recovery.system.structure.mesh
    judged = np.ones(count, dtype=bool) if spot.judged is None else spot.judged
    shear = interlaminar_shear(recovered, spot.zone)
    inner = judge_interlaminar_shear(
        replace(spot, judged=judged & ~beside_an_edge(recovered, spot.zone).ravel()),
        shear.stress.reshape(count, -1, 2),
        wall.material,
        factors,
        shear.error.reshape(count, -1),
    )
    edge = edge_shear(recovered, spot.zone)
    out = mesh.zone_cells(spot.zone).ravel()[~judged]
    if not np.isin(edge.unread, out).all():
        return ZoneJudgement((*inner.findings, narrow_wall(spot.zone)), inner.shares)
    kept = ~np.isin(edge.nodes, out)
    if not kept.any():
        return inner
    rim = Spot(spot.zone, spot.case, mesh.points[edge.nodes], kept)
    outer = judge_edge_shear(rim, edge.stress[0], wall.material, factors, edge.error[0])
    return ZoneJudgement((*inner.findings, *outer.findings), inner.shares)


def _judge_plies(
    spot: Spot, wall: Wall, layup: Laminate, recovered: Recovered, factors: Factors
) -> ZoneJudgement:
    count = len(spot.places)
    outer = outermost_plies(layup)
    angles = [layup.angles_deg[k] for k in outer]

    def error_of(measure: Measure) -> NDArray[np.float64]:
        error = recovered.ply_stress_error(spot.zone, measure, outer)
        return error.reshape(count, *error.shape[3:])

    plies = recovered.ply_stress(spot.zone, outer)
    plies = plies.reshape(count, *plies.shape[3:])
    numbers = [k + 1 for k in outer]
    return judge_plies(spot, plies, angles, wall.material, factors, error_of, numbers)


def _judge_bar(device: Device, zone: str, solution: Solution, factors: Factors) -> ZoneJudgement:
    places = device.mesh.points[device.mesh.zone_cells(zone)].mean(axis=1)
    spot = Spot(zone, solution.case, places)
    bar = device.bars[zone]
    twist = solution.strut_forces(zone)[..., 3] * torsion_shear(bar.width, bar.depth)
    return judge_bar(spot, solution.fibre_stress(zone), bar.material, factors, twist)

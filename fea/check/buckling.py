# SPDX-License-Identifier: MIT
"""Buckling of the whole device in each load case: where it gives way, and by what factor."""

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.check.check import BUCKLING, Check, Finding, NotChecked, Point
from fea.check.factors import Factors
from fea.check.stability import Share, knock_down, stiffness_left
from fea.check.wording import quantity_text
from fea.device.device import Bar, Device, Wall
from fea.mesh.curvature import largest_curvature
from fea.solver.buckling import BELOW, Buckling, buckle_all
from fea.solver.solution import Solution
from fea.solver.system import System

Array = NDArray[np.float64]

TOLERANCE = 1e-4
"""Of a critical factor, relative."""

_REACH = 3.0  # walls, or cells, round a place over which curvature is averaged
PROOF = {
    True: f"a count proves that no lower factor was missed (within {100 * BELOW:g} %)",
    None: "unproved: the factorisation gave no count of lower factors",
    False: "a count shows that a lower factor was missed",
}
"""What the count says of a factor, in words."""


@dataclass(frozen=True)
class Buckle:
    """How one case buckles.

    Attributes:
        case: load case.
        factor: critical factor of its loads, computed with the stiffness of the solve; None where
            no load of this direction, however large, makes the device buckle.
        proved: True when a count shows that no smaller factor was missed, False when it shows
            that one was, None when there is no count.
        zone, place: where the buckle strains walls and bars hardest; mm.
        moves_most: place of its largest displacement, mm.
        slenderness: radius of curvature over wall there; infinite where flat, None of a bar.
    """

    case: str
    factor: float | None
    proved: bool | None
    zone: str = "device"
    place: Point | None = None
    moves_most: Point | None = None
    slenderness: float | None = None


@dataclass(frozen=True, eq=False)
class BucklingJudgement:
    """Buckling in all cases.

    Attributes:
        findings: one of each case.
        buckles: how each case buckles.
        modes: case to factor and shape.
    """

    findings: tuple[Finding, ...]
    buckles: tuple[Buckle, ...]
    modes: Mapping[str, Buckling]


def judge_buckling(
    device: Device,
    solutions: Mapping[str, Solution],
    factors: Factors,
    held: Collection[str] = (),
) -> BucklingJudgement:
    """Buckling of a device in all cases, walls and bars together, each under its own forces.

    Args:
        device: walls and bars; its zones are those of the solutions.
        solutions: case name to solution; all share one structure.
        factors: partial factors.
        held: cases whose load is held, so that the buckle creeps; all others are a step's peak.
    """
    modes = buckle_all(solutions, 1, tolerance=TOLERANCE)
    buckles = tuple(
        read_buckle(device, solutions[case].system, mode) for case, mode in modes.items()
    )
    findings = check_buckles(device, buckles, factors, held)
    return BucklingJudgement(findings, buckles, modes)


def check_buckles(
    device: Device, buckles: Sequence[Buckle], factors: Factors, held: Collection[str] = ()
) -> tuple[Finding, ...]:
    """Every case against buckling, arguments as for `judge_buckling`."""
    left = {still: stiffness_left(device.materials, factors, still) for still in (False, True)}
    return tuple(
        check_buckle(device, buckle, left[buckle.case in held], factors) for buckle in buckles
    )


def read_buckle(device: Device, system: System, mode: Buckling) -> Buckle:
    """Where the lowest shape of a case lies, and how the wall is curved there."""
    if not len(mode.factors):
        return Buckle(mode.case, None, mode.proved)
    shape, factor = mode.shapes[0], float(mode.factors[0])
    zone, cell = _hardest_cell(device, system, shape)
    points, cells = device.mesh.points, device.mesh.zone_cells(zone)
    place = points[cells[cell]].mean(axis=0)
    size = np.linalg.norm(shape[: len(points), :3], axis=1)
    slenderness = None
    if zone in device.walls:
        wall = float(np.broadcast_to(device.walls[zone].thickness, len(cells))[cell])
        sides = np.diff(points[cells[cell, [0, 1, 2, 0]]], axis=0)
        reach = _REACH * max(wall, float(np.linalg.norm(sides, axis=1).max()))
        bent = wall * largest_curvature(points, cells, place, reach)
        slenderness = 1.0 / bent if bent > 1e-9 else math.inf
    return Buckle(mode.case, factor, mode.proved, zone, _point(place),
                  _point(points[int(np.argmax(size))]), slenderness)  # fmt: skip


def _doubt(buckle: Buckle) -> str:
    """Why the factor of a case cannot be relied on; empty where it can."""
    if buckle.proved is False:
        found = quantity_text(buckle.factor or 0.0)
        return f"the count shows a lower factor than the one found ({found})"
    if buckle.factor is None and buckle.proved is None:
        return (
            "no factor was found, and the factorisation gave no count that would prove that there "
            "is none"
        )
    return ""


def check_buckle(device: Device, buckle: Buckle, left: Share, factors: Factors) -> Finding:
    """One case against buckling.

    Args:
        device: for the material where it buckles.
        buckle: how the case buckles.
        left: what may be counted on of the stiffness, see `stiffness_left`.
        factors: partial factors.

    Returns:
        A check of the load factor 1 against the critical factor, less knock-down and stiffness
        lost; `NotChecked` where a lower factor is known to have been missed, or where none was
        found and no count proves that there is none.
    """
    if doubt := _doubt(buckle):
        because = f"in '{buckle.case}' {doubt}; solve it by itself with fea.buckle"
        return NotChecked(topic=BUCKLING, zone=buckle.zone, because=because)
    if buckle.factor is None or buckle.place is None:
        return Check(
            topic=BUCKLING, zone=buckle.zone, case=buckle.case, place=None, demand=0.0,
            capacity=1.0, unit="1", required=1.0,
            basis="no load of this direction makes the device buckle", sources=(),
            note=PROOF[buckle.proved],
        )  # fmt: skip
    in_wall = buckle.zone in device.walls
    part: Wall | Bar = (device.walls if in_wall else device.bars)[buckle.zone]
    required = factors.required_stability(part.material.kind)
    down = knock_down(buckle.slenderness)
    moves = " ".join(f"{value:.0f}" for value in buckle.moves_most or ())
    return Check(
        topic=BUCKLING,
        zone=buckle.zone,
        case=buckle.case,
        place=buckle.place,
        demand=1.0,
        capacity=buckle.factor * down.value * left.value,
        unit="1",
        required=required.value,
        basis=f"load factor 1 against the critical factor {quantity_text(buckle.factor)} "
        f"({'proved' if buckle.proved else 'not proved'} to be the lowest), "
        f"{down.words}, {left.words}; the shape strains {buckle.zone} hardest and moves most at "
        f"{moves} mm; {required.words}",
        sources=tuple(dict.fromkeys([*down.sources, *left.sources, *required.sources])),
        note="; ".join(filter(None, [PROOF[buckle.proved], down.note, left.note, required.note])),
    )


def _hardest_cell(device: Device, system: System, shape: Array) -> tuple[str, int]:
    """Zone, and number in it, of the cell with the most strain energy for its volume."""
    worst = ("device", 0, -1.0)
    for zone, wall in device.walls.items():
        assert system.shells is not None
        numbers = device.mesh.zone(zone)[1]
        nodes = device.mesh.zone_cells(zone)
        strain = np.einsum(
            "cij,cj->ci", system.shells.mean_strain[numbers], shape[nodes].reshape(len(nodes), -1)
        )
        energy = np.einsum("ci,cij,cj->c", strain, system.shells.stiffness[numbers], strain)
        worst = max(worst, _largest(zone, energy / wall.thickness), key=lambda item: item[2])
    for zone, bar in device.bars.items():
        assert system.struts is not None
        numbers = device.mesh.zone(zone)[1]
        nodes = device.mesh.zone_cells(zone)
        moved = shape[nodes].reshape(len(nodes), -1)
        energy = np.einsum("ci,cij,cj->c", moved, system.struts.cell_matrices(numbers), moved)
        volume = bar.width * bar.depth * system.struts.frames.length[numbers]
        worst = max(worst, _largest(zone, energy / volume), key=lambda item: item[2])
    return worst[0], worst[1]


def _largest(zone: str, values: Array) -> tuple[str, int, float]:
    cell = int(np.argmax(values))
    return zone, cell, float(values[cell])


def _point(values: Array) -> Point:
    x, y, z = (float(value) for value in values)
    return x, y, z

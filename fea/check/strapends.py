# SPDX-License-Identifier: MIT
"""The ends of straps: rivets or a slot in the wall, under the pull of the strap."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fea.check.capacity import capacity_of
from fea.check.check import Finding, NotChecked
from fea.check.factors import Factors
from fea.check.holes import Gross, HoleSpot, at_a_hole, judge_hole
from fea.check.jointpart import JointPart, judge_shank
from fea.device.device import Device, Strap, StrapRivets, StrapSlot
from fea.mesh.mesh import triangle_geometry
from fea.solver.solution import Solution
from fea.solver.tieforces import own_axes

Array = NDArray[np.float64]

SLOT = "slot"
"""Topic of the strip of wall between a slot and the rim."""

SLACK = "strap not worn tight: the pull that it is closed with is not in it"
"""Reservation on every check of a strap's end."""


def judge_strap_ends(
    device: Device, solutions: Mapping[str, Solution], gross: Gross, factors: Factors
) -> tuple[Finding, ...]:
    """Judge both ends of every strap of a device that the structure holds.

    Args:
        device: with straps;  solutions: case name to solution, of one structure.
        gross: stress of these cases.
        factors: partial factors.
    """
    structure = gross.recovered.recovery.system.structure
    worn = {strap.name for strap in structure.straps}
    findings: list[Finding] = []
    for strap in device.straps:
        if strap.name not in worn:
            continue
        if strap.fixing is None:
            because = (
                f"how its ends are fastened to '{strap.zone}' is not known; give the strap "
                "[straps.rivets] or [straps.slot] in the device file"
            )
            findings.append(NotChecked(topic="strap fixing", zone=strap.name, because=because))
            continue
        for place in strap.places:
            end = _End.at(device, strap, place, solutions, factors)
            findings += end.findings
            findings += judge_hole(device, end.hole, gross, list(solutions), factors)
    return tuple(_worn_slack(each) for each in findings)


def _worn_slack(finding: Finding) -> Finding:
    """The strap pulls only as the limb moves; what it was closed with is not known."""
    if isinstance(finding, NotChecked):
        return finding
    return replace(finding, note="; ".join(filter(None, [finding.note, SLACK])))


@dataclass(frozen=True, eq=False)
class _End:
    """One end of a strap in all cases: pull (n,) in the plane of the wall, and lift (n,) off it."""

    strap: Strap
    part: JointPart
    pull: Array
    lift: Array
    cells: NDArray[np.bool_]

    @classmethod
    def at(
        cls, device: Device, strap: Strap, place: str, solutions: Mapping[str, Solution],
        factors: Factors,
    ) -> "_End":
        mesh = device.mesh
        nodes, wall = mesh.place(place), device.walls[strap.zone]
        cells = np.asarray(np.isin(mesh.cells["triangle"], nodes).any(axis=1))
        numbers = mesh.zone(strap.zone)[1]
        area, normals = triangle_geometry(mesh.points, mesh.cells["triangle"][cells])
        normal = area @ normals / np.linalg.norm(area @ normals)
        force = np.stack([_end_force(each, strap.name, nodes) for each in solutions.values()])
        lift = force @ normal
        thickness = np.broadcast_to(wall.thickness, len(numbers))[cells[numbers]].min()
        across = strap.fixing.diameter if isinstance(strap.fixing, StrapRivets) else 0.0
        part = JointPart(
            place, mesh.points[nodes].mean(axis=0), list(solutions), factors,
            f"wall '{strap.zone}'", wall.material, wall.layup is not None, float(thickness), across)
        pull = np.linalg.norm(force - np.outer(lift, normal), axis=1)
        return cls(strap, part, pull, np.abs(lift), cells)

    @property
    def hole(self) -> HoleSpot:
        """What it takes from the wall for stress along the rim."""
        match self.strap.fixing:
            case StrapRivets(count, diameter, _, edge, _):
                pitch = self.strap.width / count if count > 1 else np.inf
                what = f"rivet hole of {diameter:g} mm"
                width = min(2.0 * edge, pitch)
            case StrapSlot(_, diameter, edge):
                what, width = f"slot of {diameter:g} mm", 2.0 * edge + diameter
            case _:
                raise AssertionError("a strap without fixing has no hole")
        return HoleSpot(self.part.name, what, diameter, width, self.cells)

    @property
    def findings(self) -> Sequence[Finding]:
        match self.strap.fixing:
            case StrapRivets():
                return self._rivets(self.strap.fixing)
            case StrapSlot():
                return self._slot(self.strap.fixing)
        return ()

    def _rivets(self, rivets: StrapRivets) -> list[Finding]:
        pull, lift, part = self.pull / rivets.count, self.lift / rivets.count, self.part
        edge = np.full(len(pull), rivets.edge_distance)
        return [
            *part.bearing(pull),
            *part.shear_out(pull, edge, rivets.edge_distance),
            *part.pull_through(lift, rivets.washer),
            *judge_shank(part, rivets.material, pull, lift),
        ]

    def _slot(self, slot: StrapSlot) -> list[Finding]:
        """The strip between slot and rim: a beam held at both ends, pulled evenly; and its shear.

        Source: shigley-2011: moment F L/12 at the ends, shear 1.5 times the mean of a rectangle.
        """
        part, deep, thick = self.part, slot.edge_distance, self.part.thickness
        bending = 0.5 * slot.length * (self.pull / deep + self.lift / thick) / (thick * deep)
        shear = 0.75 * np.hypot(self.pull, self.lift) / (thick * deep)
        strength = "tensile_strength_2" if part.laminated else part.factors.against
        capacity = capacity_of(part.material, strength, part.factors)
        names = [strength]
        if part.laminated and capacity is not None:
            names = ["hole_factor_tension"]
            notch = part.material.property(names[0])
            known = notch is not None and notch.may_limit
            capacity = at_a_hole(capacity, notch) if notch is not None and known else None
        strip = f"strip of {deep:g} mm between slot and rim"
        return [
            *part.against(SLOT, bending, capacity, f"bending of the {strip}", names),
            *part.against(SLOT, shear, part.shear_strength, f"shear of the {strip}",
                          part.shear_name),
        ]


def _end_force(solution: Solution, strap: str, nodes: NDArray[np.int64]) -> Array:
    """Force (3,) of a strap on the nodes of one of its ends, in the axes of the wall there."""
    fastened, forces = solution.strap_forces(strap)
    total = forces[np.isin(fastened, nodes)].sum(axis=0)
    return np.asarray(total @ own_axes(solution, int(nodes[0])))

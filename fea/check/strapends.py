# SPDX-License-Identifier: MIT
"""The ends of straps: rivets or a slot in the wall, under the pull of the strap."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fea.check.check import Finding, NotChecked
from fea.check.factors import Factors
from fea.check.fasteners import WallRound
from fea.check.holes import BRITTLE, Gross, HoleSpot, judge_hole
from fea.check.jointpart import JointPart, judge_shank
from fea.check.jointrules import slot_peak
from fea.check.neighbours import Cut
from fea.device.device import Device, Strap, StrapRivets, StrapSlot
from fea.mesh.mesh import triangle_geometry
from fea.solver.solution import Solution
from fea.solver.tieforces import own_axes

Array = NDArray[np.float64]

SLOT = "slot"
"""Topic of the strip of wall between a slot and the rim."""

SLOT_IN_LAMINATE = (
    "no rule for the bending of the strip beside a slot in a laminate is known: its plies carry "
    "unequal shares, and some far more than the mean; test it, or rivet the strap"
)
"""Why the strip of a laminate is not checked in bending."""

SLACK = "strap not worn tight: the pull that it is closed with is not in it"
"""Reservation on every check of a strap's end."""


def judge_strap_ends(
    device: Device, solutions: Mapping[str, Solution], gross: Gross, factors: Factors,
    cuts: Sequence[Cut],
) -> tuple[Finding, ...]:
    """Judge both ends of every strap of a device that the structure holds.

    Args:
        device: with straps;  solutions: case name to solution, of one structure.
        gross: stress of these cases.
        factors: partial factors.
        cuts: all holes of the device.
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
            findings += judge_hole(device, end.hole.among(cuts), gross, list(solutions), factors)
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
        rivets = strap.fixing if isinstance(strap.fixing, StrapRivets) else None
        sizes = (rivets.diameter, rivets.hole) if rivets else (0.0, 0.0)
        part = JointPart(
            place, mesh.points[nodes].mean(axis=0), list(solutions), factors,
            f"wall '{strap.zone}'", wall.material, wall.layup is not None, float(thickness), *sizes,
            zone=strap.zone)
        pull = np.linalg.norm(force - np.outer(lift, normal), axis=1)
        return cls(strap, part, pull, np.abs(lift), cells)

    @property
    def hole(self) -> HoleSpot:
        """What it takes from the wall for stress along the rim."""
        match self.strap.fixing:
            case StrapRivets(edge_distance=edge, hole=across):
                what, width = f"rivet hole of {across:g} mm", 2.0 * edge
            case StrapSlot(_, across, edge):
                what, width = f"slot of {across:g} mm", 2.0 * edge + across
            case _:
                raise AssertionError("a strap without fixing has no hole")
        return HoleSpot(self.part.name, what, across, width, self.cells, push=self.push,
                        shank=self.part.diameter)

    @property
    def push(self) -> Array | None:
        """Of each rivet (n,) on its hole, N; None for a slot."""
        fixing = self.strap.fixing
        return self.pull / fixing.count if isinstance(fixing, StrapRivets) else None

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
        strip = f"strip of {deep:g} mm between slot and rim"
        return [
            *self._slot_bending(slot, bending, f"bending of the {strip}"),
            *part.against(SLOT, shear, part.shear_strength, f"shear of the {strip}",
                          part.shear_name),
        ]

    def _slot_bending(self, slot: StrapSlot, bending: Array, words: str) -> list[Finding]:
        """With the peak at the slot's ends where material does not yield."""
        part = self.part
        if part.laminated:
            return [NotChecked(topic=SLOT, zone=part.name, because=SLOT_IN_LAMINATE)]
        if part.material.kind not in BRITTLE:
            return part.against(SLOT, bending, part.strength, words, [part.factors.against])
        across = self.pull / (slot.length * part.thickness)
        peak = slot_peak(bending, across, length=slot.length, width=slot.width,
                         depth=slot.edge_distance)
        words += ", the peak at the ends of the slot in it"
        strength = part.strength and part.strength.citing(
            ["heywood-1952", "inglis-1913"], ["peak in the fillet of a slot: memory-M"])
        return part.against(SLOT, peak, strength, words, [part.factors.against])


def strap_cuts(device: Device) -> tuple[Cut, ...]:
    """The holes of all strap ends, set out along the rim about the middle of each end.

    Along the plane of the wall at the rim, which a curved wall leaves by a millimetre or two.
    """
    return tuple(
        cut for strap in device.straps for place in strap.places
        for cut in _end_cuts(device, strap, place)
    )


def _end_cuts(device: Device, strap: Strap, place: str) -> Iterator[Cut]:
    if strap.fixing is None:
        return
    nodes, edge = device.mesh.place(place), strap.fixing.edge_distance
    middle = device.mesh.points[nodes].mean(axis=0)
    gaps = np.linalg.norm(device.mesh.points[nodes] - middle, axis=1)
    wall = WallRound.at(device.mesh, int(nodes[np.argmin(gaps)]), edge)
    along = np.cross(wall.axes[2], wall.outward)
    rim = wall.point + wall.to_rim.min() * wall.outward
    rim = rim + ((middle - rim) @ along) * along
    match strap.fixing:
        case StrapRivets(count=count, hole=across):
            for step in np.arange(count) - 0.5 * (count - 1):
                aside = step * strap.width / count
                yield Cut(place, rim - edge * wall.outward + aside * along, across)
        case StrapSlot(length, width):
            half = 0.5 * (length - width)
            for aside in np.linspace(-half, half, 1 + int(np.ceil(2.0 * half / width))):
                inside = rim - (edge + 0.5 * width) * wall.outward
                yield Cut(place, inside + aside * along, width, slot=True)


def _end_force(solution: Solution, strap: str, nodes: NDArray[np.int64]) -> Array:
    """Force (3,) of a strap on the nodes of one of its ends, in the axes of the wall there."""
    fastened, forces = solution.strap_forces(strap)
    total = forces[np.isin(fastened, nodes)].sum(axis=0)
    return np.asarray(total @ own_axes(solution, int(nodes[0])))

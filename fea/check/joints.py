# SPDX-License-Identifier: MIT
"""Joints and holes of a device: rivets and screws of its bars, ends of its straps, plain holes.

Each is a zone of its own, by its name. Wall, bar and shank are judged by hand rules on the forces
of the solution (`fea.check.jointpart`), and the wall and bar beside the hole by the stress of the
solution (`fea.check.holes`). Loosening and life are no part of it.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.check.check import Finding, NotChecked
from fea.check.factors import Factors
from fea.check.fasteners import BarRound, Fastened, FastenerForces, WallRound
from fea.check.holes import (
    BRITTLE,
    NET_SECTION,
    Gross,
    HoleSpot,
    judge_hole,
    peak_factor,
    unknown_peak,
    with_hole_peak,
)
from fea.check.jointpart import BEARING, FASTENER, JointPart, judge_shank
from fea.check.jointrules import PIN_SHARE, bearing_stress, pin_peak_factor
from fea.check.neighbours import Cut, next_hole
from fea.check.strapends import judge_strap_ends, strap_cuts
from fea.device.device import Device, Fastening
from fea.solver.recovery import Recovered
from fea.solver.solution import Solution
from fea.structure.singular import SingularPlace

Array = NDArray[np.float64]

FORMED_HEAD = 1.3
"""Least diameter of a formed head over that of the shank. Source: mmpds-01."""

TWIST_SHARE = 0.05
"""Moment about its own axis that a lone fastener may be left with by friction, over the moment that
its force in the plane would have half a washer away; judgement."""


def judge_joints(
    device: Device,
    solutions: Mapping[str, Solution],
    recovered: Recovered,
    places: Sequence[SingularPlace],
    factors: Factors,
) -> tuple[Finding, ...]:
    """Judge all joints and holes of a device.

    Args:
        device: with fastenings, straps and holes.
        solutions: case name to solution; all share one structure.
        recovered: stress of these cases.
        places: left out of the plain maximum; those under washers are judged here.
        factors: partial factors.

    Returns:
        Checks "bearing", "shear-out", "pull-through", "net section" and "fastener" of each joint
        and case, for wall and bar alike; and what could not be judged.
    """
    gross, cases = Gross(recovered), list(solutions)
    fastened = Fastened(device, list(solutions.values()))
    tied = {tie.patch for tie in recovered.recovery.system.structure.ties}
    under = {place.name: place.cells for place in places}
    findings: list[Finding] = []
    cuts = [*fastened.wall_cuts, *strap_cuts(device)]
    cuts += [Cut(each.name, each.middle(device.mesh), each.diameter) for each in device.holes]
    for fastening in device.fastenings:
        if fastening.shell_place in tied:
            joint = _Joint(device, fastened, fastening, cases, factors, cuts)
            findings += joint.findings
            findings += judge_hole(device, joint.hole(under), gross, cases, factors)
    for each in device.holes:
        node = int(device.mesh.place(each.place)[0])
        wall, shift = WallRound.at(device.mesh, node, each.diameter), each.shift(device.mesh)
        if shift > 0.0 and shift >= 0.5 * wall.width:
            findings.append(NotChecked(topic=NET_SECTION, zone=each.name, because=(
                f"the nearest node lies {shift:.1f} mm off and {0.5 * wall.width:.1f} mm from the "
                "rim, so that the wall round the hole cannot be measured; refine the mesh there, "
                "or move the hole away from the rim")))
            continue
        wall = wall.moved(each.middle(device.mesh))
        what = f"hole of {each.diameter:g} mm"
        cells = cells_round(device, wall, each.diameter)
        hole = HoleSpot(each.name, what, each.diameter, wall.width, cells).among(cuts)
        findings += judge_hole(device, hole, gross, cases, factors)
    ends = judge_strap_ends(device, solutions, gross, factors, cuts)
    pushed = {each.zone for each in (*findings, *ends) if each.topic == BEARING}
    return (*findings, *ends, *_both_at_once(_in_laminates(device, pushed)))


def _in_laminates(device: Device, joints: set[str]) -> list[str]:
    """Those of some joints, by their fastening or strap, that go through a laminate."""
    places = {each.name: each.shell_place for each in device.fastenings if each.name in joints}
    places |= {strap.name: strap.places[0] for strap in device.straps
               if joints & set(strap.places)}
    laminates = [zone for zone, wall in device.walls.items() if wall.layup is not None]
    plies = [device.mesh.zone_nodes(zone) for zone in laminates]
    return [name for name, place in places.items()
            if any(np.isin(device.mesh.place(place), nodes).any() for nodes in plies)]


def _both_at_once(names: Sequence[str]) -> list[Finding]:
    """Shanks that push a laminate where stress passes by, which no rule here takes together."""
    if not names:
        return []
    because = (
        f"a shank that pushes a laminate where stress passes by its hole ({', '.join(names)}) "
        "weakens it more than either alone; no rule with a source is known here, and each is "
        "judged alone: test a joint"
    )
    return [NotChecked(topic=NET_SECTION, zone="device", because=because)]


def cells_round(device: Device, wall: WallRound, diameter: float) -> NDArray[np.bool_]:
    """Which triangles (c,) touch a hole: those of its node, and those with a corner within it."""
    triangles = device.mesh.cells["triangle"]
    gap = np.linalg.norm(device.mesh.points - wall.point, axis=1)
    touched = gap <= 0.5 * diameter
    touched[wall.node] = True
    return np.asarray(touched[triangles].any(axis=1))


@dataclass(frozen=True, eq=False)
class _Joint:
    """One rivet or screw in all cases."""

    device: Device
    fastened: Fastened
    fastening: Fastening
    cases: Sequence[str]
    factors: Factors
    cuts: Sequence[Cut]

    @property
    def wall(self) -> WallRound:
        return self.fastened.walls[self.fastening.name]

    @property
    def bar(self) -> BarRound:
        return self.fastened.bars[self.fastening.name]

    @property
    def forces(self) -> FastenerForces:
        return self.fastened.forces[self.fastening.name]

    @property
    def findings(self) -> list[Finding]:
        forces, washer = self.forces, self.fastened.washer(self.fastening)
        shear = np.linalg.norm(forces.shear, axis=1)
        found = self._lone(shear)
        for part in self._wall_parts():
            found += part.bearing(shear)
            ways = self.wall.ahead(forces.shear), 0.5 * self.wall.width
            found += self._shear_out(part, forces.shear, *ways, self.cuts)
            found += part.pull_through(forces.pull, washer)
        bar = self._bar_part()
        found += bar.bearing(shear)
        ways = self.bar.ahead(-forces.shear), self.bar.nearest
        found += self._shear_out(bar, -forces.shear, *ways, self.fastened.bar_cuts(self.bar.zone))
        found += bar.pull_through(forces.pull, FORMED_HEAD * self.fastening.diameter)
        found += self._bar_section(bar)
        return found + judge_shank(bar, self.fastening.material, shear, forces.pull)

    def _shear_out(
        self, part: JointPart, force: Array, ahead: Array, nearest: float, cuts: Sequence[Cut]
    ) -> list[Finding]:
        """Torn out to the edge or to the next hole, whichever is nearer."""
        name, size = self.fastening.name, np.linalg.norm(force, axis=1)
        every_way = next_hole(name, cuts, np.zeros((1, 3)))[0]
        ahead = np.minimum(ahead, next_hole(name, cuts, force))
        return part.shear_out(size, ahead, min(nearest, float(every_way)))

    def hole(self, under: Mapping[str, NDArray[np.bool_]]) -> HoleSpot:
        """The hole in the wall, with all that the plain maximum leaves out for its washer."""
        fastening, hole = self.fastening, self.fastening.hole
        cells = under.get(self.fastening.shell_place)
        if cells is None:
            cells = cells_round(self.device, self.wall, self.fastened.washer(self.fastening))
        what = f"rivet hole of {hole:g} mm"
        push = np.linalg.norm(self.forces.shear, axis=1)
        spot = HoleSpot(fastening.name, what, hole, self.wall.width, cells, push=push,
                        shank=fastening.diameter)
        return spot.among(self.cuts)

    def _wall_parts(self) -> list[JointPart]:
        """The walls that meet at the hole; one, as a rule."""
        triangles = self.device.mesh.cells["triangle"]
        here = (triangles == self.wall.node).any(axis=1)
        parts = []
        for zone, wall in self.device.walls.items():
            rows = here[self.device.mesh.zone(zone)[1]]
            if rows.any():
                thickness = np.broadcast_to(wall.thickness, rows.shape)[rows].min()
                parts.append(JointPart(
                    self.fastening.name, self.wall.point, self.cases, self.factors,
                    f"wall '{zone}'", wall.material, wall.layup is not None, float(thickness),
                    self.fastening.diameter, self.fastening.hole, zone))
        return parts

    def _bar_part(self) -> JointPart:
        return JointPart(
            self.fastening.name, self.wall.point, self.cases, self.factors, f"'{self.bar.zone}'",
            self.bar.bar.material, False, self.bar.through, self.fastening.diameter,
            self.fastening.hole, self.bar.zone)

    def _bar_section(self, part: JointPart) -> list[Finding]:
        """The bar under its own forces, by what the hole leaves of it."""
        share = part.hole / self.bar.across
        if share >= 1.0:
            because = f"the hole is as wide as {part.what}; take a smaller rivet"
            return [NotChecked(topic=NET_SECTION, zone=part.name, because=because)]
        stress = self.bar.net_stress(self.forces.bar, part.hole).max(axis=1)
        words = f"von Mises stress of what the hole leaves of {part.what}, half of the torsion on "
        words += "each side of it,"
        capacity = part.strength
        if part.material.kind in BRITTLE:
            if share > PIN_SHARE:
                because = unknown_peak(f"the hole in {part.what}")
                return [NotChecked(topic=NET_SECTION, zone=part.name, because=because)]
            pressure = bearing_stress(
                np.linalg.norm(self.forces.shear, axis=1), part.diameter, part.thickness)
            stress = peak_factor(share) * stress + pin_peak_factor(share) * pressure
            words += f" times {float(peak_factor(share)):.2f} for the peak, and the peak beside "
            words += "the shank,"
            capacity = capacity and with_hole_peak(capacity, pushed=True)
        return part.against(NET_SECTION, stress, capacity, words, [self.factors.against],
                            rules=["shigley-2011", "timoshenko-goodier-1970"])

    def _lone(self, shear: Array) -> list[Finding]:
        """A single fastener that would have to hold the bar from turning about it."""
        left = TWIST_SHARE * shear.max() * 0.5 * self.fastened.washer(self.fastening)
        if self.forces.alone <= left:
            return []
        because = (f"it stands alone and takes up to {self.forces.alone / 1000:.2f} N·m about its "
                   "own axis, which a shank cannot; set a second one beside it")
        return [NotChecked(topic=FASTENER, zone=self.fastening.name, because=because)]


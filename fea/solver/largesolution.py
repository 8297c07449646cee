# SPDX-License-Identifier: MIT
"""The solution of one case with rotations of any size; it reads like one with small ones.

Stresses and section forces stand in axes that have turned with their element, displacements,
reactions and the forces of beds and straps in global ones; moments are about points as they are
now.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from fea.element import rotation
from fea.errors import ModelError, UnsupportedError
from fea.solver.gates import Gate, owner_points
from fea.solver.kinematics import Kinematics
from fea.solver.parts import StrapSpring
from fea.solver.placement import Placement
from fea.solver.solution import Solution
from fea.solver.system import System
from fea.solver.turning import (
    Turning,
    TurningBed,
    TurningShells,
    TurningSpring,
    TurningStrap,
    TurningStruts,
    total_forces,
)

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class LargeSolution(Solution):
    """One solved case with rotations of any size. Every number here has passed the gates.

    `vector` holds displacements and rotation vectors (no longer than π), `forces` the loads as they
    are turned now.

    Attributes:
        placement: of nodes and bodies;  motion: rates of the degrees of freedom there.
        parts: the elastic parts.
        level: share of the loads and held displacements of the case, 1 for all.
    """

    placement: Placement
    motion: Kinematics = field(repr=False)
    parts: Sequence[Turning] = field(repr=False)
    level: float

    @classmethod
    def of(
        cls,
        system: System,
        case: str,
        placement: Placement,
        *,
        motion: Kinematics,
        parts: Sequence[Turning],
        loads: Array,
        level: float,
    ) -> LargeSolution:
        """A solution that is still to pass its gates."""
        moved = [
            placement.points - owner_points(system.structure),
            rotation.vectors(placement.turns),
        ]
        vector = np.concatenate([np.hstack(moved).ravel(), placement.angles])
        return cls(system, case, vector, loads, (), placement, motion, parts, level)

    def passed(self, gates: tuple[Gate, ...]) -> LargeSolution:
        """The same with what was measured at the gates."""
        return replace(self, gates=gates)

    def times(self, factor: float, case: str) -> Solution:
        """Refused: it does not grow with its loads; solve it again."""
        raise UnsupportedError(f"case '{self.case}' turns far: it is no multiple of another")

    @property
    def points(self) -> Array:
        """Points (n, 3) of the nodes now."""
        return self.placement.points[: self.system.numbering.nodes]

    @cached_property
    def shell_motion(self) -> Array:
        """Deformation (c, 18) of all triangles, in axes that have turned with them."""
        return self._shells.turned(self.placement).motion

    @cached_property
    def strut_motion(self) -> Array:
        """Deformation (c, 12) of all struts at their ends, in their local axes now."""
        struts = self._struts
        motion = struts.turned(self.placement)[0].motion
        local = np.einsum("nij,nkj->nki", struts.struts.frames.axes, motion.reshape(-1, 4, 3))
        return local.reshape(motion.shape)

    def cell_forces(self, kind: str, numbers: IntArray) -> Array:
        """Forces and moments (c, dofs) that the nodes exert on some cells of a kind."""
        part = self._shells if kind == "triangle" else self._struts
        return part.forces(self.placement)[numbers]

    @property
    def kinematics(self) -> Kinematics:
        """Rates of ties, joints and supports where they are now."""
        return self.motion

    @cached_property
    def out_of_balance(self) -> Array:
        """Forces (N,) of cells and springs less the loads: what supports, ties and joints carry."""
        total = self.system.numbering.total
        return total_forces(self.parts, self.placement, total) - self.forces

    @cached_property
    def reactions(self) -> Array:
        """Forces (N,) that supports and ground beds exert on the structure."""
        result = np.zeros_like(self.vector)
        carried = self.motion.lift.T @ self.out_of_balance
        result[self.motion.held] = carried[self.motion.held]
        for part in self.parts:
            grounded = isinstance(part, TurningSpring)
            if grounded or (isinstance(part, TurningBed) and part.body is None):
                np.add.at(result, part.dofs, -part.forces(self.placement))
        return result

    def bed_forces(self, zone: str) -> tuple[IntArray, Array]:
        """Nodes (m,) of a zone and the forces (m, 3) that its beds exert on them."""
        total = np.zeros((self.system.numbering.nodes, 3))
        for bed in self._beds(zone):
            total[bed.springs.nodes] -= bed.forces(self.placement)[:, :3]
        nodes = self.system.structure.mesh.zone_nodes(zone)
        return nodes, total[nodes]

    def pressure(self, zone: str) -> tuple[IntArray, Array, Array]:
        """Pressure between a zone and the body on its bed; see `Solution.pressure`."""
        beds = self._beds(zone)
        pressed = [
            np.einsum("mi,mi->m", bed.pull(self.placement), bed.springs.inward) / bed.springs.area
            for bed in beds
        ]
        return beds[0].springs.nodes, np.sum(pressed, axis=0), beds[0].springs.area

    def tension(self, strap: str) -> float:
        """Tension of a strap, never negative."""
        return self._turning_strap(strap).tension(self.placement)

    def strap_forces(self, strap: str) -> tuple[IntArray, Array]:
        """Nodes (m,) that a strap is fastened to, and the forces (m, 3) that it exerts on them."""
        found = self._turning_strap(strap)
        forces = found.forces(self.placement).reshape(-1, 6)
        return found.spring.owners[0, :-1], -forces[:-1, :3]

    @property
    def strain_energy(self) -> float:
        """Elastic energy of all parts."""
        return sum(part.energy(self.placement) for part in self.parts)

    @property
    def work(self) -> float:
        """Refused: it depends on the way; the elastic energy does not."""
        raise UnsupportedError("the work of large rotations depends on the way; see strain_energy")

    @property
    def largest_bend(self) -> float:
        """Largest rotation within one element, rad: small where cells are small enough."""
        found = [0.0]
        for part in self.parts:
            if isinstance(part, TurningShells):
                found.append(part.turned(self.placement).largest_rotation)
            elif isinstance(part, TurningStruts):
                found.append(part.turned(self.placement)[0].largest_rotation)
        return max(found)

    @property
    def _shells(self) -> TurningShells:
        return next(part for part in self.parts if isinstance(part, TurningShells))

    @property
    def _struts(self) -> TurningStruts:
        return next(part for part in self.parts if isinstance(part, TurningStruts))

    def _beds(self, zone: str) -> list[TurningBed]:
        found = [
            part
            for part in self.parts
            if isinstance(part, TurningBed) and part.springs.bed.zone == zone
        ]
        if not found:
            raise ModelError(f"zone '{zone}' lies on no bed")
        return found

    def _turning_strap(self, name: str) -> TurningStrap:
        spring: StrapSpring = self._strap(name)
        return next(
            part for part in self.parts if isinstance(part, TurningStrap) and part.spring is spring
        )

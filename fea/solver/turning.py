# SPDX-License-Identifier: MIT
"""The elastic parts of a structure at rotations of any size: their forces and their tangents.

Shells and struts turn as `fea.element.corotation` says, offsets of struts as rigid arms of their
nodes. A bed keeps to its body: its normal is that of the body where the zone lay on it before the
motion, and turns with the body; so does its stiffness along the surface. A strap is as long as the
line through its ends and the body's points.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from fea.element import corotation, rotation
from fea.element.geometric import carried_spring_matrices
from fea.element.strut import cross_matrices
from fea.solver import parts
from fea.solver.placement import Placement
from fea.solver.system import System

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]

IDLE = 1e-6
"""Share of its stiffness that the tangent keeps of a spring that has let go; forces keep none."""


class Turning(Protocol):
    """Elastic cells of k owners each."""

    @property
    def dofs(self) -> IntArray:
        """Positions (c, 6k) of the cells' degrees of freedom."""

    def forces(self, at: Placement) -> Array:
        """Forces and moments (c, 6k) that the owners exert on the cells."""

    def tangents(self, at: Placement) -> Array:
        """Tangent stiffness (c, 6k, 6k) against displacement and spin."""

    def energy(self, at: Placement) -> float:
        """Elastic energy of all cells."""


def turning(system: System, reference: Placement) -> list[Turning]:
    """The elastic parts of a system in the order of its pattern."""
    found: list[Turning] = []
    if system.shells is not None:
        found.append(TurningShells(system.shells))
    if system.struts is not None:
        found.append(TurningStruts(system.struts))
    bodies, nodes = system.structure.body_index, system.numbering.nodes
    for springs in system.beds:
        body = None if springs.bed.body is None else nodes + bodies[springs.bed.body]
        found.append(TurningBed(springs, body, reference.points))
    for spring in system.straps:
        first = system.structure.mesh.place(spring.strap.ends[0])
        found.append(TurningStrap(spring, len(first), reference))
    found += [TurningSpring(spring, reference.points) for spring in system.elastic]
    return found


def total_forces(every: Sequence[Turning], at: Placement, total: int) -> Array:
    """Forces and moments (total,) that the owners exert on all parts."""
    result = np.zeros(total)
    for part in every:
        result += np.bincount(part.dofs.ravel(), part.forces(at).ravel(), total)
    return result


@dataclass(frozen=True, eq=False)
class TurningShells:
    """All triangles."""

    shells: parts.Shells

    @property
    def dofs(self) -> IntArray:
        return self.shells.dofs

    @cached_property
    def stiffness(self) -> Array:
        return self.shells.cell_matrices()

    def turned(self, at: Placement) -> corotation.Turned:
        """The triangles, seen from their own frames."""
        corners = self.shells.owners
        return corotation.turned_triangles(
            self.shells.facets, at.points[corners], at.turns[corners]
        )

    def forces(self, at: Placement) -> Array:
        return corotation.forces(self.turned(at), self.stiffness)

    def tangents(self, at: Placement) -> Array:
        return corotation.tangents(self.turned(at), self.stiffness)

    def energy(self, at: Placement) -> float:
        return float(corotation.energies(self.turned(at), self.stiffness).sum())


@dataclass(frozen=True, eq=False)
class TurningStruts:
    """All struts, with rigid arms from their nodes to their ends."""

    struts: parts.Struts

    @property
    def dofs(self) -> IntArray:
        return self.struts.dofs

    @cached_property
    def stiffness(self) -> Array:
        """Between the ends (c, 12, 12), global axes."""
        local, axes = self.struts.local_matrices(), self.struts.frames.axes
        size = local.shape
        right = (local.reshape(len(local), 48, 3) @ axes).reshape(size)
        return (np.swapaxes(right, 1, 2).reshape(len(local), 48, 3) @ axes).reshape(size)

    @cached_property
    def arms(self) -> Array:
        """From node to end (c, 2, 3) before the motion."""
        axes, to_ends = self.struts.frames.axes, self.struts.frames.to_ends
        cross = [
            -np.swapaxes(axes, 1, 2) @ to_ends[:, first : first + 3, first + 3 : first + 6]
            for first in (0, 6)
        ]
        return np.stack([each[:, [2, 0, 1], [1, 2, 0]] for each in cross], axis=1)

    def turned(self, at: Placement) -> tuple[corotation.Turned, Array]:
        """The struts, seen from their own frames, and their arms (c, 2, 3) now."""
        nodes = self.struts.owners
        arms = np.einsum("nkij,nkj->nki", at.turns[nodes], self.arms)
        ends = at.points[nodes] + arms
        return corotation.turned_struts(self.struts.frames, ends, at.turns[nodes]), arms

    def forces(self, at: Placement) -> Array:
        turned, arms = self.turned(at)
        return corotation.forces_at_nodes(arms, corotation.forces(turned, self.stiffness))

    def tangents(self, at: Placement) -> Array:
        turned, arms = self.turned(at)
        ends = corotation.forces(turned, self.stiffness)
        tangents = corotation.tangents(turned, self.stiffness)
        return corotation.tangents_at_nodes(arms, ends, tangents)

    def energy(self, at: Placement) -> float:
        return float(corotation.energies(self.turned(at)[0], self.stiffness).sum())


@dataclass(frozen=True, eq=False)
class TurningBed:
    """The springs of a bed, which turn with its body; ``body`` is its owner, None the ground."""

    springs: parts.BedSprings
    body: int | None
    reference: Array

    @cached_property
    def dofs(self) -> IntArray:
        owners = self.springs.owners
        return (6 * owners[:, :, None] + np.arange(6)).reshape(len(owners), -1)

    def _arms(self, at: Placement) -> tuple[Array, Array, Array]:
        """From the body to the nodes, now (m, 3), before (m, 3), and the body's turn."""
        nodes = self.springs.nodes
        if self.body is None:
            return at.points[nodes], self.reference[nodes], np.eye(3)
        before = self.reference[nodes] - self.reference[self.body]
        return at.points[nodes] - at.points[self.body], before, at.turns[self.body]

    def stretch(self, at: Placement) -> Array:
        """Displacement (m, 3) of the nodes relative to the body, in the body's axes."""
        now, before, turn = self._arms(at)
        return now @ turn - before

    def pull(self, at: Placement) -> Array:
        """Forces (m, 3) that the nodes exert on the bed, in the body's axes."""
        stretch = self.stretch(at)
        both = np.einsum("mij,mj->mi", self.springs.stiffness, stretch)
        return both - (self.springs.normal_stiffness * self._gap(stretch))[:, None] * self._inward

    def _gap(self, stretch: Array) -> Array:
        """How far (m,) the springs that only press have let go: 0 or less."""
        return np.minimum(np.einsum("mi,mi->m", stretch, self._inward), 0.0)

    @property
    def _inward(self) -> Array:
        if self.springs.bed.face is None:
            return np.zeros_like(self.springs.normal)
        return self.springs.inward

    def forces(self, at: Placement) -> Array:
        now, _, turn = self._arms(at)
        pull = self.pull(at) @ turn.T
        parts_ = [pull, np.zeros_like(pull)]
        if self.body is not None:
            parts_ += [-pull, -np.cross(now, pull)]
        return np.concatenate(parts_, axis=1)

    def tangents(self, at: Placement) -> Array:
        now, _, turn = self._arms(at)
        inward = self._inward
        idle = (self._gap(self.stretch(at)) < 0.0) * self.springs.normal_stiffness * (1.0 - IDLE)
        matrix = self.springs.stiffness - idle[:, None, None] * (
            inward[:, :, None] * inward[:, None, :]
        )
        matrix = turn @ matrix @ turn.T
        size = self.dofs.shape[1]
        moved = np.zeros((len(now), 3, size))
        moved[:, :, :3] = np.eye(3)
        if self.body is None:
            return np.swapaxes(moved, 1, 2) @ matrix @ moved
        moved[:, :, 6:9], moved[:, :, 9:] = -np.eye(3), cross_matrices(now)
        carried = carried_spring_matrices(now, self.pull(at) @ turn.T)
        return np.swapaxes(moved, 1, 2) @ matrix @ moved + carried

    def energy(self, at: Placement) -> float:
        stretch = self.stretch(at)
        both = np.einsum("mi,mij,mj->", stretch, self.springs.stiffness, stretch)
        return 0.5 * float(both - self.springs.normal_stiffness @ self._gap(stretch) ** 2)


@dataclass(frozen=True, eq=False)
class TurningStrap:
    """A strap over points that move with its body; its first end has ``first`` nodes."""

    spring: parts.StrapSpring
    first: int
    start: Placement

    @cached_property
    def dofs(self) -> IntArray:
        return self.spring.dofs[None]

    @property
    def _owners(self) -> tuple[IntArray, IntArray, int]:
        """Nodes of the first end, of the last, and the body."""
        owners = self.spring.owners[0]
        return owners[: self.first], owners[self.first : -1], int(owners[-1])

    @cached_property
    def _arms(self) -> Array:
        """First and last point (2, 3) that the strap runs over, from the body."""
        over = np.asarray(self.spring.strap.over, dtype=float)
        return over[[0, -1]] - self.start.points[self._owners[2]]

    @cached_property
    def _before(self) -> float:
        return float(sum(length for _, length, _ in self._segments(self.start)))

    def _segments(self, at: Placement) -> list[tuple[Array, float, Array]]:
        """Of both free lengths: unit vector from body to end, length, and the body's arm."""
        *ends, body = self._owners
        found = []
        for nodes, arm in zip(ends, self._arms @ at.turns[body].T, strict=True):
            line = at.points[nodes].mean(axis=0) - at.points[body] - arm
            length = float(np.linalg.norm(line))
            found.append((line / length, length, arm))
        return found

    def elongation(self, at: Placement) -> float:
        """How much longer the strap is than before the motion."""
        return sum(length for _, length, _ in self._segments(at)) - self._before

    def tension(self, at: Placement) -> float:
        """Tension, never negative."""
        strap = self.spring.strap
        return strap.stiffness * max(self.elongation(at) - strap.slack, 0.0)

    def _rates(self, at: Placement) -> list[Array]:
        """Matrices (3, k) of each free length: the rate of the line from body to end."""
        first, last, _ = self._owners
        found, place = [], 0
        for nodes, (_, _, arm) in zip((first, last), self._segments(at), strict=True):
            rate = np.zeros((3, self.dofs.shape[1]))
            for k in range(len(nodes)):
                rate[:, 6 * (place + k) : 6 * (place + k) + 3] = np.eye(3) / len(nodes)
            rate[:, -6:-3], rate[:, -3:] = -np.eye(3), cross_matrices(arm[None])[0]
            found.append(rate)
            place += len(nodes)
        return found

    def _row(self, at: Placement) -> Array:
        both = zip(self._segments(at), self._rates(at), strict=True)
        return np.sum([unit @ rate for (unit, _, _), rate in both], axis=0)

    def forces(self, at: Placement) -> Array:
        return self.tension(at) * self._row(at)[None]

    def tangents(self, at: Placement) -> Array:
        tension, row = self.tension(at), self._row(at)
        acting = 1.0 if tension > 0.0 or at is self.start else IDLE
        matrix = acting * self.spring.strap.stiffness * np.outer(row, row)
        for (unit, length, arm), rate in zip(self._segments(at), self._rates(at), strict=True):
            across = (np.eye(3) - np.outer(unit, unit)) / length
            matrix += tension * rate.T @ across @ rate
            matrix[-3:, -3:] -= tension * corotation.swung(arm[None], unit[None])[0]
        return matrix[None]

    def energy(self, at: Placement) -> float:
        return 0.5 * self.tension(at) ** 2 / self.spring.strap.stiffness


@dataclass(frozen=True, eq=False)
class TurningSpring:
    """An elastic support; its rotations are components of the rotation vector."""

    spring: parts.GroundSprings
    reference: Array

    @property
    def dofs(self) -> IntArray:
        return self.spring.dofs

    def _motion(self, at: Placement) -> Array:
        owners = self.spring.owners[:, 0]
        shift = at.points[owners] - self.reference[owners]
        return np.concatenate([shift, rotation.vectors(at.turns[owners])], axis=1)

    def forces(self, at: Placement) -> Array:
        motion = self._motion(at)
        pull = self.spring.diagonal * motion
        rates = rotation.inverse_rates(motion[:, 3:])
        pull[:, 3:] = np.einsum("mij,mi->mj", rates, pull[:, 3:])
        return pull

    def tangents(self, at: Placement) -> Array:
        rates = rotation.inverse_rates(self._motion(at)[:, 3:])
        full = np.tile(np.eye(6), (len(rates), 1, 1))
        full[:, 3:, 3:] = rates
        return np.swapaxes(full, 1, 2) @ (self.spring.diagonal[:, None] * full)

    def energy(self, at: Placement) -> float:
        return 0.5 * float(np.sum(self.spring.diagonal * self._motion(at) ** 2))

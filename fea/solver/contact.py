# SPDX-License-Identifier: MIT
"""One-sided springs: liner and tissue that only press, straps that only pull.

The energy ½ xᵀKx − fᵀx, where a spring counts only while it is stretched the way it acts, is convex
and has one minimum. Newton's method on the set of acting springs finds it: each step is a linear
system that differs from the factorised two-sided one by the springs that let go, so conjugate
gradients with that factorisation as preconditioner need a few rounds, for all cases at once. An
exact search along each step makes the energy fall, so the sets cannot go round in a circle.

Source: nocedal-wright-2006 (inexact Newton and conjugate gradients); the energy is piecewise
quadratic with a continuous gradient, so the residual alone tells when a case is settled.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_matrix, vstack

from fea.errors import SolveError

Array = NDArray[np.float64]
Solver = Callable[[Array], Array]

_ROUNDS = 60  # Newton steps; ten are many
_INNER = 400  # conjugate gradients in one step
_SETTLED = 1e-11  # of the residual over the load, in the energy of the two-sided structure
_NEARLY = 1e-6  # the same, from which a step that gains nothing is taken for rounding
_ABOVE_ROUNDING = 1.0  # energy of a residual that more steps cannot lower, over rounding's
_EVER_CLOSER = 1e-4  # of the residual's energy that one step leaves, sets permitting
_FROM_NEAR = 1e-8  # the same from a start near the answer, where few springs still change
_LOOSE = 1e-9  # of the energy that is left in a motion when the springs that let go are taken away


@dataclass(frozen=True, eq=False)
class OneSided:
    """Springs that act in one direction only; the matrix beside it counts them as two-sided.

    Attributes:
        rows: (m, N) from displacements to the stretch of each spring; positive stretch acts.
        stiffness: (m,) force per stretch.
        slack: (m,) stretch from which a spring acts.
        given: (m,) stretch that is not in the rows: of displacements that are held.
    """

    rows: csr_matrix
    stiffness: Array
    slack: Array
    given: Array

    @cached_property
    def to_nodes(self) -> csr_matrix:
        """(N, m) from forces of the springs to nodal forces."""
        return csr_matrix(self.rows.T)

    def stretch(self, displacement: Array) -> Array:
        """How far (m, ...) each spring is stretched beyond its slack."""
        return np.asarray(self.rows @ displacement) - _column(self.slack, displacement)

    def forces(self, displacement: Array) -> Array:
        """Force (m, ...) of each spring, never negative."""
        acting = np.maximum(self.stretch(displacement), 0.0)
        return _column(self.stiffness, displacement) * acting

    def excess(self, displacement: Array) -> Array:
        """Nodal forces (N, ...) that the two-sided matrix counts and the true springs do not."""
        both = _column(self.stiffness, displacement) * np.asarray(self.rows @ displacement)
        both = both + _column(self.stiffness * self.given, displacement)
        return np.asarray(self.to_nodes @ (both - self.forces(displacement)))

    def surplus(self, displacement: Array) -> float:
        """Energy that the two-sided matrix counts and the true springs do not."""
        both = np.asarray(self.rows @ displacement) + self.given
        acting = np.maximum(self.stretch(displacement), 0.0)
        return 0.5 * float(self.stiffness @ (both**2 - acting**2))

    def under(self, to_all: csr_matrix, given: Array) -> "OneSided":
        """The springs as a function of x where the displacements are ``to_all`` x + ``given``."""
        moved = np.asarray(self.rows @ given)
        return OneSided(
            csr_matrix(self.rows @ to_all), self.stiffness, self.slack - moved, self.given + moved
        )


def one_sided(
    rows: Array, dofs: NDArray[np.int64], stiffness: Array, slack: Array, total: int
) -> OneSided:
    """Springs from rows (m, k) against the displacements ``dofs`` (m, k) of ``total``."""
    count, width = rows.shape
    pointers = np.arange(0, count * width + 1, width)
    matrix = csr_matrix((rows.ravel(), dofs.ravel(), pointers), shape=(count, total))
    return OneSided(matrix, stiffness, slack, np.zeros(count))


def joined(springs: Sequence[OneSided], total: int) -> OneSided:
    """All springs as one, over ``total`` degrees of freedom."""
    none = np.empty(0)
    every = [OneSided(csr_matrix((0, total)), none, none, none), *springs]
    stiffness, slack, given = (
        np.concatenate([getattr(each, name) for each in every])
        for name in ("stiffness", "slack", "given")
    )
    return OneSided(csr_matrix(vstack([each.rows for each in every])), stiffness, slack, given)


def settle(
    matrix: csr_matrix,
    solve: Solver,
    springs: OneSided,
    right: Array,
    near: Mapping[int, Array] = MappingProxyType({}),
) -> Array:
    """Displacements under which every one-sided spring acts as it may.

    Args:
        matrix: (N, N) stiffness with every spring two-sided.
        solve: applies its inverse to (N, k).
        springs: the one-sided ones.
        right: (N, k) forces, one column a case.
        near: column to displacements (N,) near its answer, which save work and change nothing.

    Returns:
        Displacements (N, k).

    Raises:
        ContactError: a column in which too many springs let go to hold the structure, or that
            does not settle.
    """
    if near:
        try:
            return _settled(matrix, solve, springs, right, near)
        except ContactError:  # where springs let go that hold it, as a bad start may say
            pass
    return _settled(matrix, solve, springs, right, {})


def _settled(
    matrix: csr_matrix, solve: Solver, springs: OneSided, right: Array, near: Mapping[int, Array]
) -> Array:
    answer = solve(right)
    load = np.sum(right * answer, axis=0)
    enough = _SETTLED**2 * load + _ABOVE_ROUNDING * _rounding(matrix, solve, answer)
    closer = np.full(right.shape[1], _EVER_CLOSER)
    for column, start in near.items():
        answer[:, column], closer[column] = start, _FROM_NEAR
    todo, before = np.arange(right.shape[1]), np.full(right.shape[1], np.inf)
    for _ in range(_ROUNDS):
        here = answer[:, todo]
        residual = right[:, todo] - matrix @ here + springs.excess(here)
        ahead = solve(residual)
        size = np.sum(residual * ahead, axis=0)
        stuck = (size > 0.25 * before[todo]) & (size <= _NEARLY**2 * load[todo])
        left = ~((size <= enough[todo]) | stuck)  # what rounding left is for the gates to judge
        before[todo] = size
        if not left.any():
            return answer
        todo, here, size = todo[left], here[:, left], size[left]
        step = _Step(matrix, solve, springs, here)
        goal = np.maximum(0.1 * enough[todo], closer[todo] * size)
        try:
            change = step.towards(residual[:, left], ahead[:, left], goal)
        except ContactError as error:
            raise ContactError(int(todo[error.column]), str(error)) from None
        answer[:, todo] += step.length(change, right[:, todo]) * change
    raise ContactError(int(todo[0]), "the contact between limb and device does not settle")


def _rounding(matrix: csr_matrix, solve: Solver, answer: Array) -> Array:
    """Energy (k,) that a residual of nothing but rounding has."""
    signs = np.random.default_rng(20).choice([-1.0, 1.0], size=answer.shape)
    noise = np.finfo(float).eps * signs * (abs(matrix) @ np.abs(answer))
    return np.abs(np.sum(noise * solve(noise), axis=0))


class ContactError(SolveError):
    """A case that contact cannot hold; ``column`` is its number."""

    def __init__(self, column: int, what: str):
        super().__init__(what)
        self.column = column


@dataclass(frozen=True, eq=False)
class _Step:
    """One Newton step of some columns from ``at`` (N, k), with the acting springs frozen there."""

    matrix: csr_matrix
    solve: Solver
    springs: OneSided
    at: Array

    def towards(self, rest: Array, ahead: Array, goal: Array) -> Array:
        """The change (N, k), by conjugate gradients until the residual's energy is ``goal`` (k,).

        ``rest`` (N, k) is the residual, ``ahead`` the preconditioned one.
        """
        rows, to_nodes = self.springs.rows, self.springs.to_nodes
        idle = self.springs.stiffness[:, None] * (self.springs.stretch(self.at) <= 0.0)
        change, active = np.zeros_like(self.at), np.arange(self.at.shape[1])
        direction, size = ahead, np.sum(rest * ahead, axis=0)
        for _ in range(_INNER):
            both = self.matrix @ direction
            force = both - to_nodes @ (idle * (rows @ direction))
            energy = np.sum(direction * force, axis=0)
            loose = ~(energy > _LOOSE * np.sum(direction * both, axis=0))
            if loose.any():
                column = int(active[np.flatnonzero(loose)[0]])
                raise ContactError(column, "limb and device let go, and nothing else holds")
            length = size / energy
            change[:, active] += length * direction
            rest = rest - length * force
            ahead = self.solve(rest)
            before, size = size, np.sum(rest * ahead, axis=0)
            left = size > goal[active]
            if not left.any():
                break
            direction = (ahead + (size / before) * direction)[:, left]
            rest, size, active, idle = rest[:, left], size[left], active[left], idle[:, left]
        return change

    def length(self, change: Array, right: Array) -> Array:
        """Share (k,) of the change at which the energy along it is least, at most 1."""
        springs = self.springs
        base = self.matrix @ change
        start = np.sum(self.at * base - change * right, axis=0)
        slope = np.sum(change * base, axis=0)
        now, along = springs.rows @ self.at, springs.rows @ change
        weight = springs.stiffness[:, None] * along
        given, slack = springs.given[:, None], springs.slack[:, None]

        def rise(share: Array) -> Array:
            stretch = now + share * along
            excess = stretch + given - np.maximum(stretch - slack, 0.0)
            return start + share * slope - np.sum(weight * excess, axis=0)

        low, high = np.zeros(change.shape[1]), np.ones(change.shape[1])
        too_far = rise(high) > 1e-12 * np.abs(start)
        if not too_far.any():
            return high
        for _ in range(40):
            middle = 0.5 * (low + high)
            above = rise(middle) > 0.0
            low, high = np.where(above, low, middle), np.where(above, middle, high)
        return np.where(too_far, low, 1.0)


def _column(values: Array, like: Array) -> Array:
    return values if like.ndim == 1 else values[:, None]

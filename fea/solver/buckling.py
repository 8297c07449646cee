# SPDX-License-Identifier: MIT
"""Linear buckling: by which factor a case's loads must grow until the structure gives way.

The factors λ are the positive eigenvalues of K φ = λ S φ, where S is the stiffness that the
forces of the case take away, and K that of the contact of the case, which is taken to stay.
Lanczos iteration on K⁻¹ S finds the smallest ones with the factorisation that the system has
already; a count of the negative eigenvalues of K − λ S shows whether one was missed.
"""

import logging
from collections.abc import Mapping
from dataclasses import dataclass, field
from numbers import Integral

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import eigh
from scipy.sparse import csr_matrix, diags
from scipy.sparse.linalg import ArpackNoConvergence, LinearOperator, eigsh

from fea.errors import ModelError, SolveError, UnsupportedError
from fea.solver.factor import ScaledFactor
from fea.solver.inertia import negative_eigenvalues
from fea.solver.largesolution import LargeSolution
from fea.solver.softening import Softening, frozen_stiffness, only_pulled
from fea.solver.solution import Solution
from fea.solver.system import System, prepared_for
from fea.structure.model import Model

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]

BELOW = 1e-3
"""A count is made this share below the last factor found; closer to it, pivots lose their sign."""

_DENSE = 60  # unknowns up to which all eigenvalues are computed
_BASES = ((0, 60), (100, 300))
"""Lanczos basis, at least, and restarts, tried in turn: the wide one if loads mostly pull."""
_ROUNDING = 1e-9  # an eigenvalue 1/λ below this share of the largest local one is rounding

_log = logging.getLogger(__name__)


@dataclass(frozen=True, eq=False)
class Buckling:
    """Buckling of one case.

    Attributes:
        case: name of the case.
        factors: (k,) smallest positive load factors, ascending; fewer than asked for where the
            structure has no more, none where no load of this direction makes it buckle.
        shapes: (k, n, 6) displacements and rotations, largest displacement 1.
        proved: True when a count of negative eigenvalues shows that no factor below 0.999 of the
            last one found was missed (none at all, where fewer than asked for were found); False
            when it shows that one was; None when the pivots prove nothing.
        moved: (k, N) the shapes with the motion of rigid bodies, as displacements of a solution.
    """

    case: str
    factors: Array
    shapes: Array
    proved: bool | None
    moved: Array = field(default_factory=lambda: np.empty((0, 0)), repr=False)


def buckle(
    model: Model,
    case: str,
    count: int = 3,
    start: System | None = None,
    *,
    solver: str = "auto",
) -> Buckling:
    """Smallest positive buckling factors of a case and their shapes.

    Membrane forces of shells, all section forces of struts, stresses of solids and the forces of
    beds that turn with a body soften. Loads keep their direction and their place on the material;
    held displacements grow with the loads. One-sided beds and straps act as they do in the case,
    whatever the shape. The deflection before buckling is taken to be small.

    Args:
        model: structure and cases.
        case: which case's loads grow.
        count: how many factors are wanted.
        start: a `System` of the same structure to use again; None prepares one.
        solver: "auto", "superlu" or "pardiso".

    Raises:
        ModelError: an unknown case or a count below one.
        SolveError: the static solution is refused, or the eigenvalues do not converge.

    Source: zienkiewicz-taylor-2005.
    """
    if case not in model.cases:
        raise ModelError(f"unknown case '{case}'; this model has {', '.join(model.cases)}")
    system = prepared_for(model, start, solver)
    return buckle_all(system.solve({case: model.cases[case]}), count)[case]


def buckle_all(
    solutions: Mapping[str, Solution], count: int = 3, *, tolerance: float = 1e-9
) -> dict[str, Buckling]:
    """Buckling factors of solved cases of one system; see `buckle`.

    Each case starts from the shapes of the one before it, and all counts share one elimination
    order.

    Args:
        solutions: case to solution.
        count: how many factors of each case.
        tolerance: relative, of a factor.

    Raises:
        ModelError: a count below one.
        UnsupportedError: a solution with large rotations, whose deflection is not small.
        SolveError: the eigenvalues do not converge.
    """
    for case, solution in solutions.items():
        if isinstance(solution, LargeSolution):
            raise UnsupportedError(
                f"case '{case}' has large rotations, from which linear buckling cannot start"
            )
    if not isinstance(count, Integral) or count < 1:
        raise ModelError(f"count is {count!r}; ask for at least one factor, and a whole number")
    if not solutions:
        return {}
    problem = _Problem(next(iter(solutions.values())).system, tolerance)
    return {case: problem.solve(solution, count) for case, solution in solutions.items()}


class _Problem:
    """The eigenvalue problems of one system; keeps what the next case can use."""

    def __init__(self, system: System, tolerance: float):
        self.system, self.tolerance = system, tolerance
        self.softening = Softening.of(system)
        self.size = system.reduced.shape[0]
        self.start: Array | None = None
        self.order: IntArray | None = None
        self.scaling = diags(1.0 / np.sqrt(system.reduced.diagonal()))

    def solve(self, solution: Solution, count: int) -> Buckling:
        self.stiffness, self.factor = frozen_stiffness(solution), self.system.factor
        if self.stiffness is not self.system.reduced:
            self.factor = ScaledFactor(self.stiffness, self.system.factor.name.lower())
        softening = self.softening.matrix(solution)
        local = np.abs((self.scaling @ softening @ self.scaling).data)
        floor = _ROUNDING * float(local.max(initial=0.0))
        if floor == 0.0 or only_pulled(solution):
            none, moved = self._shapes(np.empty((self.size, 0)))
            return Buckling(solution.case, np.empty(0), none, True, moved)
        factors, vectors = self._lowest(solution.case, softening, floor, count)
        proved = self._proved(softening, factors, count, floor)
        if proved is False:  # a cluster of factors hides some of them from a single start vector
            self.start = None
            factors, vectors = self._lowest(solution.case, softening, floor, count + 4)
            proved = self._proved(softening, factors, count + 4, floor)
        _log.info("%d buckling factors of '%s', proved: %s", len(factors), solution.case, proved)
        shapes, moved = self._shapes(vectors[:, :count])
        return Buckling(solution.case, factors[:count], shapes, proved, moved)

    def _lowest(
        self, case: str, softening: csr_matrix, floor: float, count: int
    ) -> tuple[Array, Array]:
        """Up to ``count`` factors, ascending, and their vectors (free, k)."""
        if self.size <= max(_DENSE, count + 1):
            values, vectors = eigh(softening.toarray(), self.stiffness.toarray())
        else:
            values, vectors = self._lanczos(case, softening, floor, count)
        order = [k for k in np.argsort(-values) if values[k] > floor][:count]
        return 1.0 / values[order], vectors[:, order]

    def _lanczos(
        self, case: str, softening: csr_matrix, floor: float, count: int
    ) -> tuple[Array, Array]:
        inverse = LinearOperator(
            softening.shape,
            matvec=lambda vector: self.factor.solve(np.reshape(vector, (-1, 1)))[:, 0],
        )
        if self.start is None:
            self.start = np.random.default_rng(20).standard_normal(self.size)
        for basis, restarts in _BASES:
            try:
                values, vectors = eigsh(
                    softening, k=count, M=self.stiffness, Minv=inverse, which="LA", v0=self.start,
                    ncv=min(self.size, max(basis, 8, 3 * count + 5)), maxiter=restarts,
                    tol=self.tolerance,
                )  # fmt: skip
                break
            except ArpackNoConvergence as failure:
                values, vectors = failure.eigenvalues, failure.eigenvectors
        else:
            if self._below(softening, 1.0 / floor) != np.sum(values > floor):
                raise SolveError(
                    f"case '{case}': the buckling factors do not converge; ask for fewer, or "
                    "look for a part that is nearly loose"
                )
        if values.max(initial=0.0) > floor:
            self.start = vectors @ np.where(values > floor, 1.0, 0.0)
        return values, vectors

    def _proved(
        self, softening: csr_matrix, factors: Array, count: int, floor: float
    ) -> bool | None:
        """Whether the count agrees with what was found; None where it proves nothing."""
        complete = len(factors) < min(count, self.size)
        shift = 1.0 / floor if complete else (1.0 - BELOW) * factors[-1]
        negative = self._below(softening, shift)
        return None if negative is None else negative == int(np.sum(factors < shift))

    def _below(self, softening: csr_matrix, shift: float) -> int | None:
        """Number of factors below ``shift``; None where the pivots prove nothing."""
        scaled = self.scaling @ (self.stiffness - shift * softening) @ self.scaling
        negative, self.order = negative_eigenvalues(csr_matrix(scaled), self.order)
        return negative

    def _shapes(self, vectors: Array) -> tuple[Array, Array]:
        nodes = self.system.numbering.nodes
        moved = (self.system.motion.to_all @ vectors).T
        shapes = moved[:, : 6 * nodes].reshape(-1, nodes, 6)
        size = np.linalg.norm(shapes[:, :, :3], axis=2).max(axis=1, initial=0.0)
        size = np.where(size > 0.0, size, 1.0)
        return shapes / size[:, None, None], moved / size[:, None]

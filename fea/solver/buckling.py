# SPDX-License-Identifier: MIT
"""Linear buckling: by which factor a case's loads must grow until the structure gives way."""

import logging
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csc_matrix, csr_matrix
from scipy.sparse.linalg import ArpackNoConvergence, LinearOperator, eigsh, splu

from fea.element import geometric
from fea.errors import ModelError, SolveError
from fea.solver.assembly import Pattern
from fea.solver.solution import Solution
from fea.solver.system import System, prepare
from fea.structure.model import Model
from fea.structure.sections import ShellSection, StrutSection

Array = NDArray[np.float64]

_log = logging.getLogger(__name__)


@dataclass(frozen=True, eq=False)
class Buckling:
    """Buckling of one case.

    Attributes:
        case: name of the case.
        factors: (k,) smallest positive load factors, ascending; empty where no load of this
            direction, however large, makes the structure buckle.
        shapes: (k, n, 6) displacements and rotations, largest displacement 1.
        proved: True when a count of negative pivots shows that no smaller factor was missed,
            None when the factorisation gives no count.
    """

    case: str
    factors: Array
    shapes: Array
    proved: bool | None


def buckle(
    model: Model,
    case: str,
    count: int = 3,
    start: System | None = None,
    *,
    solver: str = "auto",
) -> Buckling:
    """Smallest positive buckling factors of a case and their shapes.

    Membrane forces of shells, axial forces of struts and stresses of solids enter; loads keep
    their direction; held displacements grow with the loads.

    Args:
        model: structure and cases.
        case: which case's loads grow.
        count: how many factors are wanted.
        start: a `System` of the same structure to use again; None prepares one.
        solver: "auto", "superlu" or "pardiso".

    Raises:
        ModelError: an unknown case, or a count below one.
        SolveError: the static solution is refused, or the eigenvalues do not converge.

    Source: zienkiewicz-taylor-2005.
    """
    if case not in model.cases:
        raise ModelError(f"unknown case '{case}'; this model has {', '.join(model.cases)}")
    if count < 1:
        raise ModelError(f"count is {count}; ask for at least one factor")
    system = prepare(model, solver) if start is None else start
    solution = system.solve({case: model.cases[case]})[case]
    return buckling_of(solution, count)


def buckling_of(solution: Solution, count: int = 3) -> Buckling:
    """Buckling factors of a solved case; see `buckle`."""
    system = solution.system
    size = system.reduced.shape[0]
    softening = -reduced_geometric_stiffness(solution)
    wanted = min(count, size - 1)
    if wanted < 1 or not softening.nnz or not np.abs(softening.data).max() > 0.0:
        return Buckling(solution.case, np.empty(0), _shapes(system, np.empty((size, 0))), None)
    inverse = LinearOperator(
        (size, size), matvec=lambda vector: system.factor.solve(np.reshape(vector, (-1, 1)))[:, 0]
    )
    start = np.random.default_rng(20).standard_normal(size)
    try:
        values, vectors = eigsh(
            softening, k=wanted, M=system.reduced, Minv=inverse, which="LA", v0=start, tol=1e-9
        )
    except ArpackNoConvergence:
        raise SolveError(
            f"case '{solution.case}': the buckling factors do not converge; ask for fewer, or "
            "look for a part that is nearly loose"
        ) from None
    order = np.argsort(-values)
    values, vectors = values[order], vectors[:, order]
    scale = np.max(np.abs(softening.diagonal()) / system.reduced.diagonal())
    positive = values > 1e-9 * scale  # below it is rounding, not a factor
    factors = 1.0 / values[positive]
    proved = _count_proves(system.reduced, softening, factors)
    _log.info("%d buckling factors of '%s', proved: %s", len(factors), solution.case, proved)
    return Buckling(solution.case, factors, _shapes(system, vectors[:, positive]), proved)


def reduced_geometric_stiffness(solution: Solution) -> csr_matrix:
    """Geometric stiffness after ties and supports, at the load of a solved case."""
    system = solution.system
    mesh, sections = system.structure.mesh, system.structure.sections
    owners, matrices = [], []
    if system.shells is not None:
        membrane = np.empty((len(system.shells.dofs), 3))
        for zone, section in sections.items():
            if isinstance(section, ShellSection):
                membrane[mesh.zone(zone)[1]] = solution.section_forces(zone)[:, :3]
        owners.append(system.shells.owners)
        matrices.append(geometric.shell_matrices(system.shells.facets, membrane))
    if system.struts is not None:
        axial = np.empty(len(system.struts.dofs))
        for zone, section in sections.items():
            if isinstance(section, StrutSection):
                axial[mesh.zone(zone)[1]] = solution.strut_forces(zone)[:, :, 0].mean(axis=1)
        owners.append(system.struts.owners)
        matrices.append(geometric.strut_matrices(system.struts.frames, axial))
    numbering = system.numbering
    pattern = Pattern.of(owners, numbering.nodes + numbering.bodies)
    full = pattern.assemble(matrices, numbering.total)
    if system.bulk is not None:
        full = full + system.bulk.geometric_stiffness(solution.vector, numbering.total)
    return csr_matrix(system.motion.to_all.T @ full @ system.motion.to_all)


def _count_proves(stiffness: csr_matrix, softening: csr_matrix, factors: Array) -> bool | None:
    """Whether K − λ S has as many negative pivots as factors lie below λ; None if not countable."""
    if not len(factors):
        return None
    gaps = np.diff(factors)
    distinct = np.flatnonzero(gaps > 1e-6 * factors[:-1])
    last = int(distinct[-1]) if len(distinct) else len(factors) - 1
    shift = factors[last] + 0.5 * gaps[last] if len(distinct) else factors[last] * 1.001
    negative = _negative_pivots(csr_matrix(stiffness - shift * softening))
    if negative is None:
        return None
    return negative == int(np.sum(factors < shift))


def _negative_pivots(matrix: csr_matrix) -> int | None:
    """Negative eigenvalues by the signs of the pivots (Sylvester); None where rows were swapped."""
    try:
        factor = splu(
            csc_matrix(matrix),
            permc_spec="MMD_AT_PLUS_A",
            diag_pivot_thresh=0.0,
            options={"SymmetricMode": True},
        )
    except RuntimeError:
        return None
    if not np.array_equal(factor.perm_r, factor.perm_c):
        return None
    return int(np.sum(factor.U.diagonal() < 0.0))


def _shapes(system: System, vectors: Array) -> Array:
    nodes = system.numbering.nodes
    full = (system.motion.to_all @ vectors)[: 6 * nodes].T.reshape(-1, nodes, 6)
    size = np.linalg.norm(full[:, :, :3], axis=2).max(axis=1, initial=0.0)
    return full / np.where(size > 0.0, size, 1.0)[:, None, None]

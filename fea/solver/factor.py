# SPDX-License-Identifier: MIT
"""Factorisation of a symmetric positive definite matrix behind one small interface.

SuperLU, which comes with SciPy, is always there and the default; PARDISO is used when the extra
`stanchion[fast]` is installed. Both see the same matrix, scaled to a unit diagonal so that
translations and rotations weigh alike.
"""

import importlib
import importlib.util
from copy import copy
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csc_matrix, csr_matrix, identity
from scipy.sparse.linalg import splu

from fea.errors import MissingExtraError, ModelError, UnsupportedError

Array = NDArray[np.float64]

_SHIFT = 1e-9  # of a matrix with unit diagonal that could not be factorised

# Entries a row below which minimum degree orders faster, and to no more fill, than nested
# dissection: about 42 on meshes of shells, 70 in bodies of quadratic tetrahedra.
_SURFACE = 55

_CLEARLY_STIFF = 1e-10  # far above rounding: no need to narrow the estimate further


class Factor(Protocol):
    """A factorised matrix."""

    name: str

    def solve(self, right: Array) -> Array:
        """Solution (m, k) for right-hand sides (m, k)."""


class ScaledFactor:
    """Factor of S K S with unit diagonal, solved in the original unknowns."""

    def __init__(self, matrix: csr_matrix, backend: str):
        diagonal = matrix.diagonal()
        bad = np.flatnonzero(~(diagonal > 0.0))
        if bad.size:
            raise UnscaledError(int(bad[0]))
        self.scale = 1.0 / np.sqrt(diagonal)
        scaled = _scaled(matrix, self.scale, upper=backend == "pardiso")
        make = _PardisoFactor if backend == "pardiso" else _SuperLU
        self._failure: UnsupportedError | None = None
        try:
            self._factor: Factor = make(scaled)
        except UnsupportedError as error:
            # shifted, the matrix still tells which motion is free: see `softest`
            self._failure = error
            self._factor = make(csr_matrix(scaled + _SHIFT * identity(len(self.scale))))
        self.name = self._factor.name

    def solve(self, right: Array) -> Array:
        """Solution (m, k) for right-hand sides (m, k); raises where the matrix is singular."""
        if self._failure is not None:
            raise self._failure
        return self.scale[:, None] * self._factor.solve(self.scale[:, None] * right)

    def softest(self, rounds: int = 3) -> tuple[float, Array]:
        """Smallest eigenvalue of the scaled matrix and its mode, by inverse iteration.

        The mode is (m,) in the original unknowns. A value near rounding betrays a mechanism.
        """
        vector = np.random.default_rng(20).standard_normal((len(self.scale), 1))
        value = np.inf
        for _ in range(rounds):
            vector /= np.linalg.norm(vector)
            vector = self._factor.solve(vector)
            size = float(np.linalg.norm(vector))
            if not np.isfinite(size) or size == 0.0:
                return 0.0, np.nan_to_num(vector[:, 0])
            value = 1.0 / size
            if value > _CLEARLY_STIFF * np.sqrt(len(vector)):
                break
        mode = self.scale * vector[:, 0] / np.linalg.norm(vector)
        return (0.0 if self._failure else value), mode


def _scaled(matrix: csr_matrix, scale: Array, *, upper: bool) -> csr_matrix:
    """S K S of a diagonal S (m,), columns sorted, zeros left out; on request the upper triangle."""
    if not matrix.has_sorted_indices:
        matrix = matrix.sorted_indices()
    rows = np.repeat(np.arange(matrix.shape[0], dtype=np.int32), np.diff(matrix.indptr))
    keep = matrix.data != 0.0
    if upper:
        keep &= matrix.indices >= rows
    counts = np.add.reduceat(keep, matrix.indptr[:-1], dtype=np.int32)  # no row is empty
    kept = np.flatnonzero(keep)
    columns, rows = matrix.indices[kept], rows[kept]
    data = matrix.data[kept]
    data *= scale[rows]
    data *= scale[columns]
    pointers = np.concatenate([[0], np.cumsum(counts)], dtype=np.int32)
    return csr_matrix((data, columns, pointers), shape=matrix.shape)


class UnscaledError(UnsupportedError):
    """A degree of freedom without stiffness of its own; `position` says which."""

    def __init__(self, position: int):
        super().__init__(f"degree of freedom {position} has no stiffness")
        self.position = position


class _SuperLU:
    name = "SuperLU"

    def __init__(self, matrix: csr_matrix):
        try:
            self._lu = splu(
                csc_matrix((matrix.data, matrix.indices, matrix.indptr), shape=matrix.shape),
                permc_spec="MMD_AT_PLUS_A",
                diag_pivot_thresh=0.0,
                options={"SymmetricMode": True},
            )
        except RuntimeError as error:
            raise UnsupportedError(f"the stiffness matrix is singular ({error})") from None

    def solve(self, right: Array) -> Array:
        return self._lu.solve(np.ascontiguousarray(right))


class _PardisoFactor:
    name = "PARDISO"

    def __init__(self, upper: csr_matrix):
        pypardiso: Any = importlib.import_module("pypardiso")
        self._upper = upper
        full = 2 * upper.nnz - upper.shape[0]
        self._solver = _fresh(pypardiso.ps)
        self._solver.set_iparm(1, 1)  # take the settings below, and no refinement inside: a gate
        self._solver.set_iparm(2, 0 if full < _SURFACE * upper.shape[0] else 2)
        try:
            self._call(12, np.zeros((upper.shape[0], 1)))
        except Exception as error:
            raise UnsupportedError(f"the stiffness matrix is singular ({error})") from None

    def solve(self, right: Array) -> Array:
        return self._call(33, np.asfortranarray(right))

    def _call(self, phase: int, right: Array) -> Array:
        self._solver.set_phase(phase)
        return self._solver._call_pardiso(self._upper, right)

    def __del__(self) -> None:
        solver = getattr(self, "_solver", None)
        if solver is not None:
            solver.free_memory(everything=True)


def _fresh(made: Any) -> Any:
    """A solver with a memory of its own; a copy, because making one looks for the library again."""
    solver = copy(made)
    solver.mtype, solver.pt, solver.iparm = 2, np.zeros_like(made.pt), np.zeros_like(made.iparm)
    return solver


def choose_backend(wanted: str = "auto") -> str:
    """ "superlu" or "pardiso"; "auto" takes PARDISO when its extra is installed.

    Raises:
        MissingExtraError: PARDISO is wanted and not installed.
        ModelError: an unknown name.
    """
    installed = importlib.util.find_spec("pypardiso") is not None
    if wanted == "auto":
        return "pardiso" if installed else "superlu"
    if wanted == "pardiso" and not installed:
        raise MissingExtraError('PARDISO is not installed; pip install "stanchion[fast]"')
    if wanted not in ("superlu", "pardiso"):
        raise ModelError(f"unknown solver '{wanted}'; use auto, superlu or pardiso")
    return wanted

# SPDX-License-Identifier: MIT
"""How many negative eigenvalues a symmetric matrix has, by the signs of its pivots.

By Sylvester's law of inertia P A Pᵀ = L D Lᵀ has as many negative eigenvalues as D has negative
entries. SuperLU gives such a factorisation when it swaps no row against the diagonal: U = D Lᵀ.
"""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csc_matrix, csr_matrix
from scipy.sparse.linalg import splu

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]

_ACCURATE = 1e-8  # backward error of a solve up to which the pivots of an indefinite matrix count


def negative_eigenvalues(
    matrix: csr_matrix, order: IntArray | None = None
) -> tuple[int | None, IntArray]:
    """Number of negative eigenvalues of a symmetric matrix.

    Args:
        matrix: (n, n), symmetric, best scaled to a diagonal of about 1.
        order: (n,) elimination order from a former call for a matrix of the same pattern; it saves
            half of the work.

    Returns:
        The number, or None where the pivots prove nothing: rows were swapped, or pivots of both
        signs grew so far that a solve with them is off. The order, for further calls.

    Example:
        >>> negative_eigenvalues(csr_matrix([[1.0, 2.0], [2.0, 1.0]]))[0]
        1
    """
    known = order is not None
    permuted = matrix[order][:, order] if known else matrix
    try:
        factor = splu(
            csc_matrix(permuted),
            permc_spec="NATURAL" if known else "MMD_AT_PLUS_A",
            diag_pivot_thresh=0.0,
            options={"SymmetricMode": True},
        )
    except RuntimeError:  # a pivot of exactly zero
        return None, np.arange(matrix.shape[0]) if order is None else order
    inner = np.argsort(factor.perm_c)
    order = inner if order is None else order[inner]
    if not np.array_equal(factor.perm_r, factor.perm_c):
        return None, order
    negative = int(np.sum(factor.U.diagonal() < 0.0))
    # pivots that are all positive cannot grow: no negative one is then a proof by itself
    if negative and _backward_error(permuted, factor.solve) > _ACCURATE:
        return None, order
    return negative, order


def _backward_error(matrix: csr_matrix, solve: Callable[[Array], Array]) -> float:
    right = np.random.default_rng(20).standard_normal(matrix.shape[0])
    found = solve(right)
    scale = np.abs(right).max() + np.abs(matrix).sum(axis=1).max() * np.abs(found).max()
    return float(np.abs(right - matrix @ found).max() / scale)

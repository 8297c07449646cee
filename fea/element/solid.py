# SPDX-License-Identifier: MIT
"""The quadratic tetrahedron: ten nodes, three displacements each, sides straight or curved.

Node order: corners 0 to 3, right-handed (corner 3 on the side to which the normal of 0, 1, 2
points), then the midsides 01, 12, 02, 03, 13, 23. Shape functions and the four-point rule are
scikit-fem's. The rule is exact for straight sides; for curved ones it keeps the order of
convergence. Strain and stress components: xx yy zz xy yz zx, shear strains doubled.

Source: zienkiewicz-taylor-2005; for the rule on curved sides ciarlet-raviart-1972.
"""

import itertools

import numpy as np
from numpy.typing import NDArray
from skfem import ElementTetP2, ElementTriP2
from skfem.quadrature import get_quadrature
from skfem.refdom import RefTet, RefTri

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]

FACES = np.array([[0, 2, 1, 6, 5, 4], [0, 1, 3, 4, 8, 7], [1, 2, 3, 5, 9, 8], [0, 3, 2, 7, 9, 6]])
"""Nodes (4, 6) of the faces: corners counter-clockwise seen from outside, then midsides."""

_EDGES = ((0, 1), (1, 2), (0, 2), (0, 3), (1, 3), (2, 3))


def _tables(element: object, points: Array, nodes: int) -> tuple[Array, Array]:
    """Shape functions (q, nodes) and their derivatives (q, nodes, d) at points (q, d)."""
    pairs = [element.lbasis(points.T, k) for k in range(nodes)]  # type: ignore[attr-defined]
    values = np.stack([value for value, _ in pairs], axis=1)
    return values, np.stack([slope.T for _, slope in pairs], axis=1)


_POINTS, _WEIGHTS = (np.asarray(part).T for part in get_quadrature(RefTet, 2))
_SHAPE, _SLOPE = _tables(ElementTetP2(), _POINTS, 10)

# The Jacobian's determinant is a cubic; it is looked at on the twenty points that determine it.
_LATTICE = np.array([p for p in itertools.product(range(4), repeat=3) if sum(p) <= 3]) / 3.0
_LATTICE_SLOPE = _tables(ElementTetP2(), np.concatenate([_LATTICE, _POINTS]), 10)[1]

_FACE_POINTS, _FACE_WEIGHTS = (np.asarray(part).T for part in get_quadrature(RefTri, 4))
_FACE_SHAPE, _FACE_SLOPE = _tables(ElementTriP2(), _FACE_POINTS, 6)

_CORNERS_AT = np.column_stack([1.0 - _POINTS.sum(axis=1), _POINTS])
_NODES_AT = np.concatenate([np.eye(4), [0.5 * (np.eye(4)[a] + np.eye(4)[b]) for a, b in _EDGES]])
TO_NODES = _NODES_AT @ np.linalg.inv(_CORNERS_AT)
"""(10, 4): values at the nodes of the linear field through values at the four points."""


def determinants(nodes: Array) -> Array:
    """Jacobian determinants (n, 24) of cells (n, 10, 3): at points that betray a folded cell."""
    return np.linalg.det(np.einsum("nad,qae->nqde", nodes, _LATTICE_SLOPE))


def gradients(nodes: Array) -> tuple[Array, Array]:
    """Shape function gradients and volumes at the four points of the rule.

    Args:
        nodes: (n, 10, 3) coordinates.

    Returns:
        Gradients (n, 4, 10, 3), one over length; volumes (n, 4), which sum to the cell's.
    """
    jacobian = np.einsum("nad,qae->nqde", nodes, _SLOPE)
    volume = _WEIGHTS * np.linalg.det(jacobian)
    return np.einsum("qae,nqed->nqad", _SLOPE, np.linalg.inv(jacobian)), volume


def stiffness_matrices(gradient: Array, volume: Array, lame: Array, shear: Array) -> Array:
    """Stiffness matrices (n, 30, 30), displacements node by node.

    Args:
        gradient: (n, 4, 10, 3);  volume: (n, 4): from `gradients`.
        lame, shear: (n,) Lamé constants λ and μ.
    """
    count = len(gradient)
    flat = gradient.reshape(count, 4, 30)
    product = np.swapaxes(flat * volume[:, :, None], 1, 2) @ flat  # ∫ ∂Na/∂xi ∂Nb/∂xj
    pairs = product.reshape(count, 10, 3, 10, 3)
    matrix = lame[:, None, None, None, None] * pairs
    mu = shear[:, None, None, None, None]
    matrix += mu * np.swapaxes(pairs, 2, 4)
    laplace = mu[..., 0, 0] * np.einsum("naibi->nab", pairs)
    for i in range(3):
        matrix[:, :, i, :, i] += laplace
    return matrix.reshape(count, 30, 30)


def geometric_matrices(gradient: Array, volume: Array, stress: Array) -> Array:
    """Geometric stiffness (n, 30, 30) under stress (n, 4, 6) at the points of the rule."""
    tensor = stress[:, :, [[0, 3, 5], [3, 1, 4], [5, 4, 2]]]
    pull = gradient @ (volume[:, :, None, None] * tensor)
    string = np.einsum("nqai,nqbi->nab", pull, gradient)
    matrix = np.zeros((len(gradient), 10, 3, 10, 3))
    for i in range(3):
        matrix[:, :, i, :, i] = string
    return matrix.reshape(-1, 30, 30)


def strains(gradient: Array, displacement: Array) -> Array:
    """Strains (..., n, q, 6) of displacements (..., n, 10, 3), shear doubled."""
    slope = np.einsum("...nai,nqaj->...nqij", displacement, gradient)
    normal = np.diagonal(slope, axis1=-2, axis2=-1)
    shear = [slope[..., i, j] + slope[..., j, i] for i, j in ((0, 1), (1, 2), (2, 0))]
    return np.concatenate([normal, np.stack(shear, axis=-1)], axis=-1)


def stresses(strain: Array, lame: Array, shear: Array) -> Array:
    """Stresses (..., n, q, 6) of strains; λ and μ (n,)."""
    mu = shear[:, None, None]
    stress = np.concatenate([2.0 * mu * strain[..., :3], mu * strain[..., 3:]], axis=-1)
    stress[..., :3] += (lame[:, None] * strain[..., :3].sum(axis=-1))[..., None]
    return stress


def face_integrals(nodes: Array) -> tuple[Array, Array]:
    """Integrals of the shape functions over faces, and of their product with the unit normal.

    Args:
        nodes: (f, 6, 3) coordinates: corners, then midsides 01, 12, 20.

    Returns:
        Areas (f, 6) and vectors (f, 6, 3) along the right-hand normal; on a flat face with
        straight sides nothing at the corners and a third of the face at each midside.
    """
    sides = np.einsum("fad,qae->fqed", nodes, _FACE_SLOPE)
    normal = np.cross(sides[:, :, 0], sides[:, :, 1])
    shares = _FACE_WEIGHTS[:, None] * _FACE_SHAPE
    area = np.linalg.norm(normal, axis=2)
    return np.einsum("qa,fq->fa", shares, area), np.einsum("qa,fqd->fad", shares, normal)

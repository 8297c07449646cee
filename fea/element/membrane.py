# SPDX-License-Identifier: MIT
"""Membrane part of the triangle: optimal assumed strains with true drilling rotation.

Degrees of freedom per node: u, v in the plane and the rotation θ about the normal. The constant
part passes the patch test by construction; the higher-order part is orthogonal to it in energy,
so its factor β0 changes accuracy and never consistency.

Source: felippa-2003.
"""

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

_BASIC_FACTOR = 1.5  # αb: the optimal weight of the drilling rotations in the basic part
_NATURAL = np.array([1.0, 2.0, 1.0, 0.0, 1.0, -1.0, -1.0, -1.0, -2.0])  # β1 … β9
_ROWS = np.array(  # which β stands where in Q1, Q2, Q3 (rows: sides 21, 32, 13)
    [
        [[0, 1, 2], [3, 4, 5], [6, 7, 8]],
        [[8, 6, 7], [2, 0, 1], [5, 3, 4]],
        [[4, 5, 3], [7, 8, 6], [1, 2, 0]],
    ]
)


def differences(xy: Array) -> tuple[Array, Array]:
    """Coordinate differences x[i, j] = xi − xj and y[i, j] of corners ``xy`` (n, 3, 2)."""
    x, y = xy[..., 0], xy[..., 1]
    return x[:, :, None] - x[:, None, :], y[:, :, None] - y[:, None, :]


def constant_strain(xy: Array) -> Array:
    """Constant strain matrix (n, 3, 9): rows ε11, ε22, γ12; columns u, v, θ of each node.

    Args:
        xy: (n, 3, 2) corners in the plane of the element, counter-clockwise.
    """
    x, y = differences(xy)
    double_area = x[:, 1, 0] * y[:, 2, 0] - x[:, 2, 0] * y[:, 1, 0]
    matrix = np.zeros((len(xy), 3, 9), order="F")
    for i in range(3):
        j, k = (i + 1) % 3, (i + 2) % 3
        u, v, rotation = 3 * i, 3 * i + 1, 3 * i + 2
        matrix[:, 0, u] = matrix[:, 2, v] = y[:, j, k]
        matrix[:, 1, v] = matrix[:, 2, u] = x[:, k, j]
        turning = matrix[:, :, rotation]
        turning[:, 0] = y[:, j, k] * (y[:, i, k] - y[:, j, i])
        turning[:, 1] = x[:, k, j] * (x[:, k, i] - x[:, i, j])
        turning[:, 2] = 2.0 * (x[:, k, i] * y[:, i, k] - x[:, i, j] * y[:, j, i])
        turning *= _BASIC_FACTOR / 6.0
    matrix /= double_area[:, None, None]
    return matrix


def deviatoric_strain(xy: Array, corners: Array) -> Array:
    """Higher-order strain matrix (n, q, 3, 9) at unit factor; multiply by √β0.

    Args:
        xy: (n, 3, 2) corners in the plane of the element.
        corners: (q, 3) area coordinates of the evaluation points.
    """
    x, y = differences(xy)
    double_area = x[:, 1, 0] * y[:, 2, 0] - x[:, 2, 0] * y[:, 1, 0]
    # natural strain along side i–(i−1); the pairs of the other two sides give the rows. The
    # squared lengths of the sides, which scale it, cancel against those in Q.
    to_cartesian = np.empty((len(xy), 3, 3), order="F")
    for column, (i, j, k) in enumerate(((1, 2, 0), (2, 0, 1), (0, 1, 2))):
        to_cartesian[:, 0, column] = y[:, i, j] * y[:, k, j]
        to_cartesian[:, 1, column] = x[:, i, j] * x[:, k, j]
        to_cartesian[:, 2, column] = y[:, i, j] * x[:, j, k] + x[:, j, i] * y[:, k, j]
    to_cartesian *= (0.5 / double_area)[:, None, None]  # 3/2 of 2A/3 over 4A²
    natural = np.einsum("qk,krs->qsr", corners, _NATURAL[_ROWS])
    by_rotation = np.tensordot(natural, to_cartesian.T, 1).transpose(3, 0, 2, 1)
    # the hierarchical rotations are the nodal ones less the rotation of the sides as a whole
    by_all = (by_rotation[..., 0] + by_rotation[..., 1] + by_rotation[..., 2])[..., None]
    matrix = np.empty((len(xy), len(corners), 3, 9), order="F")
    matrix[..., 2::3] = by_rotation
    for offset, across in ((0, x), (1, y)):
        opposite = np.stack([across[:, (i + 2) % 3, (i + 1) % 3] for i in range(3)], axis=-1)
        opposite = opposite / (2.0 * double_area)[:, None]
        matrix[..., offset::3] = by_all * opposite[:, None, None]
    return matrix

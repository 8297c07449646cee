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
    lumping = np.zeros((len(xy), 9, 3))
    for i in range(3):
        j, k = (i + 1) % 3, (i + 2) % 3
        u, v, rotation = 3 * i, 3 * i + 1, 3 * i + 2
        lumping[:, u, 0] = lumping[:, v, 2] = y[:, j, k]
        lumping[:, v, 1] = lumping[:, u, 2] = x[:, k, j]
        lumping[:, rotation, 0] = y[:, j, k] * (y[:, i, k] - y[:, j, i])
        lumping[:, rotation, 1] = x[:, k, j] * (x[:, k, i] - x[:, i, j])
        lumping[:, rotation, 2] = 2.0 * (x[:, k, i] * y[:, i, k] - x[:, i, j] * y[:, j, i])
        lumping[:, rotation] *= _BASIC_FACTOR / 6.0
    return np.swapaxes(lumping, 1, 2) / double_area[:, None, None]


def deviatoric_strain(xy: Array, corners: Array) -> Array:
    """Higher-order strain matrix (n, q, 3, 9) at unit factor; multiply by √β0.

    Args:
        xy: (n, 3, 2) corners in the plane of the element.
        corners: (q, 3) area coordinates of the evaluation points.
    """
    x, y = differences(xy)
    area = 0.5 * (x[:, 1, 0] * y[:, 2, 0] - x[:, 2, 0] * y[:, 1, 0])
    squared = np.stack([x[:, i, j] ** 2 + y[:, i, j] ** 2 for i, j in ((1, 0), (2, 1), (0, 2))], 1)
    hierarchical = np.zeros((len(xy), 3, 9))
    for i in range(3):
        j, k = (i + 1) % 3, (i + 2) % 3
        hierarchical[:, :, 3 * i] = (x[:, k, j] / (4.0 * area))[:, None]
        hierarchical[:, :, 3 * i + 1] = (y[:, k, j] / (4.0 * area))[:, None]
        hierarchical[:, i, 3 * i + 2] = 1.0
    to_cartesian = np.empty((len(xy), 3, 3))
    for column, (i, j, k) in enumerate(((1, 2, 0), (2, 0, 1), (0, 1, 2))):
        # natural strain along side i–(i−1); the pairs of the other two sides give the rows
        to_cartesian[:, 0, column] = y[:, i, j] * y[:, k, j]
        to_cartesian[:, 1, column] = x[:, i, j] * x[:, k, j]
        to_cartesian[:, 2, column] = y[:, i, j] * x[:, j, k] + x[:, j, i] * y[:, k, j]
    to_cartesian *= squared[:, None, :] / (4.0 * area**2)[:, None, None]
    natural = np.einsum("qk,krs->qrs", corners, _NATURAL[_ROWS])
    scale = (2.0 * area / 3.0)[:, None] / squared
    shapes = natural[None] * scale[:, None, :, None]
    return 1.5 * to_cartesian[:, None] @ (shapes @ hierarchical[:, None])

# SPDX-License-Identifier: MIT
"""Finite rotations of many things at once: vectors to matrices and back, and their rates.

Source: simo-vu-quoc-1986.
"""

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from fea.element.strut import cross_matrices

Array = NDArray[np.float64]

_SMALL = 1e-3  # rad, below which the series of the inverse rate is exact to rounding


def matrices(vectors: Array) -> Array:
    """Rotation matrices (n, 3, 3) of rotation vectors (n, 3), rad.

    Example:
        >>> matrices(np.array([[0.0, 0.0, np.pi / 2]])).round(6).tolist()
        [[[0.0, -1.0, 0.0], [1.0, 0.0, 0.0], [0.0, 0.0, 1.0]]]
    """
    return np.reshape(Rotation.from_rotvec(vectors).as_matrix(), (-1, 3, 3))


def vectors(turns: Array) -> Array:
    """Rotation vectors (n, 3), rad and no longer than π, of rotation matrices (n, 3, 3)."""
    if not len(turns):
        return np.zeros((0, 3))
    return np.reshape(Rotation.from_matrix(turns).as_rotvec(), (-1, 3))


def inverse_rates(vectors: Array) -> Array:
    """Matrices (n, 3, 3) from the spin of exp(θ) to the rate of its rotation vector θ (n, 3).

    Source: simo-vu-quoc-1986.
    """
    squared = np.sum(vectors**2, axis=1)
    angle = np.sqrt(squared)
    small = angle < _SMALL
    safe = np.where(small, 1.0, angle)
    exact = (1.0 - 0.5 * safe / np.tan(0.5 * safe)) / safe**2
    share = np.where(small, 1.0 / 12.0 + squared / 720.0, exact)
    cross = cross_matrices(vectors)
    return np.eye(3) - 0.5 * cross + share[:, None, None] * (cross @ cross)

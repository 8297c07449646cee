# SPDX-License-Identifier: MIT
"""Stress invariants in plane stress and in space, and rotations."""

import numpy as np
from numpy.typing import ArrayLike, NDArray


def von_mises(stress: ArrayLike) -> NDArray[np.float64]:
    """Von Mises equivalent of plane stress.

    Args:
        stress: (..., 3) components 11, 22, 12, MPa.

    Returns:
        (...) equivalent stress, MPa.

    Source: von-mises-1913.

    Example:
        >>> von_mises([[10.0, 0.0, 0.0], [0.0, 0.0, 10.0]]).round(4).tolist()
        [10.0, 17.3205]
    """
    s11, s22, s12 = np.moveaxis(np.asarray(stress, dtype=float), -1, 0)
    return np.sqrt(s11**2 - s11 * s22 + s22**2 + 3.0 * s12**2)


def von_mises_solid(stress: ArrayLike) -> NDArray[np.float64]:
    """Von Mises equivalent of a stress in space.

    Args:
        stress: (..., 6) components xx, yy, zz, xy, yz, zx, MPa.

    Returns:
        (...) equivalent stress, MPa.

    Source: von-mises-1913.

    Example:
        >>> von_mises_solid([[10.0, 0, 0, 0, 0, 0], [5.0, 5.0, 5.0, 0, 0, 10.0]]).round(4).tolist()
        [10.0, 17.3205]
    """
    xx, yy, zz, xy, yz, zx = np.moveaxis(np.asarray(stress, dtype=float), -1, 0)
    normal = (xx - yy) ** 2 + (yy - zz) ** 2 + (zz - xx) ** 2
    return np.sqrt(0.5 * normal + 3.0 * (xy**2 + yz**2 + zx**2))


def principal_solid(stress: ArrayLike) -> NDArray[np.float64]:
    """Principal values of a stress in space.

    Args:
        stress: (..., 6) components xx, yy, zz, xy, yz, zx, MPa.

    Returns:
        (..., 3) principal stresses, MPa, the largest first (mathematically signed).

    Example:
        >>> principal_solid([0.0, 0.0, 3.0, 10.0, 0.0, 0.0]).round(9).tolist()
        [10.0, 3.0, -10.0]
    """
    tensor = np.asarray(stress, dtype=float)[..., [[0, 3, 5], [3, 1, 4], [5, 4, 2]]]
    return np.linalg.eigvalsh(tensor)[..., ::-1]


def principal(stress: ArrayLike) -> NDArray[np.float64]:
    """Principal values of plane stress.

    Args:
        stress: (..., 3) components 11, 22, 12, MPa.

    Returns:
        (..., 2) larger and smaller principal stress, MPa (mathematically signed).

    Example:
        >>> principal([0.0, 0.0, 10.0]).tolist()
        [10.0, -10.0]
    """
    s11, s22, s12 = np.moveaxis(np.asarray(stress, dtype=float), -1, 0)
    centre, radius = 0.5 * (s11 + s22), np.hypot(0.5 * (s11 - s22), s12)
    return np.stack([centre + radius, centre - radius], axis=-1)


def rotation_about(axis: ArrayLike, angle: float) -> NDArray[np.float64]:
    """(3, 3) matrix that turns vectors about an axis, right-handed (Rodrigues' formula).

    Args:
        axis: (3,) direction, of any length above 0.
        angle: rad.

    Example:
        >>> (rotation_about([0, 1, 0], np.pi / 2) @ [1.0, 0.0, 0.0]).round(12).tolist()
        [0.0, 0.0, -1.0]
    """
    unit = np.asarray(axis, dtype=float)
    unit = unit / np.linalg.norm(unit)
    cross = skew(unit)
    return np.eye(3) + np.sin(angle) * cross + (1.0 - np.cos(angle)) * cross @ cross


def skew(vector: ArrayLike) -> NDArray[np.float64]:
    """(..., 3, 3) matrix S with S @ w = vector x w, of vectors (..., 3).

    Example:
        >>> (skew([1.0, 0.0, 0.0]) @ [0.0, 1.0, 0.0]).tolist()
        [0.0, 0.0, 1.0]
    """
    x, y, z = np.moveaxis(np.asarray(vector, dtype=float), -1, 0)
    zero = np.zeros_like(x)
    rows = [[zero, -z, y], [z, zero, -x], [-y, x, zero]]
    return np.stack([np.stack(row, axis=-1) for row in rows], axis=-2)

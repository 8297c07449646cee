# SPDX-License-Identifier: MIT
"""Bending part of the triangle: discrete Kirchhoff–Mindlin, flexible in transverse shear.

Degrees of freedom per node: deflection w and the slopes βx, βy (in-plane displacement
u = z βx, v = z βy). Without shear flexibility it is the discrete Kirchhoff triangle.

Source: katili-1993.
"""

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

_SIDES = ((0, 1), (1, 2), (2, 0))


def side_frames(xy: Array) -> tuple[Array, Array, Array]:
    """Direction cosines C, S and lengths L, each (n, 3), of the sides 1–2, 2–3, 3–1."""
    edge = np.stack([xy[:, j] - xy[:, i] for i, j in _SIDES], axis=1)
    length = np.linalg.norm(edge, axis=2)
    return edge[..., 0] / length, edge[..., 1] / length, length


def side_shear_factors(xy: Array, bending: Array, shear: Array) -> Array:
    """Ratio φ (n, 3) of shear to bending flexibility along each side.

    Args:
        xy: (n, 3, 2) corners.
        bending: (n, 3, 3) bending stiffness about the neutral surface.
        shear: (n, 2, 2) transverse shear stiffness, order 13, 23.
    """
    c, s, length = side_frames(xy)
    b = bending[:, None]
    along = (
        c**4 * b[..., 0, 0]
        + 2.0 * c**2 * s**2 * (b[..., 0, 1] + 2.0 * b[..., 2, 2])
        + s**4 * b[..., 1, 1]
        + 4.0 * c**3 * s * b[..., 0, 2]
        + 4.0 * c * s**3 * b[..., 1, 2]
    )
    g = shear[:, None]
    across = c**2 * g[..., 0, 0] + s**2 * g[..., 1, 1] + 2.0 * c * s * g[..., 0, 1]
    return 12.0 * along / (across * length**2)


def side_rotations(xy: Array, factors: Array) -> Array:
    """Matrix (n, 3, 9) from w, βx, βy of the nodes to the mid-side rotation of each side."""
    c, s, length = side_frames(xy)
    matrix = np.zeros((len(xy), 3, 9))
    for k, (i, j) in enumerate(_SIDES):
        soft = 1.0 / (1.0 + factors[:, k])
        matrix[:, k, 3 * j] = -1.5 * soft / length[:, k]
        matrix[:, k, 3 * i] = -matrix[:, k, 3 * j]
        for node in (i, j):
            matrix[:, k, 3 * node + 1] = -0.75 * soft * c[:, k]
            matrix[:, k, 3 * node + 2] = -0.75 * soft * s[:, k]
    return matrix


def gradients(xy: Array) -> Array:
    """Gradients (n, 3, 2) of the area coordinates."""
    e1, e2 = xy[:, 1] - xy[:, 0], xy[:, 2] - xy[:, 0]
    double_area = e1[:, 0] * e2[:, 1] - e1[:, 1] * e2[:, 0]
    opposite = np.stack([xy[:, (i + 2) % 3] - xy[:, (i + 1) % 3] for i in range(3)], axis=1)
    turned = np.stack([-opposite[..., 1], opposite[..., 0]], axis=-1)
    return turned / double_area[:, None, None]


def curvature(xy: Array, rotations: Array, corners: Array) -> Array:
    """Curvature matrix (n, q, 3, 9): rows κ11, κ22, 2κ12; columns w, βx, βy of each node.

    Args:
        xy: (n, 3, 2) corners.
        rotations: (n, 3, 9) from `side_rotations`.
        corners: (q, 3) area coordinates of the evaluation points.
    """
    slope = gradients(xy)
    c, s, _ = side_frames(xy)
    matrix = np.zeros((len(xy), len(corners), 3, 9))
    for i in range(3):
        matrix[:, :, 0, 3 * i + 1] = matrix[:, :, 2, 3 * i + 2] = slope[:, None, i, 0]
        matrix[:, :, 1, 3 * i + 2] = matrix[:, :, 2, 3 * i + 1] = slope[:, None, i, 1]
    bubbles = np.empty((len(xy), len(corners), 3, 3))
    for k, (i, j) in enumerate(_SIDES):
        d = 4.0 * (
            corners[None, :, i, None] * slope[:, None, j]
            + corners[None, :, j, None] * slope[:, None, i]
        )
        ck, sk = c[:, None, k], s[:, None, k]
        bubbles[..., 0, k] = d[..., 0] * ck
        bubbles[..., 1, k] = d[..., 1] * sk
        bubbles[..., 2, k] = d[..., 1] * ck + d[..., 0] * sk
    matrix += bubbles @ rotations[:, None]
    return matrix


def shear_strain(xy: Array, rotations: Array, factors: Array, corners: Array) -> Array:
    """Transverse shear matrix (n, q, 2, 9): rows γ13, γ23; columns w, βx, βy of each node."""
    c, s, _ = side_frames(xy)
    along = -(2.0 / 3.0) * factors[:, :, None] * rotations
    matrix = np.zeros((len(xy), len(corners), 2, 9))
    for node in range(3):
        p, q = (node + 2) % 3, node
        determinant = (c[:, p] * s[:, q] - s[:, p] * c[:, q])[:, None]
        gamma_1 = (s[:, q, None] * along[:, p] - s[:, p, None] * along[:, q]) / determinant
        gamma_2 = (c[:, p, None] * along[:, q] - c[:, q, None] * along[:, p]) / determinant
        at_node = np.stack([gamma_1, gamma_2], axis=1)
        matrix += corners[None, :, node, None, None] * at_node[:, None]
    return matrix

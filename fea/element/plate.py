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
    edge = xy[:, [1, 2, 0]] - xy
    length = np.hypot(edge[..., 0], edge[..., 1])
    return edge[..., 0] / length, edge[..., 1] / length, length


def side_shear_factors(xy: Array, bending: Array, shear: Array) -> Array:
    """Ratio φ (n, 3) of shear to bending flexibility along each side.

    Args:
        xy: (n, 3, 2) corners.
        bending: (n, 3, 3) bending stiffness about the neutral surface.
        shear: (n, 2, 2) transverse shear stiffness, order 13, 23.
    """
    c, s, length = side_frames(xy)
    b, g = bending[:, None], shear[:, None]
    cc, ss, cs = c * c, s * s, c * s
    along = (
        cc * cc * b[..., 0, 0]
        + 2.0 * cs * cs * (b[..., 0, 1] + 2.0 * b[..., 2, 2])
        + ss * ss * b[..., 1, 1]
        + 4.0 * cs * (cc * b[..., 0, 2] + ss * b[..., 1, 2])
    )
    across = cc * g[..., 0, 0] + ss * g[..., 1, 1] + 2.0 * cs * g[..., 0, 1]
    return 12.0 * along / (across * (length * length))


def side_rotations(xy: Array, factors: Array) -> Array:
    """Matrix (n, 3, 9) from w, βx, βy of the nodes to the mid-side rotation of each side."""
    c, s, length = side_frames(xy)
    matrix = np.zeros((len(xy), 3, 9), order="F")
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
    opposite = xy[:, [2, 0, 1]] - xy[:, [1, 2, 0]]
    turned = np.empty((len(xy), 3, 2), order="F")
    turned[..., 0], turned[..., 1] = -opposite[..., 1], opposite[..., 0]
    turned /= double_area[:, None, None]
    return turned


def curvature(xy: Array, rotations: Array, corners: Array) -> Array:
    """Curvature matrix (n, q, 3, 9): rows κ11, κ22, 2κ12; columns w, βx, βy of each node.

    Args:
        xy: (n, 3, 2) corners.
        rotations: (n, 3, 9) from `side_rotations`.
        corners: (q, 3) area coordinates of the evaluation points.
    """
    slope = gradients(xy)
    c, s, _ = side_frames(xy)
    matrix = np.zeros((len(xy), len(corners), 3, 9), order="F")
    for i in range(3):
        matrix[:, :, 0, 3 * i + 1] = matrix[:, :, 2, 3 * i + 2] = slope[:, None, i, 0]
        matrix[:, :, 1, 3 * i + 2] = matrix[:, :, 2, 3 * i + 1] = slope[:, None, i, 1]
    bubble = np.empty((len(xy), len(corners), 3, 1), order="F")
    for k, (i, j) in enumerate(_SIDES):
        d = 4.0 * (
            corners[:, i, None] * slope[:, None, j] + corners[:, j, None] * slope[:, None, i]
        )
        ck, sk = c[:, None, k], s[:, None, k]
        bubble[..., 0, 0] = d[..., 0] * ck
        bubble[..., 1, 0] = d[..., 1] * sk
        bubble[..., 2, 0] = d[..., 1] * ck + d[..., 0] * sk
        for node in (i, j):  # the third node does not turn this side
            dofs = slice(3 * node, 3 * node + 3)
            matrix[..., dofs] += bubble * rotations[:, None, None, k, dofs]
    return matrix


def shear_strain(xy: Array, rotations: Array, factors: Array, corners: Array) -> Array:
    """Transverse shear matrix (n, q, 2, 9): rows γ13, γ23; columns w, βx, βy of each node."""
    c, s, _ = side_frames(xy)
    along = -(2.0 / 3.0) * factors[:, :, None] * rotations
    at_nodes = np.empty((len(xy), 9, 2, 3), order="F")
    for node in range(3):
        p, q = (node + 2) % 3, node
        determinant = c[:, p] * s[:, q] - s[:, p] * c[:, q]
        cp, sp, cq, sq = ((k / determinant)[:, None] for k in (c[:, p], s[:, p], c[:, q], s[:, q]))
        at_nodes[..., 0, node] = sq * along[:, p] - sp * along[:, q]
        at_nodes[..., 1, node] = cp * along[:, q] - cq * along[:, p]
    return np.tensordot(corners, at_nodes.T, 1).transpose(3, 0, 1, 2)

# SPDX-License-Identifier: MIT
"""Geometric stiffness: how the forces within stiffen or soften against deflection.

In the plane of a triangle the displacement gradients are those of linear shape functions; across
it the gradient of w is taken from the discrete Kirchhoff rotation field, because the linear
gradient depends on the diagonal of the mesh by tens of percent under shear.

Source: katili-1993 (rotation field), simo-vu-quoc-1986 (strains of a strut that turns).
"""

import numpy as np
from numpy.typing import NDArray
from skfem.quadrature import get_quadrature
from skfem.refdom import RefLine, RefTri

from fea.element import plate
from fea.element.shell import Facets
from fea.element.strut import StrutFrames, cross_matrices

Array = NDArray[np.float64]

_POINTS, _WEIGHTS = get_quadrature(RefTri, 4)  # exact for products of the quadratic rotations
_CORNERS = np.column_stack([1.0 - _POINTS.sum(axis=0), _POINTS.T])
_STATIONS, _SHARES = (rule.ravel() for rule in get_quadrature(RefLine, 5))


def shell_matrices(shell: Facets, membrane: Array) -> Array:
    """Geometric stiffness (n, 18, 18) of triangles, global degrees of freedom.

    Args:
        shell: n facets.
        membrane: (n, 3) membrane forces N11, N22, N12 per length in the facet's axes.
    """
    count = len(shell.area)
    tensor = np.empty((count, 2, 2))
    tensor[:, 0, 0], tensor[:, 1, 1] = membrane[:, 0], membrane[:, 1]
    tensor[:, 0, 1] = tensor[:, 1, 0] = membrane[:, 2]
    slope = plate.gradients(shell.xy)
    flat = shell.area[:, None, None] * (slope @ tensor @ np.swapaxes(slope, 1, 2))
    local = np.zeros((count, 3, 6, 3, 6))
    local[:, :, 0, :, 0] = local[:, :, 1, :, 1] = flat
    field = _rotation_field(shell)
    weight = 2.0 * _WEIGHTS * shell.area[:, None]
    stressed = tensor[:, None] @ field * weight[:, :, None, None]
    rows = field.reshape(count, -1, 9)
    bent = np.swapaxes(rows, 1, 2) @ stressed.reshape(rows.shape)
    bent = bent.reshape(count, 3, 3, 3, 3)
    component, sign = (2, 4, 3), (1.0, 1.0, -1.0)  # w, βx = θy, βy = −θx
    for i in range(3):
        for j in range(3):
            local[:, :, component[i], :, component[j]] = sign[i] * sign[j] * bent[:, :, i, :, j]
    return _turned(local.reshape(count, 18, 18), shell.axes)


def strut_matrices(strut: StrutFrames, forces: Array, radius_squared: Array) -> Array:
    """Geometric stiffness (n, 12, 12) of struts, global degrees of freedom.

    All six section forces act. The section stays plane and turns by the rotation vector θ; of its
    strains Rᵀr′ − e1 and Rᵀ∂R/∂x the second-order parts do work against the forces n and moments
    m, and the twist θx′ shortens the fibres off the axis:

        n·(−θ × u′ + ½ θ × (θ × e1)) − ½ m·(θ × θ′) + ½ N ρ² θx′²

    θ follows the cubic deflection, as of a strut that is rigid in shear.

    Args:
        strut: n frames.
        forces: (n, 2, 6) section forces N, Qy, Qz, T, My, Mz at both ends, local axes.
        radius_squared: (n,) ρ² = (I_y + I_z)/A.
    """
    matrix = np.zeros((len(strut.length), 12, 12))
    axis = np.array([1.0, 0.0, 0.0])
    for s, weight in zip(_STATIONS, _SHARES, strict=True):
        turn, bend, stretch = _strut_fields(strut.length, s)
        here = (1.0 - s) * forces[:, 0] + s * forces[:, 1]
        n, m = here[:, :3], here[:, 3:]
        turned = np.swapaxes(turn, 1, 2)
        half = turned @ (cross_matrices(n) @ stretch + 0.5 * cross_matrices(m) @ bend)
        half += 0.5 * turned @ (n[:, :, None] * axis - n[:, :1, None] * np.eye(3)) @ turn
        twist = bend[:, 0]
        half += 0.5 * (n[:, 0] * radius_squared)[:, None, None] * (
            twist[:, :, None] * twist[:, None, :]
        )
        matrix += (weight * strut.length)[:, None, None] * (half + np.swapaxes(half, 1, 2))
    return np.swapaxes(strut.to_ends, 1, 2) @ matrix @ strut.to_ends


def carried_spring_matrices(arms: Array, forces: Array) -> Array:
    """Geometric stiffness (n, 12, 12) of springs that turn with a body, between node and body.

    In the axes of the body the spring's stretch Rᵀ(r + v) − r has the second-order part
    −θ × v + ½ θ × (θ × r), where v is the node's displacement less the body's.

    Args:
        arms: (n, 3) r, from the body's point to the node.
        forces: (n, 3) that the spring's stretch along each axis is pulled with: tension positive.
    """
    matrix = np.zeros((len(arms), 12, 12))
    dyad = arms[:, :, None] * forces[:, None, :]
    along = np.sum(arms * forces, axis=1)[:, None, None]
    matrix[:, 9:, 9:] = 0.5 * (dyad + np.swapaxes(dyad, 1, 2)) - along * np.eye(3)
    turned = cross_matrices(forces)
    for first, sign in ((0, 1.0), (6, -1.0)):
        matrix[:, 9:, first : first + 3] = sign * turned
        matrix[:, first : first + 3, 9:] = sign * np.swapaxes(turned, 1, 2)
    return matrix


def _strut_fields(length: Array, s: float) -> tuple[Array, Array, Array]:
    """Matrices (n, 3, 12) from end motions to θ, θ′ and u′ at the share s of the length."""
    turn, bend, stretch = (np.zeros((len(length), 3, 12)) for _ in range(3))
    turn[:, 0, 3], turn[:, 0, 9] = 1.0 - s, s
    bend[:, 0, 3], bend[:, 0, 9] = -1.0 / length, 1.0 / length
    stretch[:, 0, 0], stretch[:, 0, 6] = -1.0 / length, 1.0 / length
    slope = (6.0 * s * (s - 1.0), 6.0 * s * (1.0 - s))
    own = (1.0 + s * (3.0 * s - 4.0), s * (3.0 * s - 2.0))
    for end in (0, 1):
        for row, across, about, sign in ((2, 1, 5, 1.0), (1, 2, 4, -1.0)):
            moved, turned = 6 * end + across, 6 * end + about
            turn[:, row, moved] = sign * slope[end] / length
            turn[:, row, turned] = own[end]
            bend[:, row, moved] = sign * (12.0 * s - 6.0) * (1 - 2 * end) / length**2
            bend[:, row, turned] = (6.0 * s - (4.0, 2.0)[end]) / length
            stretch[:, across] = sign * turn[:, row]
    return turn, bend, stretch


def _rotation_field(shell: Facets) -> Array:
    """Matrix (n, q, 2, 9) from w, βx, βy of the nodes to βx, βy, without shear flexibility."""
    rigid = plate.side_rotations(shell.xy, np.zeros((len(shell.area), 3)))
    cosine, sine, _ = plate.side_frames(shell.xy)
    field = np.zeros((len(shell.area), len(_CORNERS), 2, 9))
    for node in range(3):
        field[:, :, 0, 3 * node + 1] = field[:, :, 1, 3 * node + 2] = _CORNERS[:, node]
    for side in range(3):
        bubble = 4.0 * _CORNERS[:, side] * _CORNERS[:, (side + 1) % 3]
        along = np.stack([cosine[:, side], sine[:, side]], axis=1)
        field += (
            bubble[None, :, None, None] * along[:, None, :, None] * rigid[:, None, side, None, :]
        )
    return field


def _turned(local: Array, axes: Array) -> Array:
    """Matrices (n, 18, 18) from facet axes to global axes, in blocks of three."""
    right = local.reshape(len(local), -1, 3) @ axes
    left = np.swapaxes(right.reshape(len(local), 18, 18), 1, 2).reshape(len(local), -1, 3)
    return (left @ axes).reshape(len(local), 18, 18)

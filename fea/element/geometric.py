# SPDX-License-Identifier: MIT
"""Geometric stiffness: how membrane and axial forces stiffen or soften against deflection.

In the plane of a triangle the displacement gradients are those of linear shape functions; across
it the gradient of w is taken from the discrete Kirchhoff rotation field, because the linear
gradient depends on the diagonal of the mesh by tens of percent under shear.

Source: przemieniecki-1968 (struts), katili-1993 (rotation field).
"""

import numpy as np
from numpy.typing import NDArray
from skfem.quadrature import get_quadrature
from skfem.refdom import RefTri

from fea.element import plate
from fea.element.shell import Facets
from fea.element.strut import StrutFrames

Array = NDArray[np.float64]

_POINTS, _WEIGHTS = get_quadrature(RefTri, 4)  # exact for products of the quadratic rotations
_CORNERS = np.column_stack([1.0 - _POINTS.sum(axis=0), _POINTS.T])


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


def strut_matrices(strut: StrutFrames, axial: Array) -> Array:
    """Geometric stiffness (n, 12, 12) of struts with axial forces (n,), tension positive."""
    length = strut.length
    matrix = np.zeros((len(length), 12, 12))
    for dofs, sign in (((1, 5, 7, 11), 1.0), ((2, 4, 8, 10), -1.0)):
        arm = sign * length
        rows = (
            (36.0, 3.0 * arm, -36.0, 3.0 * arm),
            (3.0 * arm, 4.0 * length**2, -3.0 * arm, -(length**2)),
            (-36.0, -3.0 * arm, 36.0, -3.0 * arm),
            (3.0 * arm, -(length**2), -3.0 * arm, 4.0 * length**2),
        )
        for i, row in zip(dofs, rows, strict=True):
            for j, value in zip(dofs, row, strict=True):
                matrix[:, i, j] = axial / (30.0 * length) * np.asarray(value)
    return np.swapaxes(strut.to_ends, 1, 2) @ matrix @ strut.to_ends


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

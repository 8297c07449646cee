# SPDX-License-Identifier: MIT
"""The two-node strut: exact shear-flexible beam, with rigid offsets at its ends.

Twelve degrees of freedom (ux uy uz rx ry rz at two nodes). Local x runs along the strut; the
local x–z plane contains ``up``; i_y resists bending in that plane. Warping is left out.

Source: przemieniecki-1968.
"""

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]


@dataclass(frozen=True)
class StrutProperties:
    """Stiffness of n struts, each (n,): EA, EI_y, EI_z, GJ, and shear GA_y, GA_z (inf: rigid)."""

    axial: Array
    bending_y: Array
    bending_z: Array
    torsion: Array
    shear_y: Array
    shear_z: Array

    def __getitem__(self, rows: IntArray | slice) -> "StrutProperties":
        return StrutProperties(*(getattr(self, item.name)[rows] for item in fields(self)))


@dataclass(frozen=True)
class StrutFrames:
    """Geometry of n struts.

    Attributes:
        axes: (n, 3, 3) with rows x, y, z.
        length: (n,).
        to_ends: (n, 12, 12) from node motion (global axes) to end motion (local axes).
    """

    axes: Array
    length: Array
    to_ends: Array

    def __getitem__(self, rows: IntArray | slice) -> "StrutFrames":
        return StrutFrames(self.axes[rows], self.length[rows], self.to_ends[rows])


def frames(ends: Array, up: Array, offset_start: Array, offset_end: Array) -> StrutFrames:
    """Local frames and the map from node motion to local end motion.

    Args:
        ends: (n, 2, 3) node coordinates.
        up: (n, 3) vectors in the local x–z plane.
        offset_start, offset_end: (n, 3) from node to strut end, global axes.

    Returns:
        The frames; rows where ``up`` is parallel to the strut, or with no length, are NaN.
    """
    start, end = ends[:, 0] + offset_start, ends[:, 1] + offset_end
    axis = end - start
    length = np.linalg.norm(axis, axis=1)
    x = axis / np.where(length > 0.0, length, np.nan)[:, None]
    y = np.cross(up, x)
    sine = np.linalg.norm(y, axis=1)
    parallel = sine < 1e-6 * np.linalg.norm(up, axis=1)
    y = y / np.where(parallel, np.nan, sine)[:, None]
    axes = np.stack([x, y, np.cross(x, y)], axis=1)
    to_ends = np.zeros((len(ends), 12, 12))
    for node, offset in enumerate((offset_start, offset_end)):
        first = 6 * node
        to_ends[:, first : first + 3, first : first + 3] = axes
        to_ends[:, first + 3 : first + 6, first + 3 : first + 6] = axes
        to_ends[:, first : first + 3, first + 3 : first + 6] = -axes @ cross_matrices(offset)
    return StrutFrames(axes, length, to_ends)


def cross_matrices(vectors: Array) -> Array:
    """Matrices (n, 3, 3) such that ``cross_matrices(a) @ b`` is a × b."""
    matrix = np.zeros((len(vectors), 3, 3))
    matrix[:, 2, 1], matrix[:, 1, 2] = vectors[:, 0], -vectors[:, 0]
    matrix[:, 0, 2], matrix[:, 2, 0] = vectors[:, 1], -vectors[:, 1]
    matrix[:, 1, 0], matrix[:, 0, 1] = vectors[:, 2], -vectors[:, 2]
    return matrix


def local_stiffness(strut: StrutFrames, properties: StrutProperties) -> Array:
    """Stiffness (n, 12, 12) between local end motions."""
    length = strut.length
    matrix = np.zeros((len(length), 12, 12))
    _spring(matrix, 0, 6, properties.axial / length)
    _spring(matrix, 3, 9, properties.torsion / length)
    _bend(matrix, (1, 5, 7, 11), properties.bending_z, properties.shear_y, length, 1.0)
    _bend(matrix, (2, 4, 8, 10), properties.bending_y, properties.shear_z, length, -1.0)
    return matrix


def stiffness_matrices(strut: StrutFrames, properties: StrutProperties) -> Array:
    """Stiffness matrices (n, 12, 12) in global degrees of freedom of the nodes."""
    local = local_stiffness(strut, properties)
    return np.swapaxes(strut.to_ends, 1, 2) @ local @ strut.to_ends


def _spring(matrix: Array, i: int, j: int, value: Array) -> None:
    matrix[:, i, i] = matrix[:, j, j] = value
    matrix[:, i, j] = matrix[:, j, i] = -value


def _bend(
    matrix: Array, dofs: tuple[int, ...], bending: Array, shear: Array, length: Array, sign: float
) -> None:
    """Bending in one plane; ``dofs`` are deflection and rotation at both ends.

    ``sign`` is +1 where the rotation is the slope of the deflection, −1 where it is its negative.
    """
    phi = 12.0 * bending / (shear * length**2)
    scale = bending / ((1.0 + phi) * length**3)
    arm = sign * length
    rows = (
        (12.0, 6.0 * arm, -12.0, 6.0 * arm),
        (6.0 * arm, (4.0 + phi) * length**2, -6.0 * arm, (2.0 - phi) * length**2),
        (-12.0, -6.0 * arm, 12.0, -6.0 * arm),
        (6.0 * arm, (2.0 - phi) * length**2, -6.0 * arm, (4.0 + phi) * length**2),
    )
    for i, row in zip(dofs, rows, strict=True):
        for j, value in zip(dofs, row, strict=True):
            matrix[:, i, j] = scale * np.asarray(value)

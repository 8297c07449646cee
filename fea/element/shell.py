# SPDX-License-Identifier: MIT
"""The flat shell triangle: membrane with drilling rotation plus shear-flexible bending.

Eighteen degrees of freedom (ux uy uz rx ry rz at three nodes, global axes) and eight generalised
strains [ε11 ε22 γ12 | κ11 κ22 2κ12 | γ13 γ23] in the material axes of the facet, so that any
laminate, coupled or not, enters by its 8 × 8 stiffness. All kernels work on n elements at once.

Source: felippa-2003, katili-1993; the adaptive higher-order factor is our own
(see `higher_order_factor`).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_matrix
from skfem.quadrature import get_quadrature
from skfem.refdom import RefTri

from fea.element import membrane, plate

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]

_FOLD_COSINE = np.cos(np.radians(30.0))  # facets that meet at more than this belong to a fold
_SMOOTH_COSINE = np.cos(np.radians(15.0))  # no pair of facets this near their mean folds
_CHUNK = 256  # elements per block: the work arrays of one block stay in the cache


def _rule() -> tuple[Array, Array]:
    points, weights = get_quadrature(RefTri, 2)
    return np.column_stack([1.0 - points.sum(axis=0), points.T]), 2.0 * weights


CORNERS, WEIGHTS = _rule()
"""Area coordinates (3, 3) and weights (3,), sum 1, of the rule that is exact for the element."""


@dataclass(frozen=True)
class Facets:
    """Geometry of n facets.

    Attributes:
        axes: (n, 3, 3) with rows e1, e2, normal.
        xy: (n, 3, 2) corners in the plane, from the centroid.
        area: (n,).
    """

    axes: Array
    xy: Array
    area: Array

    def __getitem__(self, rows: IntArray | slice) -> "Facets":
        return Facets(self.axes[rows], self.xy[rows], self.area[rows])


def facets(points: Array, triangles: IntArray, direction: Array | None = None) -> Facets:
    """Frames and plane coordinates of triangles.

    Args:
        points: (m, 3) coordinates.
        triangles: (n, 3) node numbers.
        direction: (n, 3) vectors whose projection on the facet is material axis 1; None, or a
            row of NaN, takes the global z axis, or the global x axis where a facet lies flat
            within about 8 degrees.

    Returns:
        The frames; rows with no area or a vanishing projection are NaN (the caller names the
        place).
    """
    corners = points[triangles]
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    double = np.linalg.norm(normal, axis=1)
    normal = normal / np.where(double > 0.0, double, np.nan)[:, None]
    flat = np.abs(normal[:, 2]) > 0.99
    default = np.where(flat[:, None], [1.0, 0.0, 0.0], [0.0, 0.0, 1.0])
    direction = default if direction is None else np.where(np.isnan(direction), default, direction)
    first = direction - np.sum(direction * normal, axis=1)[:, None] * normal
    length = np.linalg.norm(first, axis=1)
    vanishing = length < 1e-6 * np.linalg.norm(direction, axis=1)
    first = first / np.where(vanishing, np.nan, length)[:, None]
    axes = np.stack([first, np.cross(normal, first), normal], axis=1)
    xy = (corners - corners.mean(axis=1, keepdims=True)) @ np.swapaxes(axes[:, :2], 1, 2)
    return Facets(axes, xy, 0.5 * double)


def neutral_bending(stiffness: Array) -> Array:
    """Bending stiffness D − B A⁻¹ B (n, 3, 3) about the neutral surface of (n, 8, 8) sections."""
    a, b, d = stiffness[:, :3, :3], stiffness[:, :3, 3:6], stiffness[:, 3:6, 3:6]
    if not b.any():
        return d
    return d - b @ np.linalg.solve(a, b)


def higher_order_factor(
    points: Array, triangles: IntArray, shell: Facets, stiffness: Array
) -> Array:
    """Higher-order membrane factor β0 (n,) of each facet.

    ½(1 − 4ν²) is optimal for in-plane bending of a flat sheet. On a thin curved shell the facets'
    drilling rotations lock inextensional bending, so the factor falls with (t/(hϑ))²: ϑ is the rms
    angle between the facet and the averaged normals of its nodes (averaged over facets that do not
    fold away by more than 30 degrees), h = √(2 area), t the wall. Found by numerical experiment on
    two shells (18° hemisphere, thin twisted strip) and fixed before any other case was run.
    """
    membrane_trace = stiffness[:, 0, 0] + stiffness[:, 1, 1]
    bending = neutral_bending(stiffness)
    wall_squared = 12.0 * (bending[:, 0, 0] + bending[:, 1, 1]) / membrane_trace
    poisson = stiffness[:, 0, 1] / np.sqrt(stiffness[:, 0, 0]) / np.sqrt(stiffness[:, 1, 1])
    flat = np.maximum(0.5 * (1.0 - 4.0 * poisson**2), 0.01)
    angle_squared = _facet_angle_squared(len(points), triangles, shell)
    curved = 0.03 * wall_squared / np.maximum(2.0 * shell.area * angle_squared, 1e-300)
    return np.clip(curved, 1e-3, np.maximum(flat, 1e-3))


def _facet_angle_squared(count: int, triangles: IntArray, shell: Facets) -> Array:
    """Mean squared angle (n,) between each facet's normal and the normals at its three nodes."""
    normals, corners = shell.axes[:, 2], triangles.ravel()
    element = np.repeat(np.arange(len(triangles)), 3)
    around = csr_matrix((shell.area[element], (corners, element)), shape=(count, len(triangles)))
    total = (around @ normals)[triangles]
    along = np.einsum("nkx,nx->nk", total, normals)
    length = np.linalg.norm(total, axis=2)
    rough = np.zeros(count, dtype=bool)
    rough[triangles[~(along > _SMOOTH_COSINE * length)]] = True
    if rough.any():
        total[rough[triangles]] = _without_folds(around, triangles, rough[triangles], normals)
        length = np.linalg.norm(total, axis=2)
    sine = np.linalg.norm(np.cross(total, normals[:, None]), axis=2) / length
    return np.mean(np.arcsin(np.clip(sine, 0.0, 1.0)) ** 2, axis=1)


def _without_folds(
    around: csr_matrix, triangles: IntArray, wanted: NDArray[np.bool_], normals: Array
) -> Array:
    """Summed normals (w, 3) at the wanted corners, of facets that do not fold away there.

    ``around`` (nodes, n) holds the areas of the facets at each node.
    """
    own, corner = np.nonzero(wanted)
    node = triangles[own, corner]
    first, degree = around.indptr[node], np.diff(around.indptr)[node]
    total = np.zeros((len(own), 3))
    for step in range(int(degree.max())):
        active = np.flatnonzero(step < degree)
        at = first[active] + step
        neighbour = around.indices[at]
        cosine = np.sum(normals[own[active]] * normals[neighbour], axis=1)
        weight = around.data[at] * np.sign(cosine) * (np.abs(cosine) > _FOLD_COSINE)
        total[active] += weight[:, None] * normals[neighbour]
    return total


def strain_matrices(shell: Facets, stiffness: Array, factor: Array) -> Array:
    """Generalised strain matrices (n, 3, 8, 18) at the three quadrature points, global dofs.

    Args:
        shell: n facets.
        stiffness: (n, 8, 8) section stiffness, which sets the shear flexibility of the sides.
        factor: (n,) higher-order membrane factor β0.
    """
    # work arrays run along the elements: each formula below is a few long vector operations
    xy = np.asfortranarray(shell.xy)
    local = np.zeros((len(xy), 3, 8, 3, 6), order="F")  # … strain, node, u v w rx ry rz (facet)
    sheet = membrane.deviatoric_strain(xy, CORNERS)
    sheet *= np.sqrt(factor)[:, None, None, None]
    sheet += membrane.constant_strain(xy)[:, None]
    for column, dof in enumerate((0, 1, 5)):
        local[:, :, 0:3, :, dof] = sheet[..., column::3]
    sides = plate.side_shear_factors(xy, neutral_bending(stiffness), stiffness[:, 6:, 6:])
    rotations = plate.side_rotations(xy, sides)
    bent = plate.curvature(xy, rotations, CORNERS)
    sheared = plate.shear_strain(xy, rotations, sides, CORNERS)
    for rows, part in ((slice(3, 6), bent), (slice(6, 8), sheared)):
        local[:, :, rows, :, 2] = part[..., 0::3]
        local[:, :, rows, :, 4] = part[..., 1::3]  # βx = θy
        np.negative(part[..., 2::3], out=local[:, :, rows, :, 3])  # βy = −θx
    turned = local.reshape(len(xy), -1, 3) @ shell.axes
    return turned.reshape(len(xy), 3, 8, 18)


def stiffness_matrices(shell: Facets, stiffness: Array, factor: Array) -> Array:
    """Stiffness matrices (n, 18, 18) in global degrees of freedom; arguments as above."""
    result = np.empty((len(shell.area), 18, 18))
    for part in _chunks(len(result)):
        strain = strain_matrices(shell[part], stiffness[part], factor[part])
        weight = shell.area[part][:, None] * WEIGHTS
        stress = (weight[:, :, None, None] * stiffness[part][:, None]) @ strain
        rows = strain.reshape(len(strain), 24, 18)
        result[part] = np.swapaxes(rows, 1, 2) @ stress.reshape(rows.shape)
    return result


def mean_strain_matrices(shell: Facets, stiffness: Array, factor: Array) -> Array:
    """Quadrature mean (n, 8, 18) of the strain matrices; arguments as above."""
    result = np.empty((len(shell.area), 8, 18))
    for part in _chunks(len(result)):
        strain = strain_matrices(shell[part], stiffness[part], factor[part])
        result[part] = np.tensordot(WEIGHTS, strain, (0, 1))
    return result


def _chunks(count: int) -> list[slice]:
    return [slice(start, start + _CHUNK) for start in range(0, count, _CHUNK)]

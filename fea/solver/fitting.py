# SPDX-License-Identifier: MIT
"""Planes fitted by least squares to what the cells round each spot of a shell say.

Tensors are carried from a cell's tangent plane to the spot's by the smallest rotation that takes
one normal to the other, so a fit mixes neither axes nor planes, and turns with the structure.

Source: zienkiewicz-zhu-1992.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_matrix, diags

from fea.element.shell import Facets
from fea.structure.model import Structure
from fea.structure.patches import Spots, smooth_spots

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]

MEMBRANE, MOMENT, SHEAR = slice(0, 3), slice(3, 6), slice(6, 8)

FEW_CELLS = 5
"""With fewer cells round it a spot takes the next ring of cells as well, as every spot on a rim."""
LEAST_CELLS = 4
"""With fewer cells a plane (three numbers) would fit anything: the mean is taken."""
_THIN = 1e-3  # ratio of variances of cells across and along a patch below which it is a line


@dataclass(frozen=True, eq=False)
class Fit:
    """The map from cell means to values at the corners of the cells.

    Attributes:
        spots: which corners share one fit.
        taken: (p,) pairs of a spot and a cell that its fit takes in, in the order of spots.
        unsupported: (s,) True where there are too few cells for a plane: the mean was taken.
        tensors: (3 s, 3 c) from tensors in cell axes to tensors in the axes of the spot.
        vectors: (2 s, 2 c) the same for vectors.
        to_corner: cosine and sine (c, 3) of the angle from the spot's to the cell's axis 1.
    """

    spots: Spots
    taken: tuple[IntArray, IntArray]
    unsupported: NDArray[np.bool_]
    tensors: csr_matrix
    vectors: csr_matrix
    to_corner: tuple[Array, Array]

    @property
    def count(self) -> int:
        """Number s of spots."""
        return len(self.unsupported)

    @classmethod
    def of(cls, structure: Structure, facets: Facets) -> Fit:
        """Fit every spot of a structure with these facets."""
        points, triangles = structure.mesh.points, structure.mesh.cells["triangle"]
        spots = smooth_spots(structure)
        frames = _SpotFrames.of(spots, facets)
        spot, cell = _neighbours(spots)
        nodes = np.empty(len(spots.closed), dtype=np.int64)
        nodes[spots.of_corner] = triangles
        away = points[triangles].mean(axis=1)[cell] - points[nodes[spot]]
        weights, unsupported = _plane_weights(spot, frames.plane(spot, away), len(nodes))
        cosine, sine = frames.turn(facets, cell, spot)
        shape = (len(nodes), len(triangles))
        cells = np.arange(len(triangles))[:, None]
        c, s = frames.turn(facets, cells, spots.of_corner)
        return cls(
            spots,
            (spot, cell),
            unsupported,
            _blocks(weights[:, None, None] * tensor_turn(cosine, sine), spot, cell, shape),
            _blocks(weights[:, None, None] * vector_turn(cosine, sine), spot, cell, shape),
            (c, -s),
        )

    def corners(self, means: Array) -> Array:
        """Values (c, 8, 3, cases) at the corners of the cells from means (c, 8, cases)."""
        count, cases = len(means), means.shape[2]
        at_corners = np.empty((count, 8, 3, cases))
        tensor, vector = tensor_turn(*self.to_corner), vector_turn(*self.to_corner)
        for part, matrix, turn in (
            (MEMBRANE, self.tensors, tensor),
            (MOMENT, self.tensors, tensor),
            (SHEAR, self.vectors, vector),
        ):
            values = matrix @ means[:, part].reshape(-1, cases)
            values = values.reshape(self.count, -1, cases)[self.spots.of_corner]
            at_corners[:, part] = np.swapaxes(turn @ values, 1, 2)
        return at_corners

    def corner_vectors(self, cells: IntArray, around: IntArray, values: Array) -> Array:
        """Vectors (c, 3, 2, n) at the corners of some cells, fitted to those of cells around them.

        Args:
            cells: (c,) cells.  around: (a,) cells that the fits of their spots take in, sorted.
            values: (a, 2, n) vectors in the axes of these cells.
        """
        spots, corner = np.unique(self.spots.of_corner[cells], return_inverse=True)
        rows, columns = (2 * each[:, None] + np.arange(2) for each in (spots, around))
        matrix = self.vectors[rows.ravel()][:, columns.ravel()]
        fitted = (matrix @ values.reshape(2 * len(around), -1)).reshape(len(spots), 2, -1)
        cosine, sine = (each[cells] for each in self.to_corner)
        return vector_turn(cosine, sine) @ fitted[corner.reshape(-1, 3)]


@dataclass(frozen=True, eq=False)
class _SpotFrames:
    """Axes (s, 3, 3) of the spots, rows: two in the tangent plane, the normal."""

    axes: Array

    @classmethod
    def of(cls, spots: Spots, facets: Facets) -> _SpotFrames:
        normal = np.zeros((len(spots.closed), 3))
        np.add.at(normal, spots.of_corner, (facets.area[:, None] * facets.axes[:, 2])[:, None])
        normal /= np.linalg.norm(normal, axis=1, keepdims=True)
        some = np.empty(len(normal), dtype=np.int64)
        some[spots.of_corner] = np.arange(len(facets.area))[:, None]
        first = _carried(facets.axes[some, 0], facets.axes[some, 2], normal)
        return cls(np.stack([first, np.cross(normal, first), normal], axis=1))

    def turn(self, facets: Facets, cell: IntArray, spot: IntArray) -> tuple[Array, Array]:
        """Cosine and sine of the angle from the spots' axis 1 to the cells' axis 1, carried."""
        axes = self.axes[spot]
        first = _carried(facets.axes[cell, 0], facets.axes[cell, 2], axes[..., 2, :])
        return np.sum(first * axes[..., 0, :], axis=-1), np.sum(first * axes[..., 1, :], axis=-1)

    def plane(self, spot: IntArray, away: Array) -> Array:
        """Coordinates (p, 2) in the tangent plane of offsets (p, 3), at their true distance."""
        flat = (self.axes[spot, :2] @ away[:, :, None])[:, :, 0]
        length = np.linalg.norm(flat, axis=1)
        stretch = np.linalg.norm(away, axis=1) / np.where(length > 0.0, length, 1.0)
        return flat * stretch[:, None]


def tensor_turn(cosine: Array, sine: Array) -> Array:
    """Matrices (..., 3, 3) for tensors 11, 22, 12 from axes turned by an angle to those before."""
    c, s = cosine, sine
    rows = [[c * c, s * s, -2 * c * s], [s * s, c * c, 2 * c * s], [c * s, -c * s, c * c - s * s]]
    return np.stack([np.stack(row, axis=-1) for row in rows], axis=-2)


def vector_turn(cosine: Array, sine: Array) -> Array:
    """Matrices (..., 2, 2) for vectors from axes turned by an angle to those before."""
    rows = [[cosine, -sine], [sine, cosine]]
    return np.stack([np.stack(row, axis=-1) for row in rows], axis=-2)


def _carried(vector: Array, normal: Array, target: Array) -> Array:
    """Vectors in the planes of unit normals, turned the shortest way into those of the targets."""
    share = np.sum(vector * target, axis=-1) / (1.0 + np.sum(normal * target, axis=-1))
    return vector - share[..., None] * (normal + target)


def _neighbours(spots: Spots) -> tuple[IntArray, IntArray]:
    """Pairs (p,) of a spot and a cell that its fit takes in."""
    cells = np.repeat(np.arange(len(spots.of_corner)), 3)
    shape = (len(spots.closed), len(spots.of_corner))
    near = csr_matrix((np.ones(len(cells)), (spots.of_corner.ravel(), cells)), shape=shape)
    few = ~spots.closed | (np.diff(near.indptr) < FEW_CELLS)
    beyond = diags(few.astype(float)) @ near @ near.T @ near
    chosen = (diags((~few).astype(float)) @ near + beyond).tocsr()
    chosen.eliminate_zeros()
    return np.repeat(np.arange(shape[0]), np.diff(chosen.indptr)), chosen.indices.astype(np.int64)


def _plane_weights(
    spot: IntArray, xy: Array, count: int
) -> tuple[Array, NDArray[np.bool_]]:
    """Weights (p,) whose sum over a spot's cells is the fitted plane's value there.

    Also (s,) True where a plane is not determined and all cells weigh alike.
    """
    cells = np.bincount(spot, minlength=count)
    mean = np.stack([np.bincount(spot, xy[:, k], count) / cells for k in range(2)], axis=1)
    off = xy - mean[spot]
    xx, yy, xy_ = (
        np.bincount(spot, off[:, i] * off[:, j], count) for i, j in ((0, 0), (1, 1), (0, 1))
    )
    determinant, trace = xx * yy - xy_**2, xx + yy
    unsupported = (cells < LEAST_CELLS) | (determinant <= _THIN * trace**2)
    safe = np.where(unsupported, 1.0, determinant)
    slope_x = (yy * mean[:, 0] - xy_ * mean[:, 1]) / safe
    slope_y = (xx * mean[:, 1] - xy_ * mean[:, 0]) / safe
    tilt = slope_x[spot] * off[:, 0] + slope_y[spot] * off[:, 1]
    return 1.0 / cells[spot] - np.where(unsupported[spot], 0.0, tilt), unsupported


def _blocks(blocks: Array, spot: IntArray, cell: IntArray, shape: tuple[int, int]) -> csr_matrix:
    """Sparse matrix of blocks (p, k, k) at the places of spot and cell."""
    k = blocks.shape[1]
    inner = np.arange(k)
    rows = np.broadcast_to(k * spot[:, None, None] + inner[:, None], blocks.shape)
    columns = np.broadcast_to(k * cell[:, None, None] + inner, blocks.shape)
    size = (k * shape[0], k * shape[1])
    return csr_matrix((blocks.ravel(), (rows.ravel(), columns.ravel())), shape=size)

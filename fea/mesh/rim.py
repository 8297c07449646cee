# SPDX-License-Identifier: MIT
"""The free rim of a surface of triangles: how it turns from node to node, in the surface."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components

from fea.mesh.topology import edges_of

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Rim:
    """The r points of the free rim; a node where two rims touch is two of them.

    Attributes:
        nodes: (r,) node numbers.
        angle: (r,) rad, the whole angle of the surface there: π on a straight rim, more than π at
            a re-entrant corner.
        spacing: (r,) mean length of the two rim edges that meet there.
        neighbours: (r, 2) the next points of the rim, as rows of this table; −1 where the rim
            ends at an edge of three or more triangles.
        of_corner: (c, 3) row of the point that each corner of a triangle belongs to, else −1.
    """

    nodes: IntArray
    angle: Array
    spacing: Array
    neighbours: IntArray
    of_corner: IntArray

    @property
    def turning(self) -> Array:
        """(r,) rad, angle over π: positive where the rim is hollow, negative where it bulges."""
        return self.angle - np.pi

    @property
    def curvature(self) -> Array:
        """(r,) turning per length of rim, 1/mm: one over the radius of a smooth hollow rim."""
        return self.turning / self.spacing


def rim_of(points: Array, triangles: IntArray) -> Rim:
    """The free rim of triangles (c, 3) among points (n, 3).

    Points of the rim at which a T-joint ends are not in the table: their angle is that of several
    sheets.

    Example:
        >>> flat = [[0, 0], [1, 0], [1, 1], [-1, 1], [-1, -1], [0, -1]]
        >>> points = np.column_stack([flat, np.zeros(6)])
        >>> rim = rim_of(points, np.array([[0, 1, 2], [0, 2, 3], [0, 3, 4], [0, 4, 5]]))
        >>> round(float(np.degrees(rim.angle[rim.nodes == 0][0])))
        270
    """
    edges = edges_of(triangles)
    flat = np.arange(triangles.size)
    low = np.where(edges.forward.ravel(), flat, _next_corner(flat))
    high = np.where(edges.forward.ravel(), _next_corner(flat), flat)
    fan = _fans(edges.of_triangle.ravel(), edges.uses, low, high)
    count = int(fan.max(initial=-1)) + 1
    angle = np.zeros(count)
    np.add.at(angle, fan, _corner_angles(points, triangles).ravel())
    border = np.flatnonzero(edges.uses[edges.of_triangle.ravel()] == 1)
    ends = np.stack([fan[low[border]], fan[high[border]]], axis=1)
    span = np.diff(points[edges.ends[edges.of_triangle.ravel()[border]]], axis=1)
    length = np.linalg.norm(span[:, 0], axis=1)
    here, there = ends.ravel(), ends[:, ::-1].ravel()
    whole = np.flatnonzero(np.bincount(here, minlength=count) == 2)
    row = np.full(count, -1, dtype=np.int64)
    row[whole] = np.arange(len(whole))
    order = np.argsort(here, kind="stable")
    order = order[row[here[order]] >= 0].reshape(-1, 2)
    nodes = np.empty(count, dtype=np.int64)
    nodes[fan] = triangles.ravel()
    return Rim(
        nodes=nodes[whole],
        angle=angle[whole],
        spacing=np.repeat(length, 2)[order].mean(axis=1),
        neighbours=row[there[order]],
        of_corner=row[fan].reshape(-1, 3),
    )


def _next_corner(flat: IntArray) -> IntArray:
    return flat - flat % 3 + (flat + 1) % 3


def _fans(edge: IntArray, uses: IntArray, low: IntArray, high: IntArray) -> IntArray:
    """Number (3c,) of the fan of each corner: the triangles round a node that share edges."""
    order = np.argsort(edge, kind="stable")
    pair = order[uses[edge[order]] == 2].reshape(-1, 2)
    links = np.concatenate([low[pair], high[pair]])
    size = len(edge)
    graph = coo_matrix((np.ones(len(links)), (links[:, 0], links[:, 1])), shape=(size, size))
    return connected_components(graph, directed=False)[1].astype(np.int64)


def _corner_angles(points: Array, triangles: IntArray) -> Array:
    corner = points[triangles]
    ahead = np.roll(corner, -1, axis=1) - corner
    back = np.roll(corner, 1, axis=1) - corner
    across = np.linalg.norm(np.cross(ahead, back), axis=2)
    return np.arctan2(across, np.sum(ahead * back, axis=2))

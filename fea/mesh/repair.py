# SPDX-License-Identifier: MIT
"""Repairs that change no shape: merged points, split quadrilaterals, consistent orientation."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import breadth_first_order, connected_components
from scipy.spatial import cKDTree

from fea.errors import MeshError
from fea.mesh.mesh import triangle_geometry
from fea.mesh.topology import edges_of

_KEEP, _TURN = 1, 2


def merged_points(points: NDArray[np.float64], tolerance: float) -> NDArray[np.int64]:
    """For each point (n,) the lowest number among the points it is merged with.

    Points closer than ``tolerance`` (same unit as ``points``) become one, also in chains.

    Example:
        >>> merged_points(np.array([[0, 0, 0], [1, 0, 0], [1e-9, 0, 0]]), 1e-6).tolist()
        [0, 1, 0]
    """
    pairs = cKDTree(points).query_pairs(tolerance, output_type="ndarray")
    count = len(points)
    graph = coo_matrix((np.ones(len(pairs)), (pairs[:, 0], pairs[:, 1])), shape=(count, count))
    _, label = connected_components(graph, directed=False)
    _, first = np.unique(label, return_index=True)
    return first[label].astype(np.int64)


def split_quadrilaterals(
    points: NDArray[np.float64], quads: NDArray[np.int64]
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Split each quadrilateral along its shorter diagonal that leaves no folded half.

    Args:
        points: (n, 3) coordinates.
        quads: (q, 4) node numbers in order around each cell.

    Returns:
        Triangles (2q, 3) with the orientation of their quadrilateral, and the number (2q,) of
        the quadrilateral each came from.

    Example:
        >>> kite = np.array([[0, 0, 0], [1, -1, 0], [4, 0, 0], [1, 1, 0]])
        >>> triangles, owner = split_quadrilaterals(kite, np.array([[0, 1, 2, 3]]))
        >>> triangles.tolist()
        [[0, 1, 3], [1, 2, 3]]
    """
    quads = np.asarray(quads, dtype=np.int64)
    a, b, c, d = quads.T
    by_ac = np.stack([np.stack([a, b, c], 1), np.stack([a, c, d], 1)], 1)
    by_bd = np.stack([np.stack([a, b, d], 1), np.stack([b, c, d], 1)], 1)
    span_ac = np.linalg.norm(points[a] - points[c], axis=1)
    span_bd = np.linalg.norm(points[b] - points[d], axis=1)
    folds_ac, folds_bd = _folds(points, by_ac), _folds(points, by_bd)
    use_bd = np.where(folds_ac == folds_bd, span_bd < span_ac, folds_ac)
    triangles = np.where(use_bd[:, None, None], by_bd, by_ac).reshape(-1, 3)
    return triangles, np.repeat(np.arange(len(quads)), 2)


def _folds(points: NDArray[np.float64], pairs: NDArray[np.int64]) -> NDArray[np.bool_]:
    _, normals = triangle_geometry(points, pairs.reshape(-1, 3))
    return np.einsum("ij,ij->i", normals[0::2], normals[1::2]) < 0.0


@dataclass(frozen=True, eq=False)
class Orientation:
    """Triangles (c, 3) with consistent node order, and what was done.

    Attributes:
        triangles: (c, 3) node numbers.
        mixed: cells turned because they disagreed with the majority of their smooth part.
        inward: cells turned because their whole smooth part faced the limb.
    """

    triangles: NDArray[np.int64]
    mixed: int
    inward: int

    @property
    def notes(self) -> tuple[str, ...]:
        """One sentence for each repair made."""
        total = len(self.triangles)
        said = []
        if self.mixed:
            said.append(f"{self.mixed} of {total} triangles had a mixed orientation and were "
                        "turned to agree with their neighbours")
        if self.inward:
            said.append(f"{self.inward} of {total} triangles lay in parts that faced the limb "
                        "and were turned outwards")
        return tuple(said)


def oriented(
    points: NDArray[np.float64],
    triangles: NDArray[np.int64],
    axis: NDArray[np.float64] | None = None,
) -> Orientation:
    """Give every smooth part one orientation, away from a limb axis where one is given.

    A smooth part is what hangs together across edges that exactly two triangles share; edges
    with three or more (T-joints) end it. Within a part the larger area keeps its orientation.
    With an axis, a part whose area faces mostly towards the axis is then turned as a whole.

    Args:
        points: (n, 3) coordinates.
        triangles: (c, 3) node numbers.
        axis: (s, 2, 3) straight pieces of the limb's axis, start and end; None leaves each
            part with the orientation of its majority.

    Returns:
        The triangles in their order, and how many were turned for which reason.

    Raises:
        MeshError: a part that cannot be oriented at all (one-sided, like a twisted closed band).
    """
    triangles = np.asarray(triangles, dtype=np.int64)
    pairs, same = edges_of(triangles).two_sided_pairs()
    count = len(triangles)
    graph = coo_matrix((np.ones(len(pairs)), (pairs[:, 0], pairs[:, 1])), shape=(count, count))
    parts, part = connected_components(graph.tocsr(), directed=False)
    turned = _parity(pairs, same, part)
    clash = turned[pairs[:, 0]] ^ turned[pairs[:, 1]] ^ same
    if clash.any():
        x, y, z = points[triangles[pairs[np.flatnonzero(clash)[0], 0]]].mean(axis=0)
        raise MeshError(
            f"the surface near ({x:.4g}, {y:.4g}, {z:.4g}) has only one side (a closed band with "
            "a twist), so inside and outside cannot be told; cut or rebuild it there"
        )
    areas, normals = triangle_geometry(points, triangles)
    minority = 2.0 * np.bincount(part, areas * turned, parts) > np.bincount(part, areas, parts)
    mixed = turned ^ minority[part]
    inward = np.zeros(count, dtype=bool)
    if axis is not None:
        away = np.einsum("ij,ij->i", normals, _away(points[triangles].mean(axis=1), axis))
        vote = np.bincount(part, areas * away * np.where(mixed, -1.0, 1.0), parts)
        inward = (vote < 0.0)[part]
    result = np.where((mixed ^ inward)[:, None], triangles[:, ::-1], triangles)
    return Orientation(result, int(mixed.sum()), int(inward.sum()))


def _parity(
    pairs: NDArray[np.int64], same: NDArray[np.bool_], part: NDArray[np.int64]
) -> NDArray[np.bool_]:
    """Which triangles (c,) to turn so that each agrees with the first one of its part."""
    count = len(part)
    _, once = np.unique(np.sort(pairs, axis=1), axis=0, return_index=True)
    _, seeds = np.unique(part, return_index=True)
    # one more node, the root, holds a seed of every part: one search serves them all
    links = np.concatenate([pairs[once], np.stack([np.full(len(seeds), count), seeds], axis=1)])
    turn = np.concatenate([same[once], np.zeros(len(seeds), dtype=bool)])
    weight = np.where(turn, _TURN, _KEEP)
    graph = coo_matrix((weight, links.T), shape=(count + 1, count + 1)).tocsr()
    graph = graph + graph.T
    order, before = breadth_first_order(graph, count, directed=False)
    follow = order[1:]
    turns = np.asarray(graph[before[follow], follow]).ravel() == _TURN
    turned = np.zeros(count + 1, dtype=bool)
    for cell, parent, turns_here in zip(follow, before[follow], turns, strict=True):
        turned[cell] = turned[parent] ^ turns_here
    return turned[:count]


def _away(places: NDArray[np.float64], axis: NDArray[np.float64]) -> NDArray[np.float64]:
    """Unit vectors (c, 3) from the nearest point of the axis pieces to each place."""
    best = np.full(len(places), np.inf)
    away = np.zeros_like(places)
    for start, end in axis:
        along = end - start
        share = np.clip((places - start) @ along / (along @ along), 0.0, 1.0)
        offset = places - (start + share[:, None] * along)
        distance = np.linalg.norm(offset, axis=1)
        nearer = distance < best
        away[nearer] = offset[nearer] / np.maximum(distance[nearer], 1e-300)[:, None]
        best = np.minimum(best, distance)
    return away

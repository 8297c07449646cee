# SPDX-License-Identifier: MIT
"""How the cells of a mesh hang together: edges, parts, boundary loops, T-joints."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components


@dataclass(frozen=True, eq=False)
class Edges:
    """The edges of a triangulation.

    Attributes:
        ends: (e, 2) node numbers, the lower first.
        uses: (e,) how many triangles share the edge: 1 at the border, 3 or more at a T-joint.
        of_triangle: (c, 3) edge numbers; edge k runs from corner k to corner k + 1.
        forward: (c, 3) whether the triangle runs the edge from the lower to the higher node.
    """

    ends: NDArray[np.int64]
    uses: NDArray[np.int64]
    of_triangle: NDArray[np.int64]
    forward: NDArray[np.bool_]

    @property
    def border(self) -> NDArray[np.int64]:
        """Numbers (b,) of the edges of one triangle only."""
        return np.flatnonzero(self.uses == 1)

    @property
    def tee(self) -> NDArray[np.int64]:
        """Numbers (t,) of the edges where three or more triangles meet."""
        return np.flatnonzero(self.uses > 2)

    def two_sided_pairs(self) -> tuple[NDArray[np.int64], NDArray[np.bool_]]:
        """Triangles (p, 2) that share an edge of exactly two, and whether they run it alike."""
        edge = self.of_triangle.ravel()
        order = np.argsort(edge, kind="stable")
        pair = order[self.uses[edge[order]] == 2].reshape(-1, 2)
        forward = self.forward.ravel()
        return pair // 3, forward[pair[:, 0]] == forward[pair[:, 1]]


def edges_of(triangles: NDArray[np.int64]) -> Edges:
    """The edges of triangles (c, 3).

    Example:
        >>> edges = edges_of(np.array([[0, 1, 2], [1, 3, 2]]))
        >>> edges.ends.tolist(), edges.uses.tolist()
        ([[0, 1], [0, 2], [1, 2], [1, 3], [2, 3]], [1, 1, 2, 1, 1])
    """
    ends = triangles[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2).astype(np.int64)
    low, high = ends.min(axis=1), ends.max(axis=1)
    span = int(high.max()) + 1 if len(high) else 1
    key, edge, uses = np.unique(low * span + high, return_inverse=True, return_counts=True)
    return Edges(
        np.stack([key // span, key % span], axis=1),
        uses.astype(np.int64),
        edge.reshape(-1, 3),
        (ends[:, 0] < ends[:, 1]).reshape(-1, 3),
    )


def part_of_nodes(
    count: int,
    cells: Mapping[str, NDArray[np.int64]],
    ties: Iterable[NDArray[np.int64]] = (),
) -> NDArray[np.int64]:
    """Part number (count,) of each node; cells and ties join the nodes they name.

    Args:
        count: number of nodes.
        cells: cell kind to (c, k) node numbers.
        ties: node numbers (m,) that are held together without a common cell.

    Returns:
        Part numbers from 0 in the order of their first node. A node in no cell is its own part.

    Example:
        >>> two = {"triangle": np.array([[0, 1, 2], [3, 4, 5]])}
        >>> part_of_nodes(6, two).tolist()
        [0, 0, 0, 1, 1, 1]
        >>> part_of_nodes(6, two, ties=[np.array([2, 3])]).tolist()
        [0, 0, 0, 0, 0, 0]
    """
    joined = [table[:, [0, k]] for table in cells.values() for k in range(1, table.shape[1])]
    for tie in ties:
        tie = np.asarray(tie)
        joined.append(np.stack([np.full(len(tie), tie[0]), tie], axis=1))
    pairs = np.concatenate(joined) if joined else np.empty((0, 2), dtype=np.int64)
    graph = coo_matrix((np.ones(len(pairs)), (pairs[:, 0], pairs[:, 1])), shape=(count, count))
    return connected_components(graph, directed=False)[1].astype(np.int64)


def boundary_loops(triangles: NDArray[np.int64]) -> tuple[NDArray[np.int64], ...]:
    """The free borders as node chains, each (m,) in order; a closed loop names no node twice.

    Borders that meet in one node (two rims touching) are followed as separate chains.

    Example:
        >>> [loop.tolist() for loop in boundary_loops(np.array([[0, 1, 2], [1, 3, 2]]))]
        [[0, 1, 3, 2]]
    """
    edges = edges_of(triangles)
    open_edges = {tuple(pair) for pair in edges.ends[edges.border].tolist()}
    neighbours: dict[int, list[int]] = {}
    for a, b in sorted(open_edges):
        neighbours.setdefault(a, []).append(b)
        neighbours.setdefault(b, []).append(a)
    loops = []
    while open_edges:
        start, ahead = min(open_edges)
        loop = [start]
        while ahead is not None:
            open_edges.discard((min(loop[-1], ahead), max(loop[-1], ahead)))
            loop.append(ahead)
            here = loop[-1]
            ahead = next((node for node in neighbours[here]
                          if (min(here, node), max(here, node)) in open_edges), None)
        loops.append(np.array(loop[:-1] if loop[0] == loop[-1] else loop))
    return tuple(loops)

# SPDX-License-Identifier: MIT
"""Uniform subdivision: each triangle into four, each line into two, the shape kept round.

New nodes lie in the middle of the old edges. On flat facets that would be the wrong shape: finer
cells would feel the fold between two facets of a round wall, which the coarse ones pass over. So
where the surface is smooth a new node is lifted onto the curve that leaves both ends of its edge at
right angles to their normals; along a free border it lies on the curve through the four nodes next
to it. Folds, T-joints and sharp corners of a border stay as they are. The old nodes never move.
Between them the mesh says nothing of the shape: this is the plainest guess.
"""

import math

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_matrix

from fea.errors import UnsupportedError
from fea.mesh.mesh import Mesh, triangle_geometry
from fea.mesh.topology import Edges, boundary_loops, edges_of

Array = NDArray[np.float64]
Cells = NDArray[np.int64]

FOLD = math.radians(30.0)
"""Angle between two triangles from which their edge is a fold of the part. Source: assumed."""

CORNER = math.radians(40.0)
"""Turn of a border from which a node of it is a sharp corner. Source: assumed."""


def subdivided(mesh: Mesh) -> Mesh:
    """A mesh of half the cell size that keeps places, zones and the way cells are numbered.

    Args:
        mesh: of triangles and lines.

    Returns:
        The old nodes with the old numbers, then the new ones. Triangle c becomes the triangles 4c
        to 4c + 3, line c the lines 2c and 2c + 1; zones hold the parts of their cells in that
        order. A place gains the new nodes whose edges it holds with both ends, so that a patch
        stays one.

    Raises:
        UnsupportedError: the mesh has cells of another kind.

    Source: vlachos-2001 (the lift by the normals at both ends), dyn-1987 (four points of a border).

    Example:
        >>> flat = Mesh([[0, 0, 0], [2, 0, 0], [0, 2, 0]], {"triangle": [[0, 1, 2]]},
        ...             places={"side": [0, 1], "tip": [2]})
        >>> fine = subdivided(flat)
        >>> fine.points[3:].tolist()
        [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [1.0, 1.0, 0.0]]
        >>> fine.place("side").tolist(), fine.place("tip").tolist()
        ([0, 1, 3], [2])
    """
    if others := set(mesh.cells) - {"triangle", "line"}:
        raise UnsupportedError(f"cells of the kind {', '.join(sorted(others))} cannot be "
                               "subdivided; only triangles and lines can")
    triangles = mesh.cells.get("triangle", np.empty((0, 3), dtype=np.int64))
    lines = mesh.cells.get("line", np.empty((0, 2), dtype=np.int64))
    count, edges = len(mesh.points), edges_of(triangles)
    middle = mesh.points[edges.ends].mean(axis=1) + _lift(mesh.points, triangles, edges)
    on_edge = {(a, b): count + k for k, (a, b) in enumerate(edges.ends.tolist())}
    sorted_lines = [(min(a, b), max(a, b)) for a, b in lines.tolist()]
    alone = [ends for ends in dict.fromkeys(sorted_lines) if ends not in on_edge]
    on_edge |= {ends: count + len(edges.ends) + k for k, ends in enumerate(alone)}
    ends = np.array([*on_edge], dtype=np.int64).reshape(-1, 2)
    points = [mesh.points, middle, mesh.points[ends[len(edges.ends):]].mean(axis=1)]
    cells = {"triangle": _quartered(triangles, count + edges.of_triangle)} if len(triangles) else {}
    if len(lines):
        cells["line"] = _halved(lines, np.array([on_edge[pair] for pair in sorted_lines]))
    return Mesh(
        np.concatenate(points),
        cells,
        places={name: _with_middles(nodes, ends, count) for name, nodes in mesh.places.items()},
        zones={
            name: (kind, parts_of(numbers, 4 if kind == "triangle" else 2))
            for name, (kind, numbers) in mesh.zones.items()
        },
    )


def parts_of(numbers: Cells, parts: int) -> Cells:
    """Numbers of the parts of cells (m,), those of one cell together, in the order of the cells.

    Example:
        >>> parts_of(np.array([2, 0]), 2).tolist()
        [4, 5, 0, 1]
    """
    return (parts * numbers[:, None] + np.arange(parts)).ravel()


def _quartered(triangles: Cells, middles: Cells) -> Cells:
    (a, b, c), (ab, bc, ca) = triangles.T, middles.T
    rows = [(a, ab, ca), (ab, b, bc), (ca, bc, c), (ab, bc, ca)]
    return np.stack([np.stack(row, axis=1) for row in rows], axis=1).reshape(-1, 3)


def _halved(lines: Cells, middles: Cells) -> Cells:
    a, b = lines.T
    rows = [np.stack([a, middles], axis=1), np.stack([middles, b], axis=1)]
    return np.stack(rows, axis=1).reshape(-1, 2)


def _with_middles(nodes: Cells, ends: Cells, count: int) -> Cells:
    held = np.isin(ends, nodes).all(axis=1)
    return np.concatenate([nodes, count + np.flatnonzero(held)])


def _lift(points: Array, triangles: Cells, edges: Edges) -> Array:
    """By how much (e, 3) the middle of each edge lies off the straight line."""
    lift = np.zeros((len(edges.ends), 3))
    if not len(triangles):
        return lift
    pairs, _ = edges.two_sided_pairs()
    normals = triangle_geometry(points, triangles)[1]
    level = np.einsum("pk,pk->p", normals[pairs[:, 0]], normals[pairs[:, 1]]) > math.cos(FOLD)
    smooth = np.zeros(len(edges.ends), dtype=bool)
    smooth[_shared_edges(edges)[level]] = True
    at_ends = _normals_at_ends(triangles, normals, edges)
    along = points[edges.ends[:, 1]] - points[edges.ends[:, 0]]
    slope = np.einsum("ek,eak->ea", along, at_ends) * [1.0, -1.0]
    at_rim = np.isin(edges.ends, edges.ends[~smooth])
    share = np.where(at_rim, 0.0, 0.25)  # the normal at a rim is known from one side only
    share[at_rim[:, 0] == at_rim[:, 1]] = 0.125
    curved = smooth | (edges.uses == 1)
    lift[curved] = -np.einsum("ea,eak->ek", share * slope, at_ends)[curved]
    for loop in boundary_loops(triangles):
        _lift_border(lift, points, loop, edges)
    return lift


def _shared_edges(edges: Edges) -> Cells:
    """Edge numbers in the order of `Edges.two_sided_pairs`."""
    edge = edges.of_triangle.ravel()
    order = np.argsort(edge, kind="stable")
    return edge[order[edges.uses[edge[order]] == 2]].reshape(-1, 2)[:, 0]


def _normals_at_ends(triangles: Cells, normals: Array, edges: Edges) -> Array:
    """Unit normal (e, 2, 3) of the smooth surface beside each edge, at both of its ends.

    At each corner of a triangle the normals of the triangles round that node are summed, but for
    those beyond a fold; beside an edge its triangles are taken together.
    """
    corner, node = np.arange(triangles.size), triangles.ravel()
    at_node = coo_matrix((np.ones(len(node)), (corner, node))).tocsr()
    pair = (at_node @ at_node.T).tocoo()
    one, other = pair.row // 3, pair.col // 3
    near = np.einsum("pk,pk->p", normals[one], normals[other]) > math.cos(FOLD)
    summed = np.zeros((triangles.size, 3))
    np.add.at(summed, pair.row[near], normals[other[near]])
    at_ends = np.zeros((len(edges.ends), 2, 3))
    for k in range(3):
        edge, first = edges.of_triangle[:, k], np.where(edges.forward[:, k], 0, 1)
        np.add.at(at_ends, (edge, first), summed[k::3])
        np.add.at(at_ends, (edge, 1 - first), summed[(k + 1) % 3 :: 3])
    length = np.linalg.norm(at_ends, axis=2, keepdims=True)
    return at_ends / np.where(length > 0.0, length, 1.0)


def _lift_border(lift: Array, points: Array, loop: Cells, edges: Edges) -> None:
    """Put the middles of a closed border on the curve through the nodes next to them.

    That is a cubic through four nodes, or beside a sharp corner a parabola through three; an edge
    between two corners keeps what it has.
    """
    here = points[loop]
    before, after, beyond = (np.roll(here, k, axis=0) for k in (1, -1, -2))
    ahead = after - here
    ahead /= np.linalg.norm(ahead, axis=1, keepdims=True)
    turn = np.arccos(np.clip(np.einsum("bk,bk->b", np.roll(ahead, 1, axis=0), ahead), -1.0, 1.0))
    start, end = turn < CORNER, np.roll(turn < CORNER, -1)
    ends = np.sort(np.stack([loop, np.roll(loop, -1)], axis=1), axis=1)
    span = edges.ends.max() + 1
    number = np.searchsorted(edges.ends @ [span, 1], ends @ [span, 1])
    cubic, to_end, to_start = start & end, end & ~start, start & ~end
    lift[number[cubic]] = ((here + after - before - beyond) / 16.0)[cubic]
    lift[number[to_end]] = ((2.0 * after - here - beyond) / 8.0)[to_end]
    lift[number[to_start]] = ((2.0 * here - after - before) / 8.0)[to_start]

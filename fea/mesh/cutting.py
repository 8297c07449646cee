# SPDX-License-Identifier: MIT
"""Triangles cut along a line, such as the edge of a strip, so that cells end on it, or made finer.

The line is where a value given at the nodes passes a level. Each edge that it crosses gets a node
there, on the flat facets of the mesh: the shape of the part stays as it is. A node near to the line
is taken to lie on it, so that no slivers arise. Finer cells lie on the same facets.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.errors import UnsupportedError
from fea.mesh.mesh import Mesh
from fea.mesh.topology import Edges, edges_of

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]
Mask = NDArray[np.bool_]

NEAR = 0.2
"""Share of an edge from its end within which the line is taken to pass through that end. Source:
assumed; the line is then off by as much at most."""


@dataclass(frozen=True, eq=False)
class Cut:
    """A mesh whose cells end on a line.

    Attributes:
        mesh: the old nodes with the old numbers, then the new ones. Zones hold the parts of their
            cells in the old order; places gain the new nodes whose edges they hold with both ends.
        values: (n, q) at all nodes, straight in between.
        parts: kind to (c,) how many cells each old one has become.
    """

    mesh: Mesh
    values: Array
    parts: Mapping[str, IntArray]


def cut(mesh: Mesh, values: Array, column: int, level: float, cells: Mask | None = None) -> Cut:
    """Cut triangles, and the lines along their edges, where a value passes a level.

    Args:
        mesh: of triangles and lines.
        values: (n, q) at the nodes.
        column: of the value that is cut by;  level: where.
        cells: (c,) triangles to cut; their neighbours are split only to fit. None: all.

    Raises:
        UnsupportedError: the mesh has cells of another kind.

    Example:
        >>> flat = Mesh([[0, 0, 0], [2, 0, 0], [0, 2, 0]], {"triangle": [[0, 1, 2]]})
        >>> cut(flat, flat.points, 0, 1.0).mesh.points[3:].tolist()
        [[1.0, 0.0, 0.0], [1.0, 1.0, 0.0]]
    """
    edges = edges_of(_cuttable(mesh))
    wanted = np.zeros(len(edges.ends), dtype=bool)
    wanted[edges.of_triangle if cells is None else edges.of_triangle[cells]] = True
    values = np.array(values, dtype=float)
    on_edge, share = _crossings(values, column, level, edges.ends, wanted)
    ends = edges.ends[on_edge]

    def between(rows: Array) -> Array:
        first, second = rows[ends].swapaxes(0, 1)
        return (1.0 - share[:, None]) * first + share[:, None] * second

    added = between(values)
    added[:, column] = level
    made, parts = _divided(mesh, edges, on_edge, between(mesh.points))
    return Cut(made, np.concatenate([values, added]), parts)


def refined(mesh: Mesh, size: Callable[[Array], Array]) -> tuple[Mesh, IntArray]:
    """Triangles whose edges are halved, with lines along them, until none is too long.

    Args:
        mesh: of triangles and lines.
        size: of points (k, 3) the longest edge (k,) that may have its middle there.

    Returns:
        The mesh, as of `Cut`, and (c,) how many cells each triangle has become.

    Raises:
        UnsupportedError: the mesh has cells of another kind.

    Example:
        >>> flat = Mesh([[0, 0, 0], [2, 0, 0], [0, 2, 0]], {"triangle": [[0, 1, 2]]})
        >>> fine, parts = refined(flat, lambda points: np.where(points[:, 1] > 0.0, 9.0, 1.5))
        >>> fine.points[3:].tolist(), parts.tolist()
        ([[1.0, 0.0, 0.0]], [2])
    """
    before = np.arange(len(_cuttable(mesh)))
    while True:
        edges = edges_of(mesh.table("triangle"))
        ends = mesh.points[edges.ends]
        middle = ends.mean(axis=1)
        length = np.linalg.norm(ends[:, 1] - ends[:, 0], axis=1)
        long = np.flatnonzero(length > size(middle))
        if not len(long):
            return mesh, np.bincount(before)
        mesh, parts = _divided(mesh, edges, long, middle[long])
        before = np.repeat(before, parts["triangle"])


def _cuttable(mesh: Mesh) -> IntArray:
    """The triangles; raises `UnsupportedError` where there are cells that cannot be cut."""
    if others := set(mesh.cells) - {"triangle", "line"}:
        raise UnsupportedError(f"cells of the kind {', '.join(sorted(others))} cannot be cut; only "
                               "triangles and lines can")
    return mesh.table("triangle")


def _divided(
    mesh: Mesh, edges: Edges, on_edge: IntArray, added: Array
) -> tuple[Mesh, dict[str, IntArray]]:
    """The mesh with points (k, 3) added on edges (k,), and how many cells each has become."""
    triangles, count, ends = mesh.table("triangle"), len(mesh.points), edges.ends[on_edge]
    points = np.concatenate([mesh.points, added])
    middle = np.full(len(edges.ends), -1)
    middle[on_edge] = count + np.arange(len(on_edge))
    tables, parts = {}, {}
    if len(triangles):
        tables["triangle"], parts["triangle"] = _split(points, triangles, middle[edges.of_triangle])
    if "line" in mesh.cells:
        tables["line"], parts["line"] = _split_lines(mesh.cells["line"], ends, count)
    return _named(mesh, points, tables, parts, ends), parts


def parts_of(numbers: IntArray, parts: IntArray) -> IntArray:
    """Numbers of the parts of some cells (m,), those of one together, in the order of the cells.

    Args:
        numbers: (m,) of old cells;  parts: (c,) how many each old cell has become.

    Example:
        >>> parts_of(np.array([2, 0]), np.array([1, 3, 2])).tolist()
        [4, 5, 0]
    """
    starts = np.concatenate([[0], np.cumsum(parts)])[numbers]
    each = parts[numbers]
    within = np.arange(each.sum()) - np.repeat(np.cumsum(each) - each, each)
    return np.asarray(np.repeat(starts, each) + within)


def _named(
    mesh: Mesh,
    points: Array,
    cells: Mapping[str, IntArray],
    parts: Mapping[str, IntArray],
    ends: IntArray,
) -> Mesh:
    """The mesh of the parts, with the places and zones of the old one."""
    new = len(mesh.points) + np.arange(len(ends))
    places = {name: np.concatenate([nodes, new[np.isin(ends, nodes).all(axis=1)]])
              for name, nodes in mesh.places.items()}
    zones = {name: (kind, parts_of(numbers, parts[kind]))
             for name, (kind, numbers) in mesh.zones.items()}
    return Mesh(points, cells, places, zones)


def _crossings(
    values: Array, column: int, level: float, ends: IntArray, wanted: Mask
) -> tuple[IntArray, Array]:
    """Edges (k,) that the line crosses, and where (k,); nodes near to it are put on it."""
    for near in (True, False):
        a, b = (values[:, column] - level)[ends].T
        crossed = np.flatnonzero(wanted & (a * b < 0.0))
        share = a[crossed] / (a[crossed] - b[crossed])
        if near:
            values[ends[crossed[share < NEAR], 0], column] = level
            values[ends[crossed[share > 1.0 - NEAR], 1], column] = level
    return crossed, share


def _split(points: Array, triangles: IntArray, middles: IntArray) -> tuple[IntArray, IntArray]:
    """Triangles split at the nodes (c, 3) on their edges, -1 where there is none."""
    cut_edges = middles >= 0
    number = cut_edges.sum(axis=1)
    # turned so that the edges that are cut come first, from corner 0 on
    turn = np.where(number == 1, cut_edges.argmax(axis=1), 0)
    turn = np.where(number == 2, ((~cut_edges).argmax(axis=1) + 1) % 3, turn)
    order = (np.arange(3) + turn[:, None]) % 3
    (a, b, c), (ab, bc, ca) = (np.take_along_axis(table, order, axis=1).T
                               for table in (triangles, middles))
    short = (np.linalg.norm(points[a] - points[bc], axis=1)
             <= np.linalg.norm(points[ab] - points[c], axis=1))
    rows = [
        (number == 0, (a, b, c)),
        (number == 1, (a, ab, c)), (number == 1, (ab, b, c)),
        (number == 2, (ab, b, bc)),
        ((number == 2) & short, (a, ab, bc)), ((number == 2) & short, (a, bc, c)),
        ((number == 2) & ~short, (a, ab, c)), ((number == 2) & ~short, (ab, bc, c)),
        (number == 3, (a, ab, ca)), (number == 3, (ab, b, bc)),
        (number == 3, (ca, bc, c)), (number == 3, (ab, bc, ca)),
    ]  # fmt: skip
    parent = np.concatenate([np.flatnonzero(chosen) for chosen, _ in rows])
    made = np.concatenate([np.stack(nodes, axis=1)[chosen] for chosen, nodes in rows])
    return made[np.argsort(parent, kind="stable")], number + 1


def _split_lines(lines: IntArray, ends: IntArray, count: int) -> tuple[IntArray, IntArray]:
    """Lines split at the nodes, numbered from a count on, between ends (k, 2), the lower first."""
    known = {pair: count + k for k, pair in enumerate(map(tuple, ends.tolist()))}
    made, parts = [], []
    for a, b in lines.tolist():
        middle = known.get((min(a, b), max(a, b)))
        pieces = [(a, b)] if middle is None else [(a, middle), (middle, b)]
        made += pieces
        parts.append(len(pieces))
    return np.array(made, dtype=np.int64), np.array(parts)

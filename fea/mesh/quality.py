# SPDX-License-Identifier: MIT
"""Is a surface mesh usable, and how good is it: faults with their place, and measures of shape."""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.errors import Problem
from fea.mesh.mesh import Mesh, triangle_geometry
from fea.mesh.topology import boundary_loops, edges_of, part_of_nodes

# A triangle thinner than this share of its longest edge has no usable normal.
_FLAT = 1e-6


@dataclass(frozen=True)
class SurfaceQuality:
    """Measures of a triangulated surface, for the report.

    Attributes:
        triangles, lines, nodes: counts.
        area: mm² in all (or the mesh's unit squared).
        smallest_angle_deg: the smallest corner angle of all triangles.
        worst_aspect: the largest aspect ratio; an equilateral triangle has 1.
        median_edge, longest_edge: mm.
        parts: pieces that hang together through cells and ties.
        border_loops: free borders.
        tee_edges: edges where three or more triangles meet.
        worst_place: (3,) centre of the triangle with the worst aspect ratio.
    """

    triangles: int
    lines: int
    nodes: int
    area: float
    smallest_angle_deg: float
    worst_aspect: float
    median_edge: float
    longest_edge: float
    parts: int
    border_loops: int
    tee_edges: int
    worst_place: tuple[float, float, float]


def surface_quality(mesh: Mesh, ties: Iterable[NDArray[np.int64]] = ()) -> SurfaceQuality:
    """Measure the triangles of a mesh; ``ties`` name nodes (m,) held together without a cell.

    Example:
        >>> mesh = Mesh([[0, 0, 0], [3, 0, 0], [0, 4, 0]], {"triangle": [[0, 1, 2]]})
        >>> quality = surface_quality(mesh)
        >>> quality.area, round(quality.smallest_angle_deg, 2), quality.longest_edge
        (6.0, 36.87, 5.0)
    """
    triangles = mesh.cells["triangle"]
    areas, _ = triangle_geometry(mesh.points, triangles)
    aspects = aspect_ratios(mesh.points, triangles)
    edges = edges_of(triangles)
    lengths = np.linalg.norm(np.diff(mesh.points[edges.ends], axis=1)[:, 0], axis=1)
    used = np.unique(np.concatenate([cells.ravel() for cells in mesh.cells.values()]))
    part = part_of_nodes(len(mesh.points), mesh.cells, ties)
    worst = mesh.points[triangles[np.argmax(aspects)]].mean(axis=0)
    return SurfaceQuality(
        triangles=len(triangles),
        lines=len(mesh.cells.get("line", ())),
        nodes=len(used),
        area=float(areas.sum()),
        smallest_angle_deg=float(np.degrees(smallest_angles(mesh.points, triangles).min())),
        worst_aspect=float(aspects.max()),
        median_edge=float(np.median(lengths)),
        longest_edge=float(lengths.max()),
        parts=len(np.unique(part[used])),
        border_loops=len(boundary_loops(triangles)),
        tee_edges=len(edges.tee),
        worst_place=(float(worst[0]), float(worst[1]), float(worst[2])),
    )


def smallest_angles(
    points: NDArray[np.float64], triangles: NDArray[np.int64]
) -> NDArray[np.float64]:
    """The smallest corner angle (c,) of each triangle in rad; zero where the area is zero."""
    corners = points[triangles]
    ahead = np.roll(corners, -1, axis=1) - corners
    behind = np.roll(corners, 1, axis=1) - corners
    sine = np.linalg.norm(np.cross(ahead, behind), axis=2)
    return np.arctan2(sine, np.einsum("cki,cki->ck", ahead, behind)).min(axis=1)


def aspect_ratios(
    points: NDArray[np.float64], triangles: NDArray[np.int64]
) -> NDArray[np.float64]:
    """Aspect ratio (c,): longest edge times perimeter over 4·√3 times the area.

    Equal to 1 for an equilateral triangle, infinite for zero area.
    Source: stimpson-2007, section on triangle aspect ratio (remembered, not read again).

    Example:
        >>> points = np.array([[0, 0, 0], [1, 0, 0], [0.5, 3 ** 0.5 / 2, 0]])
        >>> round(float(aspect_ratios(points, np.array([[0, 1, 2]]))[0]), 12)
        1.0
    """
    corners = points[triangles]
    lengths = np.linalg.norm(np.roll(corners, -1, axis=1) - corners, axis=2)
    areas, _ = triangle_geometry(points, triangles)
    with np.errstate(divide="ignore"):
        return lengths.max(axis=1) * lengths.sum(axis=1) / (4.0 * np.sqrt(3.0) * areas)


def flat_triangles(
    points: NDArray[np.float64], triangles: NDArray[np.int64]
) -> NDArray[np.int64]:
    """Numbers (m,) of triangles without area: corners repeated or in one line."""
    corners = points[triangles]
    longest = np.linalg.norm(np.roll(corners, -1, axis=1) - corners, axis=2).max(axis=1)
    areas, _ = triangle_geometry(points, triangles)
    return np.flatnonzero(2.0 * areas <= _FLAT * longest**2)


def repeated_cells(cells: NDArray[np.int64]) -> NDArray[np.int64]:
    """Numbers (m,) of cells that use the same nodes as an earlier one, in any order.

    Example:
        >>> repeated_cells(np.array([[0, 1, 2], [3, 4, 5], [2, 1, 0]])).tolist()
        [2]
    """
    _, first = np.unique(np.sort(cells, axis=1), axis=0, return_index=True)
    return np.setdiff1d(np.arange(len(cells)), first)


def surface_faults(
    points: NDArray[np.float64],
    triangles: NDArray[np.int64],
    lines: NDArray[np.int64],
) -> list[Problem]:
    """What makes the cells unusable, with the place of the first of each kind.

    Args:
        points: (n, 3) coordinates, in the unit the user knows them by.
        triangles: (c, 3); lines: (b, 2) node numbers.
    """
    lengths = np.linalg.norm(np.diff(points[lines], axis=1)[:, 0], axis=1)
    found = (
        (triangles, flat_triangles(points, triangles), "triangles have no area",
         "collapse or remove them in the mesh program"),
        (triangles, repeated_cells(triangles), "triangles repeat another triangle",
         "remove one of each pair: two walls in one place would count twice"),
        (lines, np.flatnonzero(lengths == 0.0), "line cells have no length", "remove them"),
        (lines, repeated_cells(lines), "line cells repeat another line cell",
         "remove one of each pair"),
    )
    return [
        Problem("mesh", f"{len(bad)} {what}, the first at {place(points[cells[bad[0]]])}; {cure}")
        for cells, bad, what, cure in found
        if len(bad)
    ]


def loose_parts(
    points: NDArray[np.float64],
    cells: dict[str, NDArray[np.int64]],
    ties: Iterable[NDArray[np.int64]] = (),
) -> list[Problem]:
    """One problem when the cells, joined by ties, still fall apart into several pieces."""
    part = part_of_nodes(len(points), cells, ties)
    used = np.unique(np.concatenate([table.ravel() for table in cells.values()]))
    numbers, sizes = np.unique(part[used], return_counts=True)
    if len(numbers) < 2:
        return []
    order = np.argsort(-sizes, kind="stable")
    pieces = "; ".join(
        f"{sizes[k]} nodes around {place(points[used[part[used] == numbers[k]]])}"
        for k in order[:4]
    )
    more = f"; and {len(order) - 4} more" if len(order) > 4 else ""
    return [Problem("mesh", (
        f"falls apart into {len(numbers)} loose parts ({pieces}{more}); let neighbouring parts "
        "share their nodes (merge_mm joins nodes that nearly coincide), join a bar by a "
        "fastening, or remove the part"))]


def place(points: NDArray[np.float64]) -> str:
    """The centre of points (k, 3), written for people.

    Example:
        >>> place(np.array([[0, 0, 0], [2.0, 0, 1]]))
        '(1, 0, 0.5)'
    """
    x, y, z = np.asarray(points, dtype=float).reshape(-1, 3).mean(axis=0)
    return f"({x:.4g}, {y:.4g}, {z:.4g})"

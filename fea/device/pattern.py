# SPDX-License-Identifier: MIT
"""Fills a flat pattern with triangles that are well shaped on the surface it forms.

The outline's points stay where they are, so trim lines and shared midlines are followed exactly.
Inner points start on a thinned triangular lattice and relax as a truss that only pushes, with
lengths measured on the surface; connections are renewed by Delaunay triangulation.

Source: persson-strang-2004 (the truss), lawson-1977 (the swaps of the last step).
"""

import itertools
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import map_coordinates
from scipy.spatial import Delaunay, cKDTree

from fea.errors import DeviceError

Points = NDArray[np.float64]
Cells = NDArray[np.int64]
Field = Callable[[Points], Points]

_GOLDEN = 0.6180339887498949
_STRETCH = 1.2  # a truss bar wants to be this much longer than its size: it keeps on pushing
_STEP = 0.2
_TABLE_STEP = 4.0  # mm of the pattern between places where surface and size are tabled
_ROUNDS = 30
_RENEW = 0.25  # of the element size: how far points move before connections are renewed
_CLOSE = 0.5  # edges: a stop nearer to another one, or to an end, is passed over
_FARTHEST = 0.4  # of the element size: the longest move in one round


@dataclass(frozen=True)
class _Truss:
    """Bars from start (e,) to end (e,), their wanted lengths on the pattern, size at nodes (n,)."""

    start: Cells
    end: Cells
    wanted: Points
    size: Points


def fill(
    outline: Points, size: Field, form: Field, *, lines: Points | None = None
) -> tuple[Points, Cells]:
    """Triangulate the inside of a closed outline.

    Args:
        outline: (m, 2) points of the outline, counter-clockwise, not repeated at the end.
        size: (n, 2) pattern points to (n,) edge lengths wanted, mm on the surface.
        form: (n, 2) pattern points to (n, 3) points of the surface, mm.
        lines: (k, 2) points to keep where they lie inside with room, such as borders of zones.

    Returns:
        Points (n, 2), the first m the outline, and counter-clockwise triangles (c, 3).

    Raises:
        DeviceError: the outline is too coarse or crosses itself, so that an edge of it is lost.
    """
    kept = _with_room(lines, outline, size, form) if lines is not None else outline[:0]
    held = np.concatenate([outline, kept])
    near, near_size = _tabled(form, outline), _tabled(size, outline)
    points = np.concatenate([held, _seeds(outline, held, near_size, near)])
    triangles, moved = _connect(points, outline), np.full(len(points), np.inf)
    for _ in range(_ROUNDS):
        if moved.max() > _RENEW:
            points = _kept_inside(points, len(held), outline)
            triangles, moved = _connect(points, outline), np.zeros(len(points))
            truss = _truss(points, triangles, near_size, near)
        shift = _push(points, truss)
        shift[: len(held)] = 0.0
        points = points + shift
        moved += np.linalg.norm(shift, axis=1) / truss.size
    points = _kept_inside(points, len(held), outline)
    triangles = _swapped(points, form(points), _connect(points, outline))
    _check_outline(points, triangles, len(outline))
    return points, triangles


def divide(line: Points, size: Field, form: Field, stops: Points | None = None) -> Points:
    """Where to divide a dense polyline (m, 2) into edges as long on the surface as `size` asks.

    Args:
        line, size, form: as for `fill`.
        stops: (s,) broken indices along the line where an edge must end.

    Returns:
        Positions (k,) along the line as broken indices, from 0 to m - 1.
    """
    step = np.linalg.norm(np.diff(form(line), axis=0), axis=1)
    run = np.concatenate([[0.0], np.cumsum(step / size(0.5 * (line[1:] + line[:-1])))])
    ends = [0.0, run[-1]]
    for stop in np.interp(stops if stops is not None else [], np.arange(len(line)), run):
        if min(abs(stop - end) for end in ends) > _CLOSE:
            ends.append(float(stop))
    at = [np.linspace(low, high, max(2, round(high - low) + 1))
          for low, high in itertools.pairwise(sorted(ends))]
    return np.interp(np.unique(np.concatenate(at)), run, np.arange(len(line)))


def inside(points: Points, outline: Points) -> NDArray[np.bool_]:
    """Whether points (n, 2) lie within a closed outline (m, 2), by counting crossings."""
    start, end = outline, np.roll(outline, -1, axis=0)
    rise = end[:, 1] - start[:, 1]
    slope = (end[:, 0] - start[:, 0]) / np.where(rise == 0.0, 1.0, rise)
    y = points[:, 1:]
    point, edge = np.nonzero((start[:, 1] > y) != (end[:, 1] > y))
    at = start[edge, 0] + (points[point, 1] - start[edge, 1]) * slope[edge]
    return np.bincount(point[points[point, 0] < at], minlength=len(points)) % 2 == 1


def _tabled(field: Field, outline: Points) -> Field:
    """A field by linear interpolation between places of a lattice over the pattern.

    Good enough to spread points by; where they end up on the surface is computed exactly.
    """
    low = outline.min(axis=0) - _TABLE_STEP
    x, y = (
        np.arange(start, end + 2.0 * _TABLE_STEP, _TABLE_STEP)
        for start, end in zip(low, outline.max(axis=0), strict=True)
    )
    places = np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1)
    values = field(places.reshape(-1, 2)).reshape(len(x), len(y), -1)

    def interpolated(points: Points) -> Points:
        at = ((points - low) / _TABLE_STEP).T
        columns = [
            map_coordinates(values[..., k], at, order=1, mode="nearest")
            for k in range(values.shape[-1])
        ]
        return columns[0] if len(columns) == 1 else np.stack(columns, axis=-1)

    return interpolated


def _seeds(outline: Points, held: Points, size: Field, form: Field) -> Points:
    """Lattice points inside, away from points held, thinned as the sizes ask."""
    low, high = outline.min(axis=0), outline.max(axis=0)
    coarse = _lattice(low, high, float(np.ptp(outline, axis=0).max()) / 60.0)
    coarse = coarse[inside(coarse, outline)]
    step = 0.85 * float(min(size(coarse).min(), size(outline).min()))
    lattice = _lattice(low, high, step)
    lattice = lattice[inside(lattice, outline)]
    wanted = size(lattice)
    chance = _stretch(lattice, form) * (step / wanted) ** 2
    lattice = lattice[(np.arange(len(lattice)) * _GOLDEN) % 1.0 < chance]
    space, _ = cKDTree(form(held)).query(form(lattice))
    return lattice[space > 0.6 * size(lattice)]


def _lattice(low: Points, high: Points, step: float) -> Points:
    x, y = np.meshgrid(
        np.arange(low[0], high[0], step), np.arange(low[1], high[1], step * np.sqrt(0.75))
    )
    x[1::2] += 0.5 * step
    return np.stack([x.ravel(), y.ravel()], axis=1)


def _stretch(points: Points, form: Field) -> Points:
    """Area on the surface over area on the pattern."""
    step = 0.01
    here = form(points)
    right, up = ((form(points + step * axis) - here) / step for axis in np.eye(2))
    return np.linalg.norm(np.cross(right, up), axis=1)


def _connect(points: Points, outline: Points) -> Cells:
    triangles = Delaunay(points).simplices.astype(np.int64)
    rim = (triangles < len(outline)).all(axis=1)  # a triangle with an inner corner lies inside
    rim[rim] = ~inside(points[triangles[rim]].mean(axis=1), outline)
    triangles = triangles[~rim]
    turn = _turn(points, triangles)
    triangles = np.where(turn[:, None] < 0.0, triangles[:, ::-1], triangles)
    return triangles[np.abs(turn) > 1e-9]


def _turn(points: Points, triangles: Cells) -> Points:
    a, b, c = (points[triangles[..., k]] for k in range(3))
    one, two = b - a, c - a
    return one[..., 0] * two[..., 1] - one[..., 1] * two[..., 0]


def _truss(points: Points, triangles: Cells, size: Field, form: Field) -> _Truss:
    edges = np.sort(triangles[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2))
    start, end = np.divmod(np.unique(edges[:, 0] * len(points) + edges[:, 1]), len(points))
    surface = form(points)
    length = np.linalg.norm(surface[end] - surface[start], axis=1)
    stretch = length / np.linalg.norm(points[end] - points[start], axis=1)
    wanted = size(0.5 * (points[end] + points[start]))
    wanted *= _STRETCH * np.sqrt((length**2).sum() / (wanted**2).sum())
    return _Truss(start, end, wanted / stretch, size(points))


def _push(points: Points, truss: _Truss) -> Points:
    """Displacement (n, 2) of one relaxation step."""
    bar = points[truss.end] - points[truss.start]
    length = np.linalg.norm(bar, axis=1)
    force = _STEP * np.maximum(truss.wanted / length - 1.0, 0.0)[:, None] * bar
    shift = np.zeros_like(points)
    np.add.at(shift, truss.end, force)
    np.add.at(shift, truss.start, -force)
    distance = np.maximum(np.linalg.norm(shift, axis=1), 1e-12)
    return shift * np.minimum(1.0, _FARTHEST * truss.size / distance)[:, None]


def _kept_inside(points: Points, held: int, outline: Points) -> Points:
    return np.concatenate([points[:held], points[held:][inside(points[held:], outline)]])


def _with_room(lines: Points, outline: Points, size: Field, form: Field) -> Points:
    """The points of `lines` that lie inside, away from the outline and from each other."""
    lines = lines[inside(lines, outline)]
    held = [*form(outline)]
    kept = []
    for point, place, room in zip(lines, form(lines), 0.65 * size(lines), strict=True):
        if np.linalg.norm(np.array(held) - place, axis=1).min() > room:
            held.append(place)
            kept.append(point)
    return np.array(kept).reshape(-1, 2)


def _swapped(points: Points, surface: Points, triangles: Cells) -> Cells:
    """Swap diagonals until opposite angles, measured on the surface, sum up to at most π."""
    triangles = triangles.copy()
    for _ in range(20):
        pairs = _pairs(triangles)
        quads = np.stack(
            [  # diagonal a-b, corners c (left) and d (right)
                triangles[pairs[:, 0], pairs[:, 1]],
                triangles[pairs[:, 0], (pairs[:, 1] + 1) % 3],
                triangles[pairs[:, 0], (pairs[:, 1] + 2) % 3],
                triangles[pairs[:, 2], (pairs[:, 3] + 2) % 3],
            ],
            axis=1,
        )
        a, b, c, d = quads.T
        excess = _angle(surface, a, c, b) + _angle(surface, a, d, b) - np.pi
        new = np.stack([np.stack([c, d, b], 1), np.stack([d, c, a], 1)], axis=1)
        valid = (excess > 1e-6) & (_turn(points, new) > 1e-9).all(axis=1)
        order = np.argsort(-excess, kind="stable")
        used: set[int] = set()
        swaps = 0
        for row in order[valid[order]]:
            one, two = int(pairs[row, 0]), int(pairs[row, 2])
            if one in used or two in used:
                continue
            used |= {one, two}
            triangles[one], triangles[two] = new[row]
            swaps += 1
        if not swaps:
            break
    return triangles


def _pairs(triangles: Cells) -> Cells:
    """Triangles that share an edge: (p, 4) triangle, its local edge, the other one, its edge."""
    edges = np.sort(np.stack([triangles, np.roll(triangles, -1, axis=1)], axis=2), axis=2)
    flat = edges.reshape(-1, 2)
    order = np.lexsort(flat.T)
    same = (flat[order[:-1]] == flat[order[1:]]).all(axis=1)
    one, two = order[:-1][same], order[1:][same]
    return np.stack([one // 3, one % 3, two // 3, two % 3], axis=1)


def _angle(points: Points, start: Cells, corner: Cells, end: Cells) -> Points:
    one, two = points[start] - points[corner], points[end] - points[corner]
    return np.arctan2(np.linalg.norm(np.cross(one, two), axis=1), (one * two).sum(axis=1))


def _check_outline(points: Points, triangles: Cells, fixed: int) -> None:
    edges = triangles[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2)
    have = set(map(tuple, edges.tolist()))
    for node in range(fixed):
        if (node, (node + 1) % fixed) not in have:
            x, z = points[node]
            raise DeviceError(
                f"the trim line crosses itself or is too coarse near x = {x:.0f} mm, z = {z:.0f} "
                "mm of the flat pattern; use a smaller element size, or larger widths and radii"
            )

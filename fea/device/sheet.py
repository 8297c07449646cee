# SPDX-License-Identifier: MIT
"""Triangles on a flat rectangle, finer under washers: the pattern of a bent or moulded sheet."""

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import Delaunay

RING_NODES = 8
"""Nodes on the rim of a washer; with the centre they make the patch that the washer holds."""


def washer_nodes(centre: Sequence[float], radius: float) -> NDArray[np.float64]:
    """Centre and rim (1 + RING_NODES, 2) of a washer, just inside its radius, mm."""
    turn = 2.0 * math.pi * np.arange(RING_NODES) / RING_NODES
    rim = 0.99 * radius * np.stack([np.cos(turn), np.sin(turn)], axis=1)
    return np.vstack([[0.0, 0.0], rim]) + np.asarray(centre, float)


def washered(
    points: NDArray[np.float64],
    fixed: NDArray[np.bool_],
    centres: Sequence[Sequence[float]],
    radius: float,
    size: float,
) -> NDArray[np.float64]:
    """Points (m, 2) with the free ones near washers replaced by the washers' own.

    Args:
        points: (n, 2) of a pattern, mm.  fixed: (n,) points that stay, such as the border.
        centres: (r, 2) of the washers.  radius: of a washer, mm.  size: edge length, mm.
    """
    if not len(centres):
        return points
    gaps = np.linalg.norm(points[:, None] - np.asarray(centres, float), axis=2).min(axis=1)
    own = [washer_nodes(centre, radius) for centre in centres]
    return np.vstack([points[fixed | (gaps > radius + 0.6 * size)], *own])


def rectangle(
    width: float,
    height: float,
    size: float,
    centres: Sequence[Sequence[float]] = (),
    radius: float = 0.0,
) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """Triangulate 0 ≤ u ≤ width, 0 ≤ v ≤ height with edges of about `size`, mm.

    Args:
        width, height: mm.  size: edge length, mm.
        centres: (r, 2) of washers inside; radius: of a washer, mm.

    Returns:
        Points (n, 2) and counter-clockwise triangles (c, 3).

    Example:
        >>> points, triangles = rectangle(40.0, 20.0, 10.0)
        >>> points.min(axis=0).tolist(), points.max(axis=0).tolist()
        ([0.0, 0.0], [40.0, 20.0])
    """
    rows = max(2, round(height / (0.5 * math.sqrt(3.0) * size)))
    columns = max(2, round(width / size))
    u = np.linspace(0.0, width, columns + 1)
    between = np.concatenate([[0.0], 0.5 * (u[1:] + u[:-1]), [width]])
    points = np.vstack([
        np.column_stack([line, np.full(len(line), height * row / rows)])
        for row in range(rows + 1)
        for line in [u if row % 2 == 0 else between]
    ])
    border = (np.isclose(points, 0.0) | np.isclose(points, [width, height])).any(axis=1)
    points = washered(points, border, centres, radius, size)
    return points, counter_clockwise(points, Delaunay(points).simplices)


def counter_clockwise(
    points: NDArray[np.float64], triangles: NDArray[np.int64]
) -> NDArray[np.int64]:
    """Flat triangles (c, 3) with area, all turned counter-clockwise."""
    a, b, c = (points[triangles[:, k]] for k in range(3))
    double = (b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0]
    longest = np.max([np.sum((b - a) ** 2, 1), np.sum((c - b) ** 2, 1), np.sum((a - c) ** 2, 1)], 0)
    kept = np.abs(double) > 1e-6 * longest
    return np.where((double > 0.0)[:, None], triangles, triangles[:, ::-1])[kept].astype(np.int64)

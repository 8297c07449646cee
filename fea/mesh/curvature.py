# SPDX-License-Identifier: MIT
"""How strongly a wall is curved round a place, from the angles between its triangles."""

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fea.mesh.mesh import triangle_geometry
from fea.mesh.topology import edges_of

_FOLD = math.radians(30.0)  # triangles that meet at more than this fold: no curvature of the wall


def largest_curvature(
    points: NDArray[np.float64], triangles: NDArray[np.int64], place: ArrayLike, reach: float
) -> float:
    """Largest principal curvature, 1/length, of a wall within a reach of a place.

    Each edge bends the wall by the angle between its triangles; the tensor Σ β l (e ⊗ e) over
    area is the mean curvature tensor of the neighbourhood. At a rim the area beyond the last edge
    counts, so that curvature is rather underestimated there.

    Args:
        points: (n, 3) coordinates.
        triangles: (c, 3) of one wall, running round alike.
        place: (3,) where.
        reach: radius of the neighbourhood; at least the nearest triangle counts.

    Returns:
        The curvature, 0 or more.

    Source: cohen-steiner-morvan-2003.

    Example:
        >>> angle = np.linspace(0.0, 1.0, 11)
        >>> rim = np.stack([50.0 * np.cos(angle), 50.0 * np.sin(angle), 0.0 * angle], axis=1)
        >>> strip = np.concatenate([rim + [0, 0, z] for z in (0.0, 5.0, 10.0)])
        >>> a = np.concatenate([np.arange(10), np.arange(11, 21)])
        >>> cells = np.concatenate([
        ...     np.stack([a, a + 1, a + 12], axis=1), np.stack([a, a + 12, a + 11], axis=1)])
        >>> round(1.0 / largest_curvature(strip, cells, strip[16], 12.0))
        50
    """
    area, normal = triangle_geometry(points, triangles)
    centre = points[triangles].mean(axis=1)
    distance = np.linalg.norm(centre - np.asarray(place), axis=1)
    near = distance <= max(reach, float(distance.min()))
    edges = edges_of(triangles)
    pairs, _ = edges.two_sided_pairs()
    one, two = pairs.T
    sine = np.linalg.norm(np.cross(normal[one], normal[two]), axis=1)
    angle = np.arctan2(sine, np.sum(normal[one] * normal[two], axis=1))
    angle *= np.sign(np.sum(normal[one] * (centre[two] - centre[one]), axis=1))
    weight = np.where(np.abs(angle) > _FOLD, 0.0, angle) * near[pairs].mean(axis=1)
    along = np.diff(points[edges.ends[edges.uses == 2]], axis=1)[:, 0]
    length = np.linalg.norm(along, axis=1)
    tensor = np.einsum("e,ei,ej->ij", weight / length, along, along) / area[near].sum()
    return float(np.abs(np.linalg.eigvalsh(tensor)).max())

# SPDX-License-Identifier: MIT
"""A parallel projection: no vanishing point, so lengths on the page stay comparable."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.drawing.picture import View


@dataclass(frozen=True, eq=False)
class Camera:
    """Where the viewer stands.

    Attributes:
        centre: (3,) point in the middle of the picture.
        right, up, towards: (3,) unit vectors of the page, the last one to the viewer.
        half_height, half_width: of what is shown, in the unit of the points.
        depth: extent of the points along `towards`.
    """

    centre: NDArray[np.float64]
    right: NDArray[np.float64]
    up: NDArray[np.float64]
    towards: NDArray[np.float64]
    half_height: float
    half_width: float
    depth: float

    def project(self, points: NDArray[np.float64]) -> NDArray[np.float64]:
        """Page coordinates (…, 3): right, up, and towards the viewer, from the centre."""
        return (points - self.centre) @ np.column_stack([self.right, self.up, self.towards])


def fit_camera(points: NDArray[np.float64], view: View, *, margin: float = 0.06) -> Camera:
    """The camera that just shows all ``points`` (n, 3), with a margin as a share of the size.

    Example:
        >>> camera = fit_camera(np.array([[0, 0, 0], [2.0, 0, 4]]), View("side", (0, -1, 0)))
        >>> camera.project(np.array([[2.0, 0, 4]])).tolist()
        [[1.0, 2.0, 0.0]]
    """
    towards = _unit(np.asarray(view.towards, dtype=float))
    right = _unit(np.cross(np.asarray(view.up, dtype=float), towards))
    up = np.cross(towards, right)
    frame = np.column_stack([right, up, towards])
    page = points @ frame
    low, high = page.min(axis=0), page.max(axis=0)
    half = 0.5 * (high - low)
    pad = margin * 2.0 * max(half[0], half[1], 1e-12)
    return Camera(
        centre=frame @ (0.5 * (low + high)),
        right=right,
        up=up,
        towards=towards,
        half_height=float(half[1] + pad),
        half_width=float(half[0] + pad),
        depth=float(2.0 * half[2]),
    )


def is_hidden(
    place: NDArray[np.float64],
    points: NDArray[np.float64],
    triangles: NDArray[np.int64],
    camera: Camera,
) -> bool:
    """Whether a triangle lies between ``place`` (3,) and the viewer."""
    page = camera.project(points)
    at = camera.project(np.asarray(place, dtype=float))
    a, b, c = (page[triangles[:, k]] for k in range(3))
    double = _cross2(b - a, c - a)
    seen = np.abs(double) > 1e-12
    safe = np.where(seen, double, 1.0)
    second = _cross2(at - a, c - a) / safe
    third = _cross2(b - a, at - a) / safe
    inside = seen & (second >= 0) & (third >= 0) & (second + third <= 1)
    depth = a[:, 2] + second * (b - a)[:, 2] + third * (c - a)[:, 2]
    clearance = 0.02 * max(camera.half_height, camera.half_width)
    return bool((inside & (depth > at[2] + clearance)).any())


def _cross2(first: NDArray[np.float64], second: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.asarray(first[..., 0] * second[..., 1] - first[..., 1] * second[..., 0])


def _unit(vector: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.asarray(vector / np.linalg.norm(vector))

# SPDX-License-Identifier: MIT
"""A picture seen from one direction, as coloured triangles, tubes and segments.

Every colour and every line is settled here, so that the painters cannot disagree.
"""

from collections.abc import Sequence
from dataclasses import dataclass, fields
from typing import Any

import numpy as np
from numpy.typing import NDArray

from fea.drawing.camera import Camera, fit_camera
from fea.drawing.colours import band_colours, plain_colours
from fea.drawing.inks import MARKS, rgb
from fea.drawing.picture import Mark, Picture, View

SHARP = np.cos(np.radians(35.0))


@dataclass(frozen=True, eq=False)
class Scene:
    """What a painter draws.

    Attributes:
        points: (n, 3);  triangles: (c, 3);  triangle_rgb: (c, 3) uint8.
        tubes: (m, 2, 3) end points;  tube_rgb: (m, 3) uint8;  tube_radius: (1,).
        edges: (e, 2, 3) strong lines: borders, folds and the visible contour.
        fine: (f, 2, 3) thin lines: mesh edges, or the net over cells beyond the limit and
            over cells without a value.
        outline: (k, 2, 3) the picture's own further segments.
        centre, up, towards: (3,) of the camera;  half_size: (2,) half width and half height.
    """

    points: NDArray[np.float64]
    triangles: NDArray[np.int64]
    triangle_rgb: NDArray[np.uint8]
    tubes: NDArray[np.float64]
    tube_rgb: NDArray[np.uint8]
    tube_radius: NDArray[np.float64]
    edges: NDArray[np.float64]
    fine: NDArray[np.float64]
    outline: NDArray[np.float64]
    centre: NDArray[np.float64]
    up: NDArray[np.float64]
    towards: NDArray[np.float64]
    half_size: NDArray[np.float64]
    depth: NDArray[np.float64]

    def arrays(self) -> dict[str, NDArray[Any]]:
        """The attributes by name, for writing to an array file."""
        return {item.name: getattr(self, item.name) for item in fields(self)}


def build_scene(
    picture: Picture, view: View, beside: Sequence[Picture] = ()
) -> tuple[Scene, Camera]:
    """Settle colours and lines of ``picture`` seen along ``view``.

    Args:
        picture: to be drawn.
        view: of its views.
        beside: pictures that are shown to the same scale, so that the camera takes them in too.
    """
    camera = fit_camera(np.concatenate([_extent(one) for one in (picture, *beside)]), view)
    # Lines lie on the surface; a small step to the viewer lifts them off it unseen.
    lift = 0.004 * max(camera.half_width, camera.half_height) * camera.towards
    points = picture.points
    scene = Scene(
        points=points,
        triangles=picture.triangles,
        triangle_rgb=_mark(
            _colours(picture, picture.triangle_values, len(picture.triangles)),
            picture.marks, "triangles",
        ),
        tubes=points[picture.lines],
        tube_rgb=_mark(
            _colours(picture, picture.line_values, len(picture.lines)), picture.marks, "lines"
        ),
        tube_radius=np.array([picture.line_radius]),
        edges=points[strong_edges(points, picture.triangles, camera.towards)] + lift,
        fine=points[_fine_edges(picture)] + 0.5 * lift,
        outline=picture.outline + lift,
        centre=camera.centre,
        up=camera.up,
        towards=camera.towards,
        half_size=np.array([camera.half_width, camera.half_height]),
        depth=np.array([camera.depth + 2.0 * picture.line_radius]),
    )
    return scene, camera


def _extent(picture: Picture) -> NDArray[np.float64]:
    """All points (k, 3) that a picture must show."""
    ends = np.array([end for arrow in picture.arrows for end in (arrow.tail, arrow.tip)])
    return np.concatenate([picture.points, picture.outline.reshape(-1, 3), ends.reshape(-1, 3)])


def edge_table(
    triangles: NDArray[np.int64],
) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]]:
    """Unique edges (e, 2), the edge number (3c,) of each triangle side, and the use count (e,)."""
    sides = np.sort(triangles[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2), axis=1)
    edges, numbers, counts = np.unique(sides, axis=0, return_inverse=True, return_counts=True)
    return edges, numbers.ravel(), counts


def free_edges(triangles: NDArray[np.int64]) -> NDArray[np.int64]:
    """Edges (e, 2) that belong to one triangle only: the rims of the surface.

    Example:
        >>> free_edges(np.array([[0, 1, 2], [0, 2, 3]])).tolist()
        [[0, 1], [0, 3], [1, 2], [2, 3]]
    """
    edges, _, counts = edge_table(triangles)
    return edges[counts == 1]


def strong_edges(
    points: NDArray[np.float64], triangles: NDArray[np.int64], towards: NDArray[np.float64]
) -> NDArray[np.int64]:
    """Edges (e, 2) worth a line: rims, junctions, folds, and where the surface turns away."""
    if len(triangles) == 0:
        return np.empty((0, 2), dtype=np.int64)
    edges, numbers, counts = edge_table(triangles)
    corner = points[triangles]
    normal = np.cross(corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0])
    normal /= np.maximum(np.linalg.norm(normal, axis=1), 1e-300)[:, None]
    order = np.argsort(numbers, kind="stable")
    first = np.concatenate([[0], np.cumsum(counts)[:-1]])
    paired = counts == 2
    one = order[first[paired]] // 3
    two = order[first[paired] + 1] // 3
    agree = _same_sense(triangles, order, first, paired)
    bend = agree * np.einsum("ij,ij->i", normal[one], normal[two])
    facing = agree * (normal[one] @ towards) * (normal[two] @ towards)
    keep = ~paired
    keep[paired] = (bend < SHARP) | (facing < 0.0)
    return edges[keep]


def _same_sense(
    triangles: NDArray[np.int64],
    order: NDArray[np.int64],
    first: NDArray[np.int64],
    paired: NDArray[np.bool_],
) -> NDArray[np.float64]:
    """+1 (p,) where both triangles of a paired edge run round the same way, else -1."""
    starts = triangles.reshape(-1)
    return np.where(starts[order[first[paired]]] != starts[order[first[paired] + 1]], 1.0, -1.0)


def _colours(
    picture: Picture, values: NDArray[np.float64] | None, count: int
) -> NDArray[np.uint8]:
    if values is None or picture.scale is None:
        return plain_colours(count)
    return band_colours(values, picture.scale)


def _mark(colours: NDArray[np.uint8], marks: Sequence[Mark], part: str) -> NDArray[np.uint8]:
    """The same colours with those of the marks over them."""
    for mark in marks:
        which = getattr(mark, part)
        if len(which):
            colours[which] = rgb(MARKS[mark.netted])
    return colours


def _fine_edges(picture: Picture) -> NDArray[np.int64]:
    if picture.mesh_edges:
        return edge_table(picture.triangles)[0]
    scale, values = picture.scale, picture.triangle_values
    netted = np.zeros(len(picture.triangles), dtype=bool)
    for mark in picture.marks:
        netted |= mark.triangles & mark.netted
    if scale is None or values is None:
        return edge_table(picture.triangles[netted])[0]
    limit = np.inf if scale.limit is None else scale.limit
    return edge_table(picture.triangles[(values > limit) | np.isnan(values)])[0]

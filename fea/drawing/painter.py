# SPDX-License-Identifier: MIT
"""The painter without graphics library: triangles from far to near, drawn flat by matplotlib.

It serves where the other painter cannot run. Surfaces that pass through each other may be drawn
in the wrong order; the report says which painter drew it.
"""

import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.collections import LineCollection, PolyCollection
from matplotlib.figure import Figure
from numpy.typing import NDArray

from fea.drawing.camera import Camera
from fea.drawing.inks import INK, rgb
from fea.drawing.scene import Scene

Floats = NDArray[np.float64]
DPI = 200
INK_RGB = np.array(rgb(INK)) / 255.0


def paint(scene: Scene, camera: Camera, height_px: int) -> NDArray[np.uint8]:
    """The scene as an image (h, w, 4)."""
    width_px = max(2, round(height_px * camera.half_width / camera.half_height))
    figure = Figure(figsize=(width_px / DPI, height_px / DPI), dpi=DPI)
    canvas = FigureCanvasAgg(figure)
    axes = figure.add_axes((0, 0, 1, 1))
    axes.set_axis_off()
    axes.set_xlim(-camera.half_width, camera.half_width)
    axes.set_ylim(-camera.half_height, camera.half_height)
    shapes, depths, faces, widths = _ordered(scene, camera)
    order = np.argsort(depths, kind="stable")
    axes.add_collection(
        PolyCollection(
            [shapes[k] for k in order],
            facecolors=faces[order],
            edgecolors=np.where(widths[order, None] > 0.3, INK_RGB, faces[order]),
            linewidths=widths[order],
            joinstyle="round",
        )
    )
    outline = camera.project(scene.outline)[..., :2]
    axes.add_collection(LineCollection(list(outline), colors=INK, linewidths=0.8))
    canvas.draw()
    return np.asarray(canvas.buffer_rgba()).copy()


def _ordered(
    scene: Scene, camera: Camera
) -> tuple[list[Floats], Floats, Floats, Floats]:
    """Polygons, their depth, face colour and line width: triangles, bars and lines together."""
    page = camera.project(scene.points)[scene.triangles]
    shapes = list(page[..., :2])
    depths = [page[..., 2].mean(axis=1)] if len(page) else []
    faces = [_shaded(scene.triangle_rgb, page)]
    widths = [np.full(len(page), 0.2)]
    tubes = camera.project(scene.tubes)
    if len(tubes):
        shapes += [_thick(ends, float(scene.tube_radius[0])) for ends in tubes[..., :2]]
        depths.append(tubes[..., 2].mean(axis=1))
        faces.append(scene.tube_rgb / 255.0)
        widths.append(np.full(len(tubes), 0.2))
    for segments, width in ((scene.fine, 0.31), (scene.edges, 0.8)):
        lines = camera.project(segments)
        shapes += list(lines[..., :2])
        depths.append(lines[..., 2].mean(axis=1) + 0.02 * camera.half_height)
        faces.append(np.tile(INK_RGB, (len(lines), 1)))
        widths.append(np.full(len(lines), width))
    return shapes, np.concatenate(depths), np.concatenate(faces), np.concatenate(widths)


def _shaded(rgb: NDArray[np.uint8], page: NDArray[np.float64]) -> NDArray[np.float64]:
    normal = np.cross(page[:, 1] - page[:, 0], page[:, 2] - page[:, 0])
    facing = np.abs(normal[:, 2]) / np.maximum(np.linalg.norm(normal, axis=1), 1e-300)
    return np.asarray(rgb / 255.0 * (0.88 + 0.12 * facing)[:, None])


def _thick(ends: NDArray[np.float64], radius: float) -> NDArray[np.float64]:
    along = ends[1] - ends[0]
    across = np.array([-along[1], along[0]]) / max(float(np.linalg.norm(along)), 1e-300)
    return np.array([ends[0] + radius * across, ends[1] + radius * across,
                     ends[1] - radius * across, ends[0] - radius * across])

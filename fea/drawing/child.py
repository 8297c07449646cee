# SPDX-License-Identifier: MIT
"""The painter with hidden surfaces, in a process of its own.

A machine without a working graphics library kills the process that opens a window, off screen
too; here it takes only this child along. Run as
``python -m fea.drawing.child SCENES.npz DIRECTORY HEIGHT_PX``.
"""

import sys
from pathlib import Path
from typing import Any

import numpy as np
import pyvista
from numpy.typing import NDArray

from fea.drawing.inks import INK


def main(arguments: list[str]) -> None:
    """Paint every scene of an array file to ``0.png``, ``1.png``, … in a directory."""
    scenes, directory, height = Path(arguments[0]), Path(arguments[1]), int(arguments[2])
    with np.load(scenes, allow_pickle=False) as data:
        for number in range(int(data["count"])):
            scene = {
                name.split(".", 1)[1]: data[name]
                for name in data.files
                if name.startswith(f"{number}.")
            }
            _paint(scene, directory / f"{number}.png", height)


def _paint(scene: dict[str, NDArray[Any]], path: Path, height: int) -> None:
    half_width, half_height = scene["half_size"]
    size = (max(2, round(height * half_width / half_height)), height)
    plotter = pyvista.Plotter(off_screen=True, window_size=size, lighting="none")
    plotter.set_background("white")
    plotter.add_light(pyvista.Light(light_type="headlight"))
    _add_surfaces(plotter, scene)
    for name, width in (("fine", 1.5), ("outline", 3.0), ("edges", 4.0)):
        if len(scene[name]):
            plotter.add_mesh(_segments(scene[name]), color=INK, line_width=width, lighting=False)
    _aim(plotter, scene)
    plotter.enable_anti_aliasing("msaa", multi_samples=8)
    plotter.screenshot(path)
    plotter.close()


def _add_surfaces(plotter: pyvista.Plotter, scene: dict[str, NDArray[Any]]) -> None:
    # Ambient light of 0.88 keeps a colour close to its place on the bar in every orientation.
    light = {"rgb": True, "ambient": 0.88, "diffuse": 0.12, "specular": 0.0}
    if len(scene["triangles"]):
        surface = pyvista.PolyData.from_regular_faces(scene["points"], scene["triangles"])
        surface.cell_data["rgb"] = scene["triangle_rgb"]
        plotter.add_mesh(surface, scalars="rgb", **light)
    if len(scene["tubes"]):
        bars = _segments(scene["tubes"])
        bars.point_data["rgb"] = np.repeat(scene["tube_rgb"], 2, axis=0)
        tube = bars.tube(radius=float(scene["tube_radius"][0]), n_sides=20)
        plotter.add_mesh(tube, scalars="rgb", **light)


def _aim(plotter: pyvista.Plotter, scene: dict[str, NDArray[Any]]) -> None:
    half_width, half_height = scene["half_size"]
    reach = 2.0 * float(scene["depth"][0] + half_width + half_height)
    camera = plotter.camera
    camera.parallel_projection = True
    camera.focal_point = scene["centre"]
    camera.position = scene["centre"] + reach * scene["towards"]
    camera.up = scene["up"]
    camera.parallel_scale = float(half_height)
    camera.clipping_range = (0.01 * reach, 2.0 * reach)


def _segments(ends: NDArray[np.float64]) -> pyvista.PolyData:
    cells = np.column_stack([np.full(len(ends), 2), np.arange(2 * len(ends)).reshape(-1, 2)])
    return pyvista.PolyData(ends.reshape(-1, 3), lines=cells.ravel())


if __name__ == "__main__":
    main(sys.argv[1:])

# SPDX-License-Identifier: MIT
"""Pictures to PNG: one child process paints them all; if it dies, the flat painter does."""

import logging
import os
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from matplotlib.image import imread
from numpy.typing import NDArray

from fea.drawing.camera import Camera
from fea.drawing.compose import DPI, PANEL_HEIGHT, compose
from fea.drawing.painter import paint
from fea.drawing.picture import Beside, Picture
from fea.drawing.scene import Scene, build_scene

LOG = logging.getLogger(__name__)
TIME_LIMIT = 120.0
HEIGHT_PX = round(PANEL_HEIGHT * DPI)


@dataclass(frozen=True)
class Rendering:
    """Finished pictures.

    Attributes:
        images: PNG files, one per picture.
        painter: "pyvista" or "matplotlib".
        note: why the second painter drew them, a sentence for the reader; empty otherwise.
    """

    images: tuple[bytes, ...]
    painter: str
    note: str = ""


def render(
    pictures: Sequence[Picture | Beside],
    *,
    time_limit: float = TIME_LIMIT,
    child: str = "fea.drawing.child",
) -> Rendering:
    """Draw pictures.

    Args:
        pictures: what to draw, one by one or beside each other.
        time_limit: seconds that the child process may take for all of them.
        child: module that is run as the painting process.

    Returns:
        One PNG per picture. A child that dies or takes too long is no error: the pictures are
        then drawn flat, and the note says so.
    """
    scenes = [_scenes(picture) for picture in pictures]
    flat = [scene for panels in scenes for scene, _ in panels]
    try:
        painted, painter, note = _paint_in_child(flat, time_limit, child), "pyvista", ""
    except _ChildError as failure:
        LOG.warning("pictures are drawn flat: %s", failure)
        cameras = [camera for panels in scenes for _, camera in panels]
        painted = [paint(s, c, HEIGHT_PX) for s, c in zip(flat, cameras, strict=True)]
        painter, note = "matplotlib", f"Pictures were drawn without 3-D graphics: {failure}."
    images = []
    for picture, panels in zip(pictures, scenes, strict=True):
        own, painted = painted[: len(panels)], painted[len(panels) :]
        images.append(compose(picture, own, [camera for _, camera in panels]))
    return Rendering(tuple(images), painter, note)


def _scenes(picture: Picture | Beside) -> list[tuple[Scene, Camera]]:
    """One scene for each panel, in order of views and then of pictures."""
    pictures = picture.pictures if isinstance(picture, Beside) else (picture,)
    return [build_scene(one, view, pictures) for view in pictures[0].views for one in pictures]


class _ChildError(Exception):
    """The painting process gave no pictures; the message says why."""


def _paint_in_child(scenes: list[Scene], time_limit: float, child: str) -> list[NDArray[Any]]:
    with tempfile.TemporaryDirectory(prefix="stanchion-") as name:
        directory = Path(name)
        arrays: dict[str, Any] = {
            f"{number}.{key}": array
            for number, scene in enumerate(scenes)
            for key, array in scene.arrays().items()
        }
        np.savez(directory / "scenes.npz", count=np.array(len(scenes)), **arrays)
        command = [sys.executable, "-P", "-m", child]
        command += [str(directory / "scenes.npz"), name, str(HEIGHT_PX)]
        _run(command, time_limit)
        try:
            return [imread(directory / f"{number}.png") for number in range(len(scenes))]
        except OSError:
            raise _ChildError("the drawing process left no pictures") from None


def _run(command: list[str], time_limit: float) -> None:
    package_home = str(Path(__file__).resolve().parents[2])
    search = os.pathsep.join(filter(None, [package_home, os.environ.get("PYTHONPATH", "")]))
    try:
        done = subprocess.run(
            command, env={**os.environ, "PYTHONPATH": search}, timeout=time_limit,
            stdin=subprocess.DEVNULL, capture_output=True, check=False,
        )
    except subprocess.TimeoutExpired:
        raise _ChildError(f"the drawing process took longer than {time_limit:g} s") from None
    if done.returncode != 0:
        LOG.info("drawing process: %s", done.stderr.decode(errors="replace").strip())
        how = f"signal {-done.returncode}" if done.returncode < 0 else f"exit {done.returncode}"
        raise _ChildError(f"the drawing process ended with {how}")

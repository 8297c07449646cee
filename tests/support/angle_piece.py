# SPDX-License-Identifier: MIT
"""An invented device of a flat plate and a flat wall, for the tests of device files."""

import numpy as np
import pytest

from fea.device.meshdevice import read_mesh_device
from fea.errors import FileError
from fea.mesh.mesh import triangle_geometry

# An invented angle piece: a plate 220 × 80 mm, 10 mm above the floor, and a wall behind the heel.
STEP = 20.0
PLATE = ([*np.arange(-60.0, 161.0, STEP)], [*np.arange(-40.0, 41.0, STEP)])
WALL = [*np.arange(10.0, 351.0, STEP)]


def sheet(a, b, at):
    """Points and quadrilaterals of a grid over the parameters a and b."""
    points = np.array([at(u, v) for u in a for v in b])
    n = len(b)
    quads = [[i * n + j, i * n + j + 1, (i + 1) * n + j + 1, (i + 1) * n + j]
             for i in range(len(a) - 1) for j in range(n - 1)]
    return points, np.array(quads)


def angle_piece():
    """Points (n, 3) and triangles by zone; plate facing down, wall facing backwards."""
    plate, p = sheet(*PLATE, lambda x, y: (x, y, 10.0))
    wall, w = sheet(WALL, PLATE[1], lambda z, y: (-60.0, y, z))
    points, number = np.unique(np.vstack([plate, wall]), axis=0, return_inverse=True)
    quads = number[np.vstack([p, w + len(plate)])]
    triangles = quads[:, [[0, 1, 2], [0, 2, 3]]].reshape(-1, 3)
    height = points[triangles].mean(axis=1)[:, 2]
    zone = np.where(height < 10.1, 1, np.where(height < 210.0, 2, 3))
    _, normal = triangle_geometry(points, triangles)
    inward = np.where(zone == 1, normal[:, 2] > 0, normal[:, 0] > 0)
    return points, np.where(inward[:, None], triangles[:, ::-1], triangles), zone


CONTENT = {
    "construction": "mesh",
    "name": "angle-piece",
    "title": "An invented angle piece",
    "origin": "Invented for this test",
    "side": "left",
    "mesh": "piece.vtu",
    "unit": "mm",
    "plate_zones": ["plate"],
    "foot_zones": ["plate"],
    "shank_zones": ["cuff"],
    "sole": {"height_mm": 10.0, "heel_sole_difference_mm": 5.0, "ankle_set_deg": -3.0},
    "landmarks": {"ankle_axis": [0, 0, 80], "heel": [-55, 0, 10], "plate_end": [160, 0, 10]},
    "zones": {
        name: {"material": "polypropylene-homopolymer", "thickness_mm": thickness,
               "cell_data": "zone", "value": number}
        for number, name, thickness in ((1, "plate", 4.0), (2, "wall", 4.5), (3, "cuff", 3.5))
    },
}


def refusal(path):
    """The problems of a refused file, one line each."""
    with pytest.raises(FileError) as error:
        read_mesh_device(path)
    return [str(problem) for problem in error.value.problems]

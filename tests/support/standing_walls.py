# SPDX-License-Identifier: MIT
"""Walls that stand upright round the ankle axis, as devices that overlays can be bonded on."""

import numpy as np

from fea.device.device import Device, Sole, Wall
from fea.material.isotropic import Isotropic
from fea.material.library import LibraryMaterial, Property, read_library
from fea.mesh.mesh import Mesh

SOFT, STIFF = 1400.0, 70000.0


def sheet_material(name, modulus, kind="metal", poisson_ratio=0.0, density=1e-6):
    """An invented material of one modulus, MPa; without Poisson's ratio a plate is a beam."""
    yields = Property(30.0, "MPa", "assumed", "assumed")
    return LibraryMaterial(name, name, kind, Isotropic(modulus, poisson_ratio, density),
                           {"yield_strength": yields})


LIBRARY = {**read_library(), "soft": sheet_material("soft", SOFT),
           "stiff": sheet_material("stiff", STIFF)}


def panel(corner, across, height, columns, rows, start=0):
    """Points and triangles of a flat upright panel; the normal points to ``across`` × up."""
    u, v = np.meshgrid(np.linspace(0, 1, columns + 1), np.linspace(0, 1, rows + 1), indexing="ij")
    points = np.asarray(corner, float) + u.reshape(-1, 1) * np.asarray(across, float)
    points[:, 2] += height * v.ravel()
    a = (np.arange(columns)[:, None] * (rows + 1) + np.arange(rows)).ravel() + start
    b = a + rows + 1
    return points, np.concatenate([np.stack([a, b, b + 1], 1), np.stack([a, b + 1, a + 1], 1)])


def standing(walls, points, zones, **more):
    """A device of upright walls; the limb stands round the z axis."""
    triangles = np.concatenate(list(zones.values()))
    first, numbers = 0, {}
    for name, cells in zones.items():
        numbers[name] = ("triangle", np.arange(first, first + len(cells)))
        first += len(cells)
    used, merged = np.unique(np.round(points, 6), axis=0, return_inverse=True)
    mesh = Mesh(used, {"triangle": merged.ravel()[triangles]}, zones=numbers)
    marks = {"ankle_axis": np.zeros(3), "heel": np.array([-40.0, 0, 0]),
             "plate_end": np.array([120.0, 0, 0]), "crest": np.array([30.0, 0, 150.0])}
    return Device(
        name="standing", title="Standing walls", side="left", mesh=mesh, walls=walls,
        plate_zones=(), foot_zones=(), shank_zones=(), landmarks=marks,
        sole=Sole(0.0, 0.0, 0.0), origin="Invented for a test.", **more)


def upright(width=20.0, height=200.0, thickness=4.0, columns=4, rows=40, material="soft"):
    """A flat upright 40 mm ahead of the ankle axis, facing forward."""
    points, cells = panel([40.0, -0.5 * width, 0.0], [0.0, width, 0.0], height, columns, rows)
    return standing({"upright": Wall(LIBRARY[material], thickness)}, points, {"upright": cells})


def tube(side=40.0, height=400.0, thickness=3.0, columns=4, rows=40, material="soft"):
    """A square tube round the ankle axis with zones "front", "left", "back", "right"."""
    h, points, zones = 0.5 * side, [], {}
    corners = {"front": ([h, -h, 0], [0, side, 0]), "left": ([h, h, 0], [-side, 0, 0]),
               "back": ([-h, h, 0], [0, -side, 0]), "right": ([-h, -h, 0], [side, 0, 0])}
    for name, (corner, across) in corners.items():
        start = sum(map(len, points))
        more, zones[name] = panel(corner, across, height, columns, rows, start)
        points.append(more)
    wall = Wall(LIBRARY[material], thickness)
    return standing(dict.fromkeys(zones, wall), np.concatenate(points), zones)

# SPDX-License-Identifier: MIT
"""A bar riveted to a strip, as a device: what a joint carries follows from statics."""

import numpy as np

from fea.device.device import Bar, Device, Fastening, Sole
from fea.material.library import read_library
from fea.mesh.mesh import Mesh
from fea.solver.static import solve
from fea.structure.coupling import Support, Tie
from fea.structure.loads import PointForce
from fea.structure.model import Model
from fea.structure.sections import ShellSection, StrutSection

LIBRARY = read_library()
METAL = LIBRARY["aluminium-6061-t6"]
LENGTH, WIDTH, WALL, STEP = 120.0, 60.0, 5.0, 3.0
INNER, OUTER, TIP, EDGE = 60.0, 96.0, 220.0, 24.0  # x of rivets and tip; outer rivet to the rim
BAR_WIDTH, DEPTH, RIVET, WASHER = 16.0, 4.0, 4.8, 15.0
UP = 0.5 * (WALL + DEPTH)


def strip():
    """A strip in the plane z = 0, and above it a bar along its middle, out over its end."""
    x, y = np.meshgrid(np.arange(0, LENGTH + 1, STEP), np.arange(0, WIDTH + 1, STEP))
    sheet = np.stack([x.ravel(), y.ravel(), 0 * x.ravel()], axis=1)
    number = np.arange(x.size).reshape(x.shape)
    a, b, c, d = (k.ravel() for k in (
        number[:-1, :-1], number[:-1, 1:], number[1:, 1:], number[1:, :-1]))
    triangles = np.concatenate([np.stack([a, b, c], 1), np.stack([a, c, d], 1)])
    at = np.array([INNER - EDGE, INNER, OUTER, TIP])
    bar = np.stack([at, np.full(4, WIDTH / 2), np.full(4, UP)], axis=1)
    n = len(sheet)
    places = {"root": number[:, 0], "tip": [n + 3], "inner bar": [n + 1], "outer bar": [n + 2],
              "left": number[-1], "right": number[0], "middle hole": [number[10, 5]]}
    for name, along in (("inner", INNER), ("outer", OUTER)):
        gap = np.hypot(sheet[:, 0] - along, sheet[:, 1] - WIDTH / 2)
        places[f"{name} shell"] = np.flatnonzero(gap <= 0.5 * WASHER)
    lines = [[n, n + 1], [n + 1, n + 2], [n + 2, n + 3]]
    return Mesh(np.concatenate([sheet, bar]), {"triangle": triangles, "line": lines}, places=places,
                zones={"strip": ("triangle", np.arange(len(triangles))), "bar": ("line", range(3))})


def riveted(wall, material="rivet-steel", names=("inner", "outer")):
    rivet = None if material is None else LIBRARY[material]
    return Device(
        name="strip", title="A bar on a strip", side="left", mesh=strip(), walls={"strip": wall},
        bars={"bar": Bar(METAL, BAR_WIDTH, DEPTH, up=(0, 1, 0))},
        fastenings=tuple(Fastening(name, f"{name} bar", f"{name} shell", RIVET, WASHER, rivet)
                         for name in names),
        plate_zones=(), foot_zones=(), shank_zones=(), landmarks={}, sole=Sole(0.0, 0.0, 0.0),
        origin="invented for this test",
    )


def solved(device, forces, **more):
    wall = device.walls["strip"]
    shell = (ShellSection(wall.material.elastic, WALL) if wall.layup is None
             else ShellSection(wall.layup, direction=wall.direction))
    bar = StrutSection.rectangle(METAL.elastic, width=BAR_WIDTH, depth=DEPTH, up=(0, 1, 0))
    return solve(Model(
        device.mesh, {"strip": shell, "bar": bar}, [Support("root", "ux uy uz rx ry rz")],
        {name: [PointForce("tip", force)] for name, force in forces.items()},
        ties=[Tie(f.bar_place, f.shell_place) for f in device.fastenings], **more))

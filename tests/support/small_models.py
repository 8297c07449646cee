# SPDX-License-Identifier: MIT
"""Small meshes and models that many tests share."""

import numpy as np
from jitter import moves

import fea

ALL = "ux uy uz rx ry rz"
STEEL = fea.Isotropic(youngs_modulus=200e3, poisson_ratio=0.3)


def grid(
    nx, ny, surface, *, diagonal="alternate", jitter=0.0, seed=1, slide=False, keep=(), joined=False
):
    """A sheet of 2 nx ny triangles, the image of the unit square under ``surface(u, v)``.

    Args:
        surface: maps arrays u, v (m,) to three arrays x, y, z.
        diagonal: "rising" (from u0 v0 to u1 v1), "falling", "alternate", or "random".
        jitter: moves inner nodes by up to this fraction of the cell size, before mapping.
        slide: nodes of the sides move too, but only along their side.
        keep: points (u, v) whose nodes stay.
        joined: sides u0 and u1 are one line in space and move alike.

    Returns:
        Mesh with zone "skin", places u0, u1, v0, v1 (sides), u0v0 … (corners), centre (nearest
        node to the middle) and border.
    """
    u, v = np.meshgrid(np.linspace(0, 1, nx + 1), np.linspace(0, 1, ny + 1), indexing="ij")
    u, v = u.ravel(), v.ravel()
    sides = {"u0": u == 0, "u1": u == 1, "v0": v == 0, "v1": v == 1}
    places = {name: np.flatnonzero(mask) for name, mask in sides.items()}
    for a in ("u0", "u1"):
        for b in ("v0", "v1"):
            places[a + b] = np.flatnonzero(sides[a] & sides[b])
    places["centre"] = [int(np.argmin((u - 0.5) ** 2 + (v - 0.5) ** 2))]
    border = np.any(list(sides.values()), axis=0)
    places["border"] = np.flatnonzero(border)
    rng = np.random.default_rng(seed)
    cell = np.array([1 / nx, 1 / ny])
    if slide:
        move = moves(u, v, cell, jitter, keep=keep, joined=joined, seed=seed)
    else:
        move = np.where(border[:, None], 0.0, jitter * rng.uniform(-1, 1, (len(u), 2))) * cell
    points = np.stack(np.broadcast_arrays(*surface(u + move[:, 0], v + move[:, 1])), 1)
    return sheet(points, _split(nx, ny, diagonal, rng), places)


def _split(nx, ny, diagonal, rng):
    """Triangles of a grid of nodes numbered i (ny + 1) + j."""
    i, j = (k.ravel() for k in np.meshgrid(range(nx), range(ny), indexing="ij"))
    a = i * (ny + 1) + j
    b, c, d = a + ny + 1, a + ny + 2, a + 1
    falling = {
        "rising": np.zeros(len(a), bool),
        "falling": np.ones(len(a), bool),
        "alternate": (i + j) % 2 == 1,
        "random": rng.random(len(a)) < 0.5,
    }[diagonal]
    first = np.where(falling[:, None], np.stack([a, b, d], 1), np.stack([a, b, c], 1))
    second = np.where(falling[:, None], np.stack([b, c, d], 1), np.stack([a, c, d], 1))
    return np.stack([first, second], axis=1).reshape(-1, 3)


def sheet(points, triangles, places):
    """A mesh of triangles that are one zone, "skin"."""
    triangles = np.asarray(triangles)
    zones = {"skin": ("triangle", np.arange(len(triangles)))}
    return fea.Mesh(points, {"triangle": triangles}, places=places, zones=zones)


def flat(width, depth):
    """Surface of a rectangle in the plane z = 0."""
    return lambda u, v: (width * u, depth * v, 0.0 * u)


def chain(points):
    """Struts from point to point, zone "bar", places root and tip."""
    last = len(points) - 1
    lines = np.column_stack([np.arange(last), np.arange(1, last + 1)])
    return fea.Mesh(
        points,
        {"line": lines},
        places={"root": [0], "tip": [last]},
        zones={"bar": ("line", np.arange(last))},
    )


def solve_one(mesh, sections, supports, loads, **more):
    """Solution of a model with one load case."""
    return fea.solve(fea.Model(mesh, sections, supports, {"case": loads}, **more))["case"]


def solve_skin(mesh, material, thickness, supports, loads, **more):
    """Solution of a sheet with one isotropic wall and one load case."""
    section = fea.ShellSection(material, thickness=thickness)
    return solve_one(mesh, {"skin": section}, supports, loads, **more)


def at(solution, place):
    """Mean displacement and rotation (6,) of a place."""
    mesh = solution.system.structure.mesh
    return solution.displacement[mesh.place(place)].mean(axis=0)


def turned(mesh, rotation, shift=(0.0, 0.0, 0.0)):
    """The mesh rotated by a (3, 3) matrix, then moved."""
    return mesh.with_points(mesh.points @ np.asarray(rotation).T + np.asarray(shift))


def random_rotation(seed=3):
    """A rotation matrix (3, 3) that favours no axis."""
    rotation, _ = np.linalg.qr(np.random.default_rng(seed).standard_normal((3, 3)))
    return rotation * np.sign(np.linalg.det(rotation))

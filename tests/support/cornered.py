# SPDX-License-Identifier: MIT
"""Sheets with corners, notches and smooth hollow rims, at any cell size."""

import numpy as np
from small_models import flat, grid, sheet

import fea
from fea.mesh.topology import edges_of


def cut_plate(cells, size, keep, *, jitter=0.0, seed=4):
    """A square plate in the plane z = 0, of cells × cells squares, some of them cut away.

    Args:
        keep: function of the centres x, y of the squares: which of them stay.
        jitter: moves inner nodes by up to this fraction of the cell size.

    Returns:
        Mesh with zone "skin" and places left, right, bottom and top.
    """
    whole = grid(cells, cells, flat(size, size))
    step = size / cells
    x, y = np.meshgrid(*2 * [step * (np.arange(cells) + 0.5)], indexing="ij")
    stays = np.repeat(keep(x.ravel(), y.ravel()), 2)
    used, triangles = np.unique(whole.zone_cells("skin")[stays], return_inverse=True)
    triangles = triangles.reshape(-1, 3)
    points = whole.points[used].copy()
    edges = edges_of(triangles)
    inner = np.setdiff1d(np.arange(len(points)), edges.ends[edges.border])
    move = np.random.default_rng(seed).uniform(-1, 1, (len(inner), 2))
    points[inner, :2] += jitter * step * move
    sides = {"left": (0, 0.0), "right": (0, size), "bottom": (1, 0.0), "top": (1, size)}
    near = {name: np.abs(points[:, axis] - at) < 1e-9 for name, (axis, at) in sides.items()}
    return sheet(points, triangles, {name: np.flatnonzero(mask) for name, mask in near.items()})


def l_plate(cells, size=100.0, **more):
    """An L: the square without its upper right quarter; the corner stands in the middle."""
    return cut_plate(cells, size, lambda x, y: (x < size / 2) | (y < size / 2), **more)


def slit_plate(cells, size=100.0, **more):
    """A square with a slit of one cell's width from the right side to the middle."""
    step = size / cells

    def keep(x, y):
        return (x < size / 2) | (np.abs(y - size / 2) > 0.6 * step) | (y < size / 2)

    return cut_plate(cells, size, keep, **more)


def hollow_strip(radius, step, width=30.0, straight=40.0, turn=np.pi / 2, *, bow=0.0):
    """A strip whose inner rim runs straight, round an arc, and straight again.

    Args:
        radius: of the inner rim's arc;  step: cell size along it;  turn: rad, of the arc.
        bow: the strip is bent out of its plane to this radius about the x axis; 0 leaves it flat.

    Returns:
        Mesh with the places of `small_models.grid`; v0 is the hollow rim.
    """
    length = 2 * straight + radius * turn

    def surface(u, v):
        s = length * u
        along = np.clip(s - straight, 0.0, radius * turn)
        angle = along / radius
        back, ahead = np.minimum(s - straight, 0.0), np.maximum(s - straight - radius * turn, 0.0)
        out = radius + width * v
        x = out * np.sin(angle) + back + ahead * np.cos(angle)
        y = -out * np.cos(angle) + ahead * np.sin(angle)
        if not bow:
            return x, y, 0 * u
        return x, bow * np.sin(y / bow), bow * (1 - np.cos(y / bow))

    return grid(round(length / step), max(2, round(width / step)), surface)


def ribbed_plate(cells, along, height=10.0):
    """A plate of 100 × 50 with a rib on its middle line y = 25, between two values of x.

    Args:
        cells: over the width of 50;  along: where the rib starts and ends.

    Returns:
        Mesh with zones "skin" and "rib", and the places of `small_models.grid`.
    """
    plate = grid(2 * cells, cells, flat(100, 50))
    points, step = plate.points, 50 / cells
    inside = (points[:, 0] > along[0] - 1e-9) & (points[:, 0] < along[1] + 1e-9)
    base = np.flatnonzero((np.abs(points[:, 1] - 25) < 1e-9) & inside)
    base = base[np.argsort(points[base, 0])]
    layers = max(1, round(height / step))
    rows = [base] + [len(points) + k * len(base) + np.arange(len(base)) for k in range(layers)]
    lifted = [points[base] + [0, 0, height * (k + 1) / layers] for k in range(layers)]
    rib = np.concatenate(
        [
            half
            for a, b in zip(rows[:-1], rows[1:], strict=True)
            for half in (np.stack([a[:-1], a[1:], b[1:]], 1), np.stack([a[:-1], b[1:], b[:-1]], 1))
        ]
    )
    skin = plate.zone_cells("skin")
    return fea.Mesh(
        np.concatenate([points, *lifted]),
        {"triangle": np.concatenate([skin, rib])},
        places=plate.places,
        zones={
            "skin": ("triangle", np.arange(len(skin))),
            "rib": ("triangle", len(skin) + np.arange(len(rib))),
        },
    )

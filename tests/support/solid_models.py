# SPDX-License-Identifier: MIT
"""Blocks of quadratic tetrahedra that many tests share."""

import itertools

import numpy as np

import fea

_EDGES = ((0, 1), (1, 2), (0, 2), (0, 3), (1, 3), (2, 3))


def block(nx, ny, nz, form=None, *, jitter=0.0, curved=False, seed=4):
    """A block of 6 nx ny nz tetra10, the image of the unit cube under ``form(u, v, w)``.

    Args:
        form: maps arrays u, v, w (m,) to three arrays x, y, z; None keeps the cube.
        jitter: moves inner corners by up to this fraction of the cell size, before mapping.
        curved: midsides lie on the mapped form; else in the middle of straight sides.

    Returns:
        Mesh with zone "block", places u0 … w1 (nodes of the sides) and border, and zones of faces
        of the same names as the sides with "face " before them.
    """
    grid = np.stack(np.meshgrid(*(np.arange(k + 1) for k in (nx, ny, nz)), indexing="ij"), -1)
    shape = np.array([nx, ny, nz])
    corner = grid.reshape(-1, 3)
    inner = np.all((corner > 0) & (corner < shape), axis=1)[:, None]
    shift = np.random.default_rng(seed).uniform(-1, 1, corner.shape)
    unit = (corner + np.where(inner, jitter * shift, 0.0)) / shape
    unit, tetra = with_midsides(unit, _tetrahedra(grid.shape[:3]))
    points = _mapped(form, unit)
    if not curved:
        count = len(corner)
        points, tetra = with_midsides(_mapped(form, unit[:count]), tetra[:, :4])
    sides = {
        f"{name}{end}": np.flatnonzero(np.abs(unit[:, k] - end) < 1e-9)
        for k, name in enumerate("uvw")
        for end in (0, 1)
    }
    sides["border"] = np.unique(np.concatenate(list(sides.values())))
    mesh = fea.Mesh(
        points,
        {"tetra10": tetra},
        places=sides,
        zones={"block": ("tetra10", np.arange(len(tetra)))},
    )
    return mesh.with_faces({f"face {name}": name for name in sides if name != "border"})


def with_midsides(points, corners):
    """Points with a node in the middle of each edge of tetrahedra (c, 4), and cells (c, 10)."""
    ends = np.sort(np.concatenate([corners[:, pair] for pair in _EDGES]), axis=1)
    edges, number = np.unique(ends, axis=0, return_inverse=True)
    middle = len(points) + number.reshape(len(_EDGES), -1).T
    return np.concatenate([points, points[edges].mean(axis=1)]), np.hstack([corners, middle])


def _mapped(form, unit):
    if form is None:
        return unit
    return np.stack(np.broadcast_arrays(*form(*unit.T)), axis=1)


def _tetrahedra(shape):
    """Six tetrahedra round the diagonal of each cell of a grid of nodes; right-handed."""
    first = np.stack(np.meshgrid(*(np.arange(k - 1) for k in shape), indexing="ij"), -1)
    first = first.reshape(-1, 3)
    tetrahedra = []
    for order in itertools.permutations(range(3)):
        steps = np.vstack([np.zeros((1, 3), int), np.cumsum(np.eye(3, dtype=int)[[*order]], 0)])
        if np.linalg.det(np.eye(3)[[*order]]) < 0:
            steps = steps[[0, 2, 1, 3]]
        tetrahedra.append([np.ravel_multi_index((first + step).T, shape) for step in steps])
    return np.moveaxis(np.array(tetrahedra), 1, 2).reshape(-1, 4)

# SPDX-License-Identifier: MIT
"""Values at a point from cell values, and loads along a curved edge, for the validation cases."""

import numpy as np

import fea


def value_at(solution, values, point, *, cells=16):
    """Value (…) at a point: a quadratic fitted to the nearest cells of a sheet made by `grid`.

    The two triangles of a cell err in turn, one up, one down; their mean is a better reading.

    Args:
        values: (c, …) one for each triangle, in axes that turn little from one to the next.
        point: (3,) on the sheet, its border included.
        cells: how many of the nearest cells (pairs of triangles) are fitted.
    """
    mesh = solution.system.structure.mesh
    middle = pair_mean(mesh.points[mesh.cells["triangle"]].mean(axis=1)) - np.asarray(point)
    near = np.argsort(np.linalg.norm(middle, axis=1))[:cells]
    arm = middle[near]
    axes = np.linalg.svd(arm - arm.mean(axis=0), full_matrices=False)[2]
    x, y = (arm @ axes[:2].T / np.abs(arm).max()).T
    terms = np.column_stack([np.ones(cells), x, y, x * x, x * y, y * y])
    return np.linalg.lstsq(terms, pair_mean(np.asarray(values))[near], rcond=None)[0][0]


def pair_mean(values):
    """Mean over the two triangles of each cell of `grid`."""
    return 0.5 * (values[0::2] + values[1::2])


def chain_edges(mesh, place, key):
    """Mesh with a place "edge 0", … for each edge of a place, its nodes ordered by ``key``.

    Returns:
        The mesh, the names of the edges, and their ends (e, 2, 3).
    """
    nodes = mesh.place(place)
    nodes = nodes[np.argsort(key(mesh.points[nodes]))]
    pairs = np.column_stack([nodes[:-1], nodes[1:]])
    places = {f"edge {k}": pair for k, pair in enumerate(pairs)}
    return mesh.with_places({**mesh.places, **places}), list(places), mesh.points[pairs]


def held_at(mesh, place, motion):
    """Mesh and supports that hold each node of a place at its own values.

    Args:
        motion: name of a degree of freedom to the values (m,) for the place's nodes; what is
            zero but for rounding is held at zero.
    """
    nodes = mesh.place(place)
    places = {f"{place} {node}": [node] for node in nodes}
    supports = [
        fea.Support(f"{place} {node}", name, value if abs(value) > 1e-12 * largest else 0.0)
        for name, values in motion.items()
        for largest in [np.abs(values).max()]
        for node, value in zip(nodes, map(float, values), strict=True)
    ]
    return mesh.with_places({**mesh.places, **places}), supports


def order(errors):
    """Observed order of convergence over meshes refined by two in turn, from first to last."""
    return float(np.log2(abs(errors[0] / errors[-1]))) / (len(errors) - 1)

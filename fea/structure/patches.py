# SPDX-License-Identifier: MIT
"""Where a shell is smooth: triangles over whose common edge stress may be averaged.

Section forces are continuous within a smooth patch and jump between two. So the corners of cells
that meet in one node of the mesh are joined only as far as smooth edges lead round the node: a node
on a fold has one spot on either side of it.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components

from fea.material.laminate import Laminate
from fea.mesh.mesh import triangle_geometry
from fea.mesh.topology import edges_of
from fea.structure.model import Structure
from fea.structure.sections import ShellSection

IntArray = NDArray[np.int64]

FOLD = np.radians(25.0)
"""Angle between facets from which their common edge is a fold: fewer than 15 cells round a circle,
too few to tell a curve from a fold; judgement."""
STEP = 0.1
"""Relative difference of wall thickness over an edge from which it is a step; judgement. It lets a
wall thin out to a half within eight cells; what a smaller step brings, the stress error shows."""


@dataclass(frozen=True, eq=False)
class Spots:
    """The corners of all triangles, joined where they meet smoothly in a node.

    Attributes:
        of_corner: (c, 3) spot at each corner.
        closed: (s,) True where smooth cells lie all round the spot, False on a rim of its patch.
    """

    of_corner: IntArray
    closed: NDArray[np.bool_]


def smooth_patches(structure: Structure) -> IntArray:
    """Patch number (c,) of each triangle of the mesh, counted from 0.

    Triangles are of one patch when a chain of smooth edges joins them. An edge is smooth when
    exactly two triangles and no strut share it, their normals differ by less than `FOLD`, they have
    the same material or layup, offset and (for a layup) direction, and their walls differ by less
    than `STEP`. Directions given cell by cell may turn, by less than `FOLD` from cell to cell.

    Example:
        >>> import fea
        >>> mesh = fea.Mesh([[0, 0, 0], [1, 0, 0], [0, 1, 0], [1, 1, 0], [1, 0, 1]],
        ...                 {"triangle": [[0, 1, 2], [1, 3, 2], [1, 4, 3]]},
        ...                 zones={"wall": ("triangle", range(3))})
        >>> steel = fea.Isotropic(youngs_modulus=200e3, poisson_ratio=0.3)
        >>> structure = fea.Structure(mesh, {"wall": fea.ShellSection(steel, thickness=0.1)})
        >>> smooth_patches(structure).tolist()  # the third is folded up
        [0, 0, 1]
    """
    triangles = structure.mesh.cells.get("triangle", np.empty((0, 3), np.int64))
    pairs = _smooth_pairs(structure, triangles)
    return _joined(pairs[:, 0], pairs[:, 1], len(triangles))


def smooth_spots(structure: Structure) -> Spots:
    """The spots of a structure's triangles."""
    triangles = structure.mesh.cells.get("triangle", np.empty((0, 3), np.int64))
    pairs = _smooth_pairs(structure, triangles)
    same = triangles[pairs[:, 0]][:, :, None] == triangles[pairs[:, 1]][:, None, :]
    pair, first, second = np.nonzero(same)
    a, b = 3 * pairs[pair, 0] + first, 3 * pairs[pair, 1] + second
    spot = _joined(a, b, triangles.size)
    joins, corners = (np.bincount(k, minlength=spot.max(initial=-1) + 1) for k in (spot[a], spot))
    return Spots(spot.reshape(-1, 3), joins >= corners)


def shell_walls(structure: Structure) -> NDArray[np.float64]:
    """Wall thickness (c,) of each triangle of the mesh."""
    walls = np.zeros(len(structure.mesh.cells.get("triangle", ())))
    for zone, section in structure.sections.items():
        if isinstance(section, ShellSection):
            numbers = structure.mesh.zone(zone)[1]
            walls[numbers] = section.walls(len(numbers))
    return walls


def _smooth_pairs(structure: Structure, triangles: IntArray) -> IntArray:
    """Triangles (p, 2) that share a smooth edge."""
    edges = edges_of(triangles)
    pairs, _ = edges.two_sided_pairs()
    _, normals = triangle_geometry(structure.mesh.points, triangles)
    a, b = pairs.T
    walls, makes = shell_walls(structure), _makes(structure, len(triangles))
    smooth = np.sum(normals[a] * normals[b], axis=1) > np.cos(FOLD)
    smooth &= makes[a] == makes[b]
    along = _directions(structure, len(triangles))
    smooth &= ~(np.abs(np.sum(along[a] * along[b], axis=1)) <= np.cos(FOLD))
    smooth &= np.abs(walls[a] - walls[b]) <= STEP * np.minimum(walls[a], walls[b])
    return pairs[smooth & ~_along_struts(structure, triangles, pairs)]


def _makes(structure: Structure, count: int) -> IntArray:
    """A number (count,) for each triangle, the same for the same material, layup and offset."""
    makes = np.full(count, -1)
    known: dict[object, int] = {}
    for zone, section in structure.sections.items():
        if isinstance(section, ShellSection):
            made_of: object = section.material
            if isinstance(section.material, Laminate):
                stack = section.material
                by_cell = isinstance(section.direction, np.ndarray)
                along = "cell by cell" if by_cell else section.direction
                made_of = (stack.plies, stack.angles_deg, stack.thicknesses, along)
            key = (made_of, section.offset)
            makes[structure.mesh.zone(zone)[1]] = known.setdefault(key, len(known))
    return makes


def _directions(structure: Structure, count: int) -> NDArray[np.float64]:
    """Unit directions (count, 3) of the plies where they are given cell by cell; NaN elsewhere."""
    along = np.full((count, 3), np.nan)
    for zone, section in structure.sections.items():
        if isinstance(section, ShellSection) and isinstance(section.direction, np.ndarray):
            numbers = structure.mesh.zone(zone)[1]
            rows = np.broadcast_to(section.direction, (len(numbers), 3))
            along[numbers] = rows / np.linalg.norm(rows, axis=1, keepdims=True)
    return along


def _along_struts(structure: Structure, triangles: IntArray, pairs: IntArray) -> NDArray[np.bool_]:
    """Which pairs (p,) share an edge that a strut runs along: it takes section forces there."""
    lines = structure.mesh.cells.get("line", np.empty((0, 2), np.int64))
    count = len(structure.mesh.points)
    taken = np.sort(lines, axis=1) @ [count, 1]
    first, second = triangles[pairs[:, 0]], triangles[pairs[:, 1]]
    shared = (first[:, :, None] == second[:, None, :]).any(axis=2)
    low = np.where(shared, first, count).min(axis=1, initial=count)
    high = np.where(shared, first, -1).max(axis=1, initial=-1)
    return np.isin(low * count + high, taken)


def _joined(a: IntArray, b: IntArray, count: int) -> IntArray:
    graph = coo_matrix((np.ones(len(a)), (a, b)), shape=(count, count))
    return connected_components(graph, directed=False)[1].astype(np.int64)

# SPDX-License-Identifier: MIT
"""Quadratic tetrahedra as a mesh: their outer faces, and cells that are inverted or folded."""

import numpy as np
from numpy.typing import NDArray

from fea.element.solid import FACES, determinants
from fea.errors import MeshError, Problem

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]

_FOLDED = 1e-6  # least determinant over the greatest size of any in the cell


def outer_faces(cells: IntArray) -> tuple[IntArray, IntArray]:
    """Faces that one tetrahedron alone has.

    Args:
        cells: (c, 10) node numbers.

    Returns:
        Nodes (f, 6): corners counter-clockwise seen from outside, then midsides; and the cell (f,)
        that each face belongs to.

    Example:
        >>> faces, owner = outer_faces(np.arange(10)[None])
        >>> faces[:, :3].tolist(), owner.tolist()
        ([[0, 2, 1], [0, 1, 3], [1, 2, 3], [0, 3, 2]], [0, 0, 0, 0])
    """
    faces = cells[:, FACES].reshape(-1, 6)
    _, first, uses = np.unique(
        np.sort(faces, axis=1), axis=0, return_index=True, return_counts=True
    )
    single = np.sort(first[uses == 1])
    return faces[single], single // len(FACES)


def facing_outward(faces: IntArray, cells: IntArray) -> tuple[IntArray, IntArray]:
    """Faces (f, 6) in their order, each numbered counter-clockwise from outside, and cells (f,).

    Args:
        faces: (f, 6) node numbers, corners then midsides, in either sense of rotation.
        cells: (c, 10) node numbers of the tetrahedra.

    Raises:
        MeshError: a face that is no outer face of the tetrahedra.
    """
    outer, owner = outer_faces(cells)
    both = np.sort(np.concatenate([outer, faces]), axis=1)
    _, key = np.unique(both, axis=0, return_inverse=True)
    key = key.ravel()
    row = np.full(key.max(initial=-1) + 1, -1)
    row[key[: len(outer)]] = np.arange(len(outer))
    found = row[key[len(outer) :]]
    if np.any(found < 0):
        bad = int(np.flatnonzero(found < 0)[0])
        raise MeshError(
            f"triangle6 cell {bad} (nodes {faces[bad].tolist()}) is no outer face of a solid; a "
            "triangle6 carries loads on a solid's face and nothing else"
        )
    return outer[found], owner[found]


def folded_cells(nodes: Array) -> IntArray:
    """Numbers (m,) of cells (n, 10, 3) whose volume is not positive everywhere."""
    found = determinants(nodes)
    size = np.abs(found).max(axis=1)
    longest = np.ptp(nodes, axis=1).max(axis=1)
    return np.flatnonzero((found.min(axis=1) <= _FOLDED * size) | (size <= 1e-10 * longest**3))


def fold_in_words(nodes: Array) -> str:
    """What is wrong with a folded cell (10, 3), with the cure."""
    if determinants(nodes[None]).max() <= 0.0:
        return "is inverted: swap two of its corners and the midsides that go with them"
    return "is folded or flat: a midside node strays too far from its edge, or corners coincide"


def solid_faults(points: Array, cells: IntArray) -> list[Problem]:
    """What makes tetrahedra (c, 10) unusable, with the place of the first."""
    bad = folded_cells(points[cells])
    if not bad.size:
        return []
    first = points[cells[bad[0]]]
    x, y, z = first.mean(axis=0)
    return [Problem("mesh", (
        f"{len(bad)} solid cells have no positive volume everywhere, the first at "
        f"({x:.4g}, {y:.4g}, {z:.4g}) {fold_in_words(first)}"))]

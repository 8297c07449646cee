# SPDX-License-Identifier: MIT
"""Neighbouring shell cells must agree on which side is the top, and must not lie on each other."""

import numpy as np
from numpy.typing import NDArray

from fea.errors import ModelError
from fea.mesh.mesh import Mesh, triangle_geometry
from fea.mesh.quality import place
from fea.mesh.topology import edges_of
from fea.structure.model import Structure
from fea.structure.sections import ShellSection

_FOLDED_BACK = np.cos(np.radians(175.0))  # of the angle between the normals of two neighbours


def require_oriented(structure: Structure) -> None:
    """Refuse shell zones with inverted cells.

    Top, offset, ply order and pressure follow the normal of a cell, so a cell that runs its
    nodes the other way round than its neighbour is loaded and read on the wrong side; a cell that
    is turned back onto its neighbour covers the same place twice. Zones may differ from each
    other, and where three or more cells meet (a T-joint) nothing is asked.

    Args:
        structure: what is about to be solved.

    Raises:
        ModelError: names zone, cell and place of the first such cell.
    """
    for zone, section in structure.sections.items():
        if isinstance(section, ShellSection):
            _require_oriented(structure.mesh, zone)


def _require_oriented(mesh: Mesh, zone: str) -> None:
    triangles = mesh.zone_cells(zone)
    pairs, alike = edges_of(triangles).two_sided_pairs()
    if alike.any():
        raise ModelError(
            f"{_names(mesh, zone, pairs[alike])} run their common edge in the same direction, so "
            "top, offset and pressure mean opposite sides; reverse the nodes of the cell that is "
            "turned over"
        )
    normals = triangle_geometry(mesh.points, triangles)[1]
    turn = np.einsum("pi,pi->p", normals[pairs[:, 0]], normals[pairs[:, 1]])
    if np.any(turn < _FOLDED_BACK):
        raise ModelError(
            f"{_names(mesh, zone, pairs[turn < _FOLDED_BACK])} lie on each other, folded back "
            "along their common edge; move the node that was drawn across its neighbours"
        )


def _names(mesh: Mesh, zone: str, pairs: NDArray[np.int64]) -> str:
    first, second = (int(cell) for cell in pairs[0])
    where = place(mesh.points[mesh.zone_cells(zone)[pairs[0]]].reshape(-1, 3))
    return f"zone '{zone}': cells {first} and {second} at {where}"

# SPDX-License-Identifier: MIT
"""Strain and stress of solids, from the displacements of one case.

The four points of the quadrature rule are where a quadratic tetrahedron's stress is best. The
linear field through them is carried to the nodes and averaged there by volume, over the cells of
one section only: stress may jump where the material does.

Source: zienkiewicz-taylor-2005.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from fea.element.solid import TO_NODES
from fea.errors import ModelError
from fea.mesh.solid import facing_outward
from fea.structure.sections import SolidSection

if TYPE_CHECKING:
    from fea.solver.solids import Solids
    from fea.solver.solution import Solution

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]


def cell_means(values: Array, volume: Array) -> Array:
    """Means (c, 6) by volume of values (c, 4, 6) at the points of the rule."""
    return np.einsum("cqi,cq->ci", values, volume) / volume.sum(axis=1)[:, None]


def nodal_stress(bulk: Solids, vector: Array, cells: IntArray) -> tuple[IntArray, Array]:
    """Nodes (m,) of some cells, sorted, and the stress (m, 6) averaged there over these cells."""
    stress, volume = bulk.stresses(vector, cells)
    weight = volume.sum(axis=1)[:, None, None]
    nodes, local = np.unique(bulk.cells[cells], return_inverse=True)
    local = local.reshape(-1, 10)
    total, weights = np.zeros((len(nodes), 6)), np.zeros(len(nodes))
    np.add.at(total, local, weight * np.einsum("aq,cqi->cai", TO_NODES, stress))
    np.add.at(weights, local, weight[:, :, 0])
    return nodes, total / weights[:, None]


def surface_stress(solution: Solution, zone: str) -> Array:
    """Stress (f, 6, 6) at the nodes of the faces of a zone; see `Solution.solid_surface_stress`."""
    structure, bulk = solution.system.structure, solution.system.bulk
    kind, _ = structure.mesh.zone(zone)
    if kind != "triangle6" or bulk is None:
        raise ModelError(
            f"zone '{zone}' is made of {kind} cells; surface stress of a solid is read on a zone "
            "of its faces, see Mesh.with_faces"
        )
    faces = structure.mesh.zone_cells(zone)
    _, owner = facing_outward(faces, bulk.cells)
    result = np.empty((len(faces), 6, 6))
    for name, section in structure.sections.items():
        if isinstance(section, SolidSection):
            cells = structure.mesh.zone(name)[1]
            mine = np.isin(owner, cells)
            if mine.any():
                nodes, stress = nodal_stress(bulk, solution.vector, cells)
                result[mine] = stress[np.searchsorted(nodes, faces[mine])]
    return result

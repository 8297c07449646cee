# SPDX-License-Identifier: MIT
"""Strain and stress of solids, from the displacements of one case.

The four points of the quadrature rule are where a quadratic tetrahedron's stress is best. The
linear field through them is carried to the nodes and averaged there by volume, over the cells of
one section only: stress may jump where the material does.

Source: zienkiewicz-taylor-2005.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from fea.element.solid import TO_NODES
from fea.errors import ModelError
from fea.mesh.solid import facing_outward
from fea.structure.sections import SolidSection
from fea.tensors import von_mises_solid

if TYPE_CHECKING:
    from fea.solver.solids import Solids
    from fea.solver.solution import Solution

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]


def cell_means(values: Array, volume: Array) -> Array:
    """Means (c, 6) by volume of values (c, 4, 6) at the points of the rule."""
    return np.einsum("cqi,cq->ci", values, volume) / volume.sum(axis=1)[:, None]


@dataclass(frozen=True)
class NodalStress:
    """Stress at the nodes of some tetrahedra.

    Attributes:
        nodes: (m,) sorted.
        stress: (m, 6) averaged over the cells that meet in the node.
        error: (m,) by how much the von Mises stress may be off: the largest von Mises equivalent
            of the difference between the average and a cell's own field, over all nodes of the
            cells that meet here, so that a corner with one cell alone has an estimate as well.
    """

    nodes: IntArray
    stress: Array
    error: Array


def nodal_stress(bulk: Solids, vector: Array, cells: IntArray) -> NodalStress:
    """Stress and its error at the nodes of some cells, averaged over these cells alone."""
    stress, volume = bulk.stresses(vector, cells)
    own = np.einsum("aq,cqi->cai", TO_NODES, stress)
    weight = volume.sum(axis=1)[:, None]
    nodes, local = np.unique(bulk.cells[cells], return_inverse=True)
    local = local.reshape(-1, 10)
    total, weights, error = np.zeros((len(nodes), 6)), np.zeros(len(nodes)), np.zeros(len(nodes))
    np.add.at(total, local, weight[:, :, None] * own)
    np.add.at(weights, local, weight)
    mean = total / weights[:, None]
    gap = von_mises_solid(own - mean[local]).max(axis=1)
    np.maximum.at(error, local, gap[:, None])
    return NodalStress(nodes, mean, error)


def surface_stress(solution: Solution, zone: str) -> tuple[Array, Array]:
    """Stress (f, 6, 6) at the nodes of the faces of a zone, and its error (f, 6)."""
    structure, bulk = solution.system.structure, solution.system.bulk
    kind, _ = structure.mesh.zone(zone)
    if kind != "triangle6" or bulk is None:
        raise ModelError(
            f"zone '{zone}' is made of {kind} cells; surface stress of a solid is read on a zone "
            "of its faces, see Mesh.with_faces"
        )
    faces = structure.mesh.zone_cells(zone)
    _, owner = facing_outward(faces, bulk.cells)
    stress, error = np.empty((len(faces), 6, 6)), np.empty((len(faces), 6))
    for name, section in structure.sections.items():
        if isinstance(section, SolidSection):
            cells = structure.mesh.zone(name)[1]
            mine = np.isin(owner, cells)
            if mine.any():
                found = nodal_stress(bulk, solution.vector, cells)
                rows = np.searchsorted(found.nodes, faces[mine])
                stress[mine], error[mine] = found.stress[rows], found.error[rows]
    return stress, error

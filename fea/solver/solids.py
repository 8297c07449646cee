# SPDX-License-Identifier: MIT
"""All tetrahedra of a structure, prepared: numbered with scikit-fem, checked, and assembled."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import bsr_matrix, csr_matrix
from skfem import Dofs, ElementTetP2, MeshTet

from fea.element import solid
from fea.errors import MeshError
from fea.mesh.quality import place
from fea.mesh.solid import fold_in_words, folded_cells
from fea.structure.model import Structure
from fea.structure.sections import SolidSection

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]

_CHUNK = 2000  # cells at a time: their 30 × 30 matrices take 14 MB


@dataclass(frozen=True)
class Solids:
    """All quadratic tetrahedra of a mesh, in the mesh's order.

    Attributes:
        cells: (c, 10) node numbers;  nodes: (c, 10, 3) their coordinates.
        lame, shear: (c,) Lamé constants λ and μ.
        dofs: (c, 30) positions of the displacements, node by node.
    """

    cells: IntArray
    nodes: Array
    lame: Array
    shear: Array
    dofs: IntArray

    def cell_matrices(self, cells: IntArray | slice = slice(None)) -> Array:
        """Stiffness matrices (c, 30, 30) of some cells."""
        gradient, volume = solid.gradients(self.nodes[cells])
        return solid.stiffness_matrices(gradient, volume, self.lame[cells], self.shear[cells])

    def stiffness(self, total: int) -> csr_matrix:
        """Stiffness (total, total) of all cells."""
        return self._assembled(self.cell_matrices, total)

    def geometric_stiffness(self, vector: Array, total: int) -> csr_matrix:
        """Geometric stiffness (total, total) under the stresses of a solution's vector."""

        def matrices(cells: slice) -> Array:
            gradient, volume = solid.gradients(self.nodes[cells])
            return solid.geometric_matrices(gradient, volume, self.stresses(vector, cells)[0])

        return self._assembled(matrices, total)

    def _assembled(self, matrices: Callable[[slice], Array], total: int) -> csr_matrix:
        """Sum of the cells' matrices by 3 × 3 blocks, a quarter of the six a node by six."""
        used, local = np.unique(self.cells, return_inverse=True)
        count, local = len(used), local.reshape(self.cells.shape)
        parts = [
            _summed(
                (local[chunk, :, None] * count + local[chunk, None, :]).ravel(),
                matrices(chunk).reshape(-1, 10, 3, 10, 3).swapaxes(2, 3).reshape(-1, 9),
            )
            for chunk in _chunks(len(local))
        ]
        keys, blocks = _summed(*(np.concatenate(each) for each in zip(*parts, strict=True)))
        rows, columns = np.divmod(keys, count)
        pointers = np.searchsorted(rows, np.arange(count + 1))
        small = bsr_matrix((blocks.reshape(-1, 3, 3), columns, pointers)).tocsr()
        position = (6 * used[:, None] + np.arange(3)).ravel()
        lengths = np.zeros(total, dtype=np.int64)
        lengths[position] = np.diff(small.indptr)
        starts = np.concatenate([[0], np.cumsum(lengths)])
        return csr_matrix((small.data, position[small.indices], starts), shape=(total, total))

    def strains(self, vector: Array, cells: IntArray | slice) -> tuple[Array, Array]:
        """Strains (c, 4, 6) at the points of the rule, and the volumes (c, 4) they stand for."""
        gradient, volume = solid.gradients(self.nodes[cells])
        return solid.strains(gradient, vector[self.dofs[cells]].reshape(-1, 10, 3)), volume

    def stresses(self, vector: Array, cells: IntArray | slice) -> tuple[Array, Array]:
        """Stresses (c, 4, 6) at the points of the rule, and the volumes (c, 4)."""
        strain, volume = self.strains(vector, cells)
        return solid.stresses(strain, self.lame[cells], self.shear[cells]), volume


def solids(structure: Structure, dofs: IntArray | None) -> Solids | None:
    """Prepare the tetrahedra whose displacements have the positions ``dofs`` (c, 30).

    Raises:
        MeshError: a cell that is inverted or folded, with its zone and place.
    """
    if dofs is None:
        return None
    mesh = structure.mesh
    cells = mesh.cells["tetra10"]
    nodes = mesh.points[cells]
    _require_unfolded(structure, nodes)
    lame, shear = np.empty(len(cells)), np.empty(len(cells))
    for name, section in structure.sections.items():
        if isinstance(section, SolidSection):
            numbers = mesh.zone(name)[1]
            lame[numbers], shear[numbers] = section.lame_constants
    return Solids(cells, nodes, lame, shear, dofs)


def solid_positions(structure: Structure) -> IntArray:
    """Positions (c, 30) of the displacements of all tetrahedra, component k of node i at 6 i + k.

    scikit-fem numbers one unknown a corner and one an edge; each must be one node of the mesh.

    Raises:
        MeshError: two cells meet at an edge and do not share its midside node, or a node stands
            on more than one edge or corner.
    """
    points, cells = structure.mesh.points, structure.mesh.cells["tetra10"]
    corners = np.ascontiguousarray(points.T), np.ascontiguousarray(cells[:, :4].T)
    mesh = MeshTet(*corners, sort_t=False, validate=False)
    unknown = Dofs(mesh, ElementTetP2()).element_dofs.T
    node = np.full(unknown.max() + 1, -1)
    node[unknown] = cells
    torn = np.flatnonzero((node[unknown] != cells).any(axis=1))
    if torn.size:
        raise MeshError(
            f"{_where(structure, int(torn[0]))} meets a neighbour at an edge without sharing its "
            "midside node; merge coincident nodes"
        )
    owner = np.full(len(points), -1)
    owner[cells] = unknown
    twice = np.flatnonzero((owner[cells] != unknown).any(axis=1))
    if twice.size:
        raise MeshError(
            f"{_where(structure, int(twice[0]))} has a corner or midside where a neighbour has "
            "another one; neighbours must share whole faces"
        )
    return (6 * cells[:, :, None] + np.arange(3)).reshape(-1, 30)


def _require_unfolded(structure: Structure, nodes: Array) -> None:
    for chunk in _chunks(len(nodes)):
        bad = folded_cells(nodes[chunk])
        if bad.size:
            number = chunk.start + int(bad[0])
            raise MeshError(f"{_where(structure, number)} {fold_in_words(nodes[number])}")


def _where(structure: Structure, cell: int) -> str:
    centre = structure.mesh.points[structure.mesh.cells["tetra10"][cell]]
    zone, number = structure.zone_of("tetra10", cell)
    return f"zone '{zone}', cell {number} at {place(centre)}"


def _chunks(count: int) -> Iterator[slice]:
    return (slice(k, min(k + _CHUNK, count)) for k in range(0, count, _CHUNK))


def _summed(keys: IntArray, blocks: Array) -> tuple[IntArray, Array]:
    """Distinct keys in order, and the sums of the rows of ``blocks`` that share one."""
    order = np.argsort(keys, kind="stable")
    starts = np.flatnonzero(np.diff(keys[order], prepend=-1))
    return keys[order][starts], np.add.reduceat(blocks[order], starts, axis=0)

# SPDX-License-Identifier: MIT
"""Degrees of freedom: six a node (three in a solid), six a body, and one or three a joint."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from skfem import Dofs, ElementLineP1, ElementTriP1, ElementVector, MeshLine, MeshTri

from fea.solver.solids import solid_positions
from fea.structure.model import Structure

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]

_SKFEM = {"triangle": (MeshTri, ElementTriP1), "line": (MeshLine, ElementLineP1)}


@dataclass(frozen=True)
class Numbering:
    """Where each degree of freedom stands in the vectors of a structure.

    Attributes:
        nodes: number of nodes; component k of node i is 6 i + k.
        bodies: number of bodies; they follow the nodes in the same way.
        hinges: body number to the position of its hinge rotation, after the bodies.
        total: length of the vectors.
        cells: cell kind to (c, 6 k) positions of each cell's degrees of freedom; of a solid
            (c, 3 k), as its nodes do not rotate.
        tied: (t,) nodes that ties join to patches; they take part even where no cell uses them.
        patched: (p,) nodes of those patches; they move, and rotate where a cell makes them.
    """

    nodes: int
    bodies: int
    hinges: dict[int, int]
    total: int
    cells: dict[str, IntArray]
    tied: IntArray
    patched: IntArray

    def node(self, nodes: IntArray | int) -> IntArray:
        """Positions (m, 6) of the degrees of freedom of nodes."""
        return 6 * np.atleast_1d(nodes)[:, None] + np.arange(6)

    def body(self, index: int) -> IntArray:
        """Positions (6,) of the degrees of freedom of a body."""
        return 6 * (self.nodes + index) + np.arange(6)

    def active(self) -> NDArray[np.bool_]:
        """Which positions (total,) take part: those of used nodes, bodies, hinges."""
        mask = np.zeros(self.total, dtype=bool)
        for dofs in self.cells.values():
            mask[dofs] = True
        mask[self.node(self.tied)] = True
        mask[self.node(self.patched)[:, :3]] = True
        mask[6 * self.nodes :] = True
        return mask


def number(structure: Structure) -> Numbering:
    """Number the degrees of freedom of a structure."""
    mesh = structure.mesh
    nodes, bodies = len(mesh.points), len(structure.bodies)
    hinged = [
        index
        for index, body in enumerate(structure.bodies)
        if body.joined_to is not None and body.axis is not None
    ]
    first = 6 * (nodes + bodies)
    cells = {}
    for kind, numbers in mesh.cells.items():
        if len(numbers) and kind in _SKFEM:
            cells[kind] = _cell_dofs(mesh.points, kind, numbers)
    if len(mesh.table("tetra10")):
        cells["tetra10"] = solid_positions(structure)
    none = np.empty(0, np.int64)
    return Numbering(
        nodes=nodes,
        bodies=bodies,
        hinges={index: first + k for k, index in enumerate(hinged)},
        total=first + len(hinged),
        cells=cells,
        tied=np.concatenate([none, *(mesh.place(tie.place) for tie in structure.ties)]),
        patched=np.concatenate([none, *(mesh.place(tie.patch) for tie in structure.ties)]),
    )


def _cell_dofs(points: Array, kind: str, cells: IntArray) -> IntArray:
    """Positions (c, 6 k) by scikit-fem, which numbers six degrees of freedom node by node."""
    make_mesh, scalar = _SKFEM[kind]
    columns = np.ascontiguousarray(points.T), np.ascontiguousarray(cells.T)
    mesh = make_mesh(*columns, sort_t=False, validate=False)
    return Dofs(mesh, ElementVector(scalar(), dim=6)).element_dofs.T.astype(np.int64)

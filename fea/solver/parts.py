# SPDX-License-Identifier: MIT
"""The elastic parts of a structure, prepared: all triangles, all lines, all beds."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from fea.element import shell, strut
from fea.errors import ModelError
from fea.mesh.mesh import triangle_geometry
from fea.solver import contact
from fea.solver.kinematics import rigid_motion
from fea.solver.numbering import Numbering
from fea.structure.coupling import Bed, Spring, Strap
from fea.structure.model import Structure
from fea.structure.sections import ShellSection, StrutSection

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]


@dataclass(frozen=True)
class Shells:
    """All triangles of a mesh, in the mesh's order.

    Attributes:
        facets: frames and plane coordinates.
        stiffness: (c, 8, 8) section stiffness.
        factor: (c,) higher-order membrane factor.
        dofs: (c, 18) positions.
    """

    facets: shell.Facets
    stiffness: Array
    factor: Array
    dofs: IntArray

    @property
    def owners(self) -> IntArray:
        """Node numbers (c, 3)."""
        return self.dofs[:, ::6] // 6

    def cell_matrices(self, cells: IntArray | slice = slice(None)) -> Array:
        """Stiffness matrices (c, 18, 18) of some cells."""
        return shell.stiffness_matrices(
            self.facets[cells], self.stiffness[cells], self.factor[cells]
        )

    @cached_property
    def mean_strain(self) -> Array:
        """Quadrature mean (c, 8, 18) of the generalised strain matrices."""
        return shell.mean_strain_matrices(self.facets, self.stiffness, self.factor)


@dataclass(frozen=True)
class Struts:
    """All lines of a mesh, in the mesh's order; ``dofs`` are (c, 12) positions."""

    frames: strut.StrutFrames
    properties: strut.StrutProperties
    dofs: IntArray

    @property
    def owners(self) -> IntArray:
        """Node numbers (c, 2)."""
        return self.dofs[:, ::6] // 6

    def cell_matrices(self, cells: IntArray | slice = slice(None)) -> Array:
        """Stiffness matrices (c, 12, 12) of some cells, global axes at the nodes."""
        return strut.stiffness_matrices(self.frames[cells], self.properties[cells])

    def local_matrices(self, cells: IntArray | slice = slice(None)) -> Array:
        """Stiffness matrices (c, 12, 12) of some cells, local axes at the strut's ends."""
        return strut.local_stiffness(self.frames[cells], self.properties[cells])


@dataclass(frozen=True)
class BedSprings:
    """One bed as springs at its nodes; columns are the node's translations, then the body's dofs.

    Attributes:
        bed: what it was made from.
        nodes: (m,) nodes;  stiffness: (m, 3, 3) against relative displacement.
        area: (m,) of the zone that belongs to each node;  normal: (m, 3) mean unit normal there.
        relative: (m, 3, k) from ``dofs`` (m, k) to the displacement relative to the body.
    """

    bed: Bed
    nodes: IntArray
    stiffness: Array
    area: Array
    normal: Array
    relative: Array
    dofs: IntArray

    @property
    def owners(self) -> IntArray:
        """Nodes, and the body where there is one, as block rows (m, 1 or 2)."""
        return self.dofs[:, ::3][:, :2] // 6 if self.bed.body is not None else self.nodes[:, None]

    def cell_matrices(self, cells: IntArray | slice = slice(None)) -> Array:
        """Stiffness (m, 6k, 6k) of some springs, each between its k owners."""
        relative = self.relative[cells]
        springs = np.swapaxes(relative, 1, 2) @ self.stiffness[cells] @ relative
        size = 12 if self.bed.body is not None else 6
        used = [0, 1, 2, *range(6, size)]
        matrices = np.zeros((len(springs), size, size))
        matrices[:, np.ix_(used, used)[0], np.ix_(used, used)[1]] = springs
        return matrices

    def forces(self, displacement: Array) -> Array:
        """Forces (m, 3) of the bed on the zone's nodes under displacements (total,)."""
        stretch = np.einsum("mij,mj->mi", self.relative, displacement[self.dofs])
        both = -np.einsum("mij,mj->mi", self.stiffness, stretch)
        if self.bed.face is None:
            return both
        pulled = np.minimum(np.einsum("mi,mi->m", stretch, self.inward), 0.0)
        return both + (self.normal_stiffness * pulled)[:, None] * self.inward

    @property
    def inward(self) -> Array:
        """Unit vectors (m, 3) from the zone towards the body that lies on its face."""
        return -self.normal if self.bed.face == "bottom" else self.normal

    @property
    def normal_stiffness(self) -> Array:
        """Force per displacement along the normal (m,)."""
        return self.area * self.bed.normal_stiffness

    def pressure(self, displacement: Array) -> Array:
        """Pressure (m,) between zone and body at the nodes; tension is negative."""
        return np.einsum("mi,mi->m", self.forces(displacement), -self.inward) / self.area

    def one_sided(self, total: int) -> contact.OneSided:
        """The springs along the normal, for a bed that only presses."""
        rows = np.einsum("mi,mij->mj", self.inward, self.relative)
        return contact.one_sided(rows, self.dofs, self.normal_stiffness, np.zeros(len(rows)), total)


@dataclass(frozen=True)
class StrapSpring:
    """A strap as one spring: it grows longer by ``row`` (k,) times the displacements ``dofs``."""

    strap: Strap
    row: Array
    dofs: IntArray

    @property
    def owners(self) -> IntArray:
        """The nodes of its ends, then the body (1, k / 6)."""
        return self.dofs[None, ::6] // 6

    def cell_matrices(self, cells: IntArray | slice = slice(None)) -> Array:
        """Stiffness (1, k, k) of the strap as if it pushed as well."""
        return self.strap.stiffness * np.outer(self.row, self.row)[None][cells]

    def tension(self, displacement: Array) -> float:
        """Tension under displacements (total,)."""
        stretch = float(self.row @ displacement[self.dofs]) - self.strap.slack
        return self.strap.stiffness * max(stretch, 0.0)

    def end_forces(self, displacement: Array) -> tuple[IntArray, Array]:
        """Nodes (m,) that the strap is fastened to, and its forces (m, 3) on them."""
        pull = -self.tension(displacement) * self.row.reshape(-1, 6)[:-1, :3]
        return self.owners[0, :-1], pull

    def one_sided(self, total: int) -> contact.OneSided:
        """The strap as one spring that only pulls."""
        stiffness, slack = np.array([self.strap.stiffness]), np.array([self.strap.slack])
        return contact.one_sided(self.row[None], self.dofs[None], stiffness, slack, total)


@dataclass(frozen=True)
class GroundSprings:
    """An elastic support as a diagonal matrix at each of its owners; ``dofs`` (m, 6) positions."""

    spring: Spring
    dofs: IntArray

    @property
    def owners(self) -> IntArray:
        """Nodes or the body (m, 1)."""
        return self.dofs[:, :1] // 6

    @property
    def diagonal(self) -> Array:
        """Stiffness (6,) of each component."""
        values = np.zeros(6)
        values[list(self.spring.components)] = self.spring.stiffness
        return values

    def cell_matrices(self, cells: IntArray | slice = slice(None)) -> Array:
        """Stiffness matrices (m, 6, 6) of some springs."""
        every = np.broadcast_to(np.diag(self.diagonal), (len(self.dofs), 6, 6))
        return np.array(every[cells])

    def forces(self, displacement: Array) -> Array:
        """Forces and moments (m, 6) on the owners under displacements (total,)."""
        return -self.diagonal * displacement[self.dofs]


def shells(structure: Structure, numbering: Numbering) -> Shells | None:
    """Prepare the triangles; raises `ModelError` naming the zone of a cell that has no frame."""
    mesh = structure.mesh
    triangles = mesh.cells.get("triangle", np.empty((0, 3), np.int64))
    if not len(triangles):
        return None
    stiffness = np.empty((len(triangles), 8, 8))
    direction = np.full((len(triangles), 3), np.nan)
    for name, section in structure.sections.items():
        if isinstance(section, ShellSection):
            numbers = mesh.zone(name)[1]
            stiffness[numbers] = section.stiffness(len(numbers))
            along = section.directions(len(numbers))
            if along is not None:
                direction[numbers] = along
    _require_area(structure, triangles)
    frames = shell.facets(mesh.points, triangles, direction)
    bad = np.flatnonzero(np.isnan(frames.axes).any(axis=(1, 2)))
    if bad.size:
        zone, cell = _owner(structure, "triangle", int(bad[0]))
        raise ModelError(
            f"zone '{zone}', cell {cell}: the material direction {direction[bad[0]].tolist()} is "
            "normal to the surface there; give a direction that lies along the wall"
        )
    factor = shell.higher_order_factor(mesh.points, triangles, frames, stiffness)
    return Shells(frames, stiffness, factor, numbering.cells["triangle"])


def struts(structure: Structure, numbering: Numbering) -> Struts | None:
    """Prepare the lines; raises `ModelError` naming the zone of a strut that has no frame."""
    mesh = structure.mesh
    lines = mesh.cells.get("line", np.empty((0, 2), np.int64))
    if not len(lines):
        return None
    up, start, end = (np.empty((len(lines), 3)) for _ in range(3))
    values = np.empty((6, len(lines)))
    for name, section in structure.sections.items():
        if isinstance(section, StrutSection):
            numbers = mesh.zone(name)[1]
            up[numbers], start[numbers] = section.up, section.offset_start
            end[numbers] = section.offset_end
            values[:, numbers] = _strut_values(section)[:, None]
    frames = strut.frames(mesh.points[lines], up, start, end)
    bad = np.flatnonzero(np.isnan(frames.axes).any(axis=(1, 2)))
    if bad.size:
        zone, cell = _owner(structure, "line", int(bad[0]))
        raise ModelError(
            f"zone '{zone}', cell {cell}: the strut has no length, or its up vector "
            f"{up[bad[0]].tolist()} runs along it; give an up across the strut"
        )
    return Struts(frames, strut.StrutProperties(*values), numbering.cells["line"])


def bed_springs(structure: Structure, numbering: Numbering, bed: Bed) -> BedSprings:
    """Lump a bed at the nodes of its zone with their tributary areas and mean normals."""
    mesh = structure.mesh
    cells = mesh.zone_cells(bed.zone)
    area, normal = triangle_geometry(mesh.points, cells)
    vector = np.zeros((len(mesh.points), 3))
    np.add.at(vector, cells, (area[:, None] * normal / 3.0)[:, None, :])
    weight = np.zeros(len(mesh.points))
    np.add.at(weight, cells, (area / 3.0)[:, None])
    nodes = np.unique(cells)
    length = np.linalg.norm(vector[nodes], axis=1, keepdims=True)
    unit = vector[nodes] / np.where(length > 0.0, length, 1.0)
    along = unit[:, :, None] * unit[:, None, :]
    per_area = bed.normal_stiffness * along + bed.tangential_stiffness * (np.eye(3) - along)
    stiffness = weight[nodes, None, None] * per_area
    dofs = numbering.node(nodes)[:, :3]
    relative = np.broadcast_to(np.eye(3), (len(nodes), 3, 3))
    if bed.body is not None:
        index = structure.body_index[bed.body]
        offsets = mesh.points[nodes] - np.asarray(structure.bodies[index].at)
        carried = rigid_motion(offsets)[:, :3]
        relative = np.concatenate([relative, -carried], axis=2)
        body = np.broadcast_to(numbering.body(index), (len(nodes), 6))
        dofs = np.concatenate([dofs, body], axis=1)
    relative = np.ascontiguousarray(relative)
    return BedSprings(bed, nodes, stiffness, weight[nodes], unit, relative, dofs)


def ground_springs(structure: Structure, numbering: Numbering, spring: Spring) -> GroundSprings:
    """The springs of an elastic support."""
    if spring.place in structure.body_index:
        return GroundSprings(spring, numbering.body(structure.body_index[spring.place])[None])
    return GroundSprings(spring, numbering.node(structure.mesh.place(spring.place)))


def strap_spring(structure: Structure, numbering: Numbering, strap: Strap) -> StrapSpring:
    """The elongation of a strap as a row: change of length of the line through its points."""
    mesh = structure.mesh
    index = structure.body_index[strap.body]
    first, last = (mesh.place(place) for place in strap.ends)
    ends = [mesh.points[nodes].mean(axis=0) for nodes in (first, last)]
    line = np.array([ends[0], *strap.over, ends[1]], dtype=float)
    steps = np.diff(line, axis=0)
    length = np.linalg.norm(steps, axis=1)
    if not np.all(length > 0.0):
        raise ModelError(f"strap '{strap.name}': two points that follow each other coincide")
    along = steps / length[:, None]
    carried = rigid_motion(line[1:-1] - np.asarray(structure.bodies[index].at))[:, :3]
    on_body = np.einsum("pi,pij->j", along[:-1] - along[1:], carried)
    rows = [
        np.tile(np.concatenate([pull / len(nodes), np.zeros(3)]), len(nodes))
        for nodes, pull in ((first, -along[0]), (last, along[-1]))
    ]
    dofs = [numbering.node(first).ravel(), numbering.node(last).ravel(), numbering.body(index)]
    return StrapSpring(strap, np.concatenate([*rows, on_body]), np.concatenate(dofs))


def _strut_values(section: StrutSection) -> Array:
    young, shear = section.material.youngs_modulus, section.material.shear_modulus
    shear_y, shear_z = (
        np.inf if area is None else shear * area
        for area in (section.shear_area_y, section.shear_area_z)
    )
    return np.array(
        [
            young * section.area,
            young * section.i_y,
            young * section.i_z,
            shear * section.j,
            shear_y,
            shear_z,
        ]
    )


def _require_area(structure: Structure, triangles: IntArray) -> None:
    area, _ = triangle_geometry(structure.mesh.points, triangles)
    edges = structure.mesh.points[triangles] - structure.mesh.points[np.roll(triangles, 1, axis=1)]
    longest = np.linalg.norm(edges, axis=2).max(axis=1)
    bad = np.flatnonzero(area <= 1e-10 * longest**2)
    if bad.size:
        zone, cell = _owner(structure, "triangle", int(bad[0]))
        place = ", ".join(f"{x:.4g}" for x in structure.mesh.points[triangles[bad[0], 0]])
        raise ModelError(
            f"zone '{zone}', cell {cell} at ({place}) has no area; remove the cell or merge its "
            "nodes"
        )


def _owner(structure: Structure, kind: str, number: int) -> tuple[str, int]:
    """Zone with a section that holds a cell, and the cell's place in the zone's order."""
    for name in structure.sections:
        zone_kind, numbers = structure.mesh.zone(name)
        if zone_kind == kind and (found := np.flatnonzero(numbers == number)).size:
            return name, int(found[0])
    return "?", number

# SPDX-License-Identifier: MIT
"""The solution of one case: displacement, and stress, forces and reactions recovered from it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fea.errors import ModelError
from fea.material.laminate import Laminate
from fea.solver.gates import Gate
from fea.solver.solidstress import cell_means, nodal_stress, surface_stress
from fea.structure.sections import Section, ShellSection, SolidSection, StrutSection

if TYPE_CHECKING:
    from fea.solver.kinematics import Kinematics
    from fea.solver.parts import StrapSpring
    from fea.solver.solids import Solids
    from fea.solver.system import System

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Solution:
    """One solved case. Every number here has passed the gates.

    Attributes:
        system: the prepared structure.
        case: name of the case.
        vector: (N,) all degrees of freedom;  forces: (N,) applied.
        gates: what was measured at the gates.
    """

    system: System
    case: str
    vector: Array
    forces: Array
    gates: tuple[Gate, ...]

    def times(self, factor: float, case: str) -> Solution:
        """The solution under loads ``factor`` times as large, factor above 0.

        Exact with one-sided contact and straps too: they start without gap or pull, so that what
        presses under the loads presses under their multiple.
        """
        return replace(
            self, case=case, vector=factor * self.vector, forces=factor * self.forces
        )

    @cached_property
    def displacement(self) -> Array:
        """Displacements and rotations (n, 6) of the nodes; NaN where a node has none."""
        numbering = self.system.numbering
        count = 6 * numbering.nodes
        values = np.where(numbering.active()[:count], self.vector[:count], np.nan)
        return values.reshape(-1, 6)

    @property
    def points(self) -> Array:
        """Points (n, 3) of the nodes at which forces act: where they were before the motion."""
        return self.system.structure.mesh.points

    @cached_property
    def shell_motion(self) -> Array:
        """Motion (c, 18) of the nodes of all triangles, from which strains follow."""
        assert self.system.shells is not None
        return self.vector[self.system.shells.dofs]

    @cached_property
    def strut_motion(self) -> Array:
        """Motion (c, 12) of the ends of all struts in local axes, from which forces follow."""
        assert self.system.struts is not None
        nodes = self.vector[self.system.struts.dofs]
        return np.einsum("cij,cj->ci", self.system.struts.frames.to_ends, nodes)

    def cell_forces(self, kind: str, numbers: IntArray) -> Array:
        """Forces and moments (c, dofs) that the nodes exert on some cells of a kind."""
        parts = {"triangle": self.system.shells, "line": self.system.struts}
        part = self.system.bulk if kind == "tetra10" else parts[kind]
        assert part is not None
        moved = self.vector[part.dofs[numbers]]
        return np.einsum("cij,cj->ci", part.cell_matrices(numbers), moved)

    def body(self, name: str) -> Array:
        """Displacement and rotation (6,) of a rigid body at its reference point."""
        return self.vector[self._owner_dofs(name)[0]]

    @property
    def kinematics(self) -> Kinematics:
        """Ties, joints and supports as one linear map."""
        return self.system.motion

    @cached_property
    def out_of_balance(self) -> Array:
        """Forces (N,) of cells and springs less the loads: what supports, ties and joints carry."""
        excess = self.system.springs.excess(self.vector)
        return np.asarray(self.system.stiffness @ self.vector - excess - self.forces)

    @cached_property
    def reactions(self) -> Array:
        """Forces (N,) that supports and ground beds exert on the structure."""
        carried = self.kinematics.lift.T @ self.out_of_balance
        result = np.zeros_like(self.vector)
        result[self.system.motion.held] = carried[self.system.motion.held]
        for springs in self.system.beds:
            if springs.bed.body is None:
                np.add.at(result, springs.dofs, springs.forces(self.vector))
        for spring in self.system.elastic:
            np.add.at(result, spring.dofs, spring.forces(self.vector))
        return result

    def reaction(self, place: str) -> Array:
        """Force and moment (6,) that the support of a place or body exerts on the structure.

        The moment is about the mean position of the place's nodes, or the body's point.
        """
        dofs = self._owner_dofs(place)
        forces = self.reactions[dofs]
        if place in self.system.structure.body_index:
            return forces[0]
        points = self.points[self.system.structure.mesh.place(place)]
        arm = points - points.mean(axis=0)
        moment = forces[:, 3:] + np.cross(arm, forces[:, :3])
        return np.concatenate([forces[:, :3].sum(axis=0), moment.sum(axis=0)])

    def bed_forces(self, zone: str) -> tuple[IntArray, Array]:
        """Nodes (m,) of a zone and the forces (m, 3) that its beds exert on them."""
        total = np.zeros((self.system.numbering.nodes, 3))
        found = [springs for springs in self.system.beds if springs.bed.zone == zone]
        if not found:
            raise ModelError(f"zone '{zone}' lies on no bed")
        for springs in found:
            total[springs.nodes] += springs.forces(self.vector)
        nodes = self.system.structure.mesh.zone_nodes(zone)
        return nodes, total[nodes]

    def pressure(self, zone: str) -> tuple[IntArray, Array, Array]:
        """Pressure between a zone and the body on its bed.

        Returns:
            Nodes (m,) of the zone, the pressure (m,) at them (tension negative, on a two-sided bed
            only), and the area (m,) that belongs to each.
        """
        found = [springs for springs in self.system.beds if springs.bed.zone == zone]
        if not found:
            raise ModelError(f"zone '{zone}' lies on no bed")
        total = np.sum([springs.pressure(self.vector) for springs in found], axis=0)
        return found[0].nodes, total, found[0].area

    def tension(self, strap: str) -> float:
        """Tension of a strap, never negative."""
        return self._strap(strap).tension(self.vector)

    def strap_forces(self, strap: str) -> tuple[IntArray, Array]:
        """Nodes (m,) that a strap is fastened to, and the forces (m, 3) that it exerts on them."""
        return self._strap(strap).end_forces(self.vector)

    def _strap(self, strap: str) -> StrapSpring:
        for spring in self.system.straps:
            if spring.strap.name == strap:
                return spring
        known = ", ".join(f"'{spring.strap.name}'" for spring in self.system.straps) or "none"
        raise ModelError(f"there is no strap '{strap}'; this structure has {known}")

    @property
    def strain_energy(self) -> float:
        """Elastic energy: ½ uᵀKu, less what one-sided springs that let go would hold."""
        both = 0.5 * float(self.vector @ (self.system.stiffness @ self.vector))
        return both - self.system.springs.surplus(self.vector)

    @property
    def work(self) -> float:
        """Work (f + reactions at prescribed displacements)·u: twice the strain energy."""
        held = self.system.motion.held
        return float(self.forces @ self.vector + self.reactions[held] @ self.vector[held])

    def strains(self, zone: str) -> Array:
        """Generalised strains (c, 8) per cell, quadrature mean, in material axes.

        Components ε11 ε22 γ12 at the mesh surface, curvatures κ11 κ22 2κ12, shear γ13 γ23.
        """
        return zone_strains([self], zone)[0]

    def section_forces(self, zone: str) -> Array:
        """Membrane forces, moments and shear forces (c, 8) about the mesh surface.

        N11 N22 N12 in force per length, M11 M22 M12 in moment per length, Q13 Q23 in force per
        length; material axes. Q is that of the cell's own shear strain, which is lost beside its
        bending where cells are long beside the wall (8 % low at ten thicknesses); the recovered
        section forces (`System.recovery`) take it from the slopes of the moments instead.
        """
        numbers = self.shell_zone(zone)[1]
        assert self.system.shells is not None
        stiffness = self.system.shells.stiffness[numbers]
        return np.einsum("cij,cj->ci", stiffness, self.strains(zone))

    def stress(self, zone: str, at: str) -> Array:
        """Stress (c, 3) per cell, components 11, 22, 12 in material axes, quadrature mean.

        Args:
            zone: triangle zone.
            at: "top" (the +normal face), "middle" or "bottom"; of a laminate the outermost ply,
                or the ply that holds the middle (the upper one where two meet there).

        Raises:
            ModelError: the zone is not made of triangles, or ``at`` is unknown.
        """
        section, numbers = self.shell_zone(zone)
        return layer_stress(section, self.strains(zone), section.heights(len(numbers), at), at)

    def ply_stress(self, zone: str) -> Array:
        """Stress (c, plies, 3, 3) at bottom, middle and top of each ply, in ply axes."""
        section, _ = self.shell_zone(zone)
        if not isinstance(section.material, Laminate):
            raise ModelError(f"zone '{zone}' is no laminate; use stress(zone, at)")
        strain = self.strains(zone)
        middle = strain[:, :3] + section.offset * strain[:, 3:6]
        return section.material.ply_stresses(middle, strain[:, 3:6])

    def strut_forces(self, zone: str) -> Array:
        """Section forces (c, 2, 6) at both ends: N, Qy, Qz, T, My, Mz in local axes.

        They are the forces that the part beyond the section exerts on the part before it, so N is
        tension, and My and Mz follow the same sign at both ends.
        """
        numbers = self._strut(zone)[1]
        assert self.system.struts is not None
        stiffness = self.system.struts.local_matrices(numbers)
        ends = np.einsum("cij,cj->ci", stiffness, self.strut_motion[numbers]).reshape(-1, 2, 6)
        return ends * np.array([-1.0, 1.0])[None, :, None]

    def fibre_stress(self, zone: str) -> Array:
        """Axial stress (c, 2, p) at both ends in the section's fibre points."""
        section, _ = self._strut(zone)
        if section.fibre_points is None:
            raise ModelError(f"zone '{zone}': its section has no fibre_points to report stress at")
        forces = self.strut_forces(zone)
        y, z = np.asarray(section.fibre_points).T
        axial = forces[..., 0, None] / section.area
        bending = forces[..., 4, None] * z / section.i_y - forces[..., 5, None] * y / section.i_z
        return axial + bending

    def solid_strain(self, zone: str) -> Array:
        """Strain (c, 6) per tetrahedron, quadrature mean: xx yy zz xy yz zx, shear doubled."""
        bulk, numbers = self._solid(zone)
        return cell_means(*bulk.strains(self.vector, numbers))

    def solid_stress(self, zone: str) -> Array:
        """Stress (c, 6) per tetrahedron, quadrature mean: xx yy zz xy yz zx in global axes."""
        bulk, numbers = self._solid(zone)
        return cell_means(*bulk.stresses(self.vector, numbers))

    def solid_nodal_stress(self, zone: str) -> Array:
        """Stress (m, 6) at the nodes of a tetra10 zone, in the order of `Mesh.zone_nodes`.

        Components as `solid_stress`; averaged over the cells of this zone that meet in the node.
        """
        bulk, numbers = self._solid(zone)
        return nodal_stress(bulk, self.vector, numbers).stress

    def solid_nodal_error(self, zone: str) -> Array:
        """By how much the von Mises stress (m,) at those nodes may be off; see `NodalStress`.

        An estimate from the jumps between cells. Mean stress is no part of it, and at a re-entrant
        edge or a held one, where stress has no limit, it says so by not shrinking.
        """
        bulk, numbers = self._solid(zone)
        return nodal_stress(bulk, self.vector, numbers).error

    def solid_surface_stress(self, zone: str) -> Array:
        """Stress (f, 6, 6) at the six nodes of each face of a triangle6 zone; last axis as above.

        Averaged over the cells that meet in the node and have the section of the face's own cell.
        """
        return surface_stress(self, zone)[0]

    def solid_surface_error(self, zone: str) -> Array:
        """By how much the von Mises stress (f, 6) there may be off, as `solid_nodal_error`."""
        return surface_stress(self, zone)[1]

    def section_cut(self, point: ArrayLike, normal: ArrayLike) -> Array:
        """Force and moment (6,) that the cells beyond a plane exert on those before it.

        Cells belong to the side on which their centroid lies; the moment is about ``point``. Beds
        and ties that cross the plane are not part of the cut.
        """
        point, normal = np.asarray(point, dtype=float), np.asarray(normal, dtype=float)
        structure = self.system.structure
        points = structure.mesh.points
        internal = np.zeros((len(points), 6))
        before = np.zeros(len(points), dtype=bool)
        for kind, part in (
            ("triangle", self.system.shells),
            ("line", self.system.struts),
            ("tetra10", self.system.bulk),
        ):
            if part is None:
                continue
            cells = structure.mesh.cells[kind]
            beyond = (points[cells].mean(axis=1) - point) @ normal > 0.0
            before[cells[~beyond]] = True
            numbers = np.flatnonzero(beyond)
            forces = self.cell_forces(kind, numbers)
            np.add.at(internal.reshape(-1), part.dofs[numbers], -forces)
        crossing = internal[before]
        arm = self.points[before] - point
        moment = crossing[:, 3:] + np.cross(arm, crossing[:, :3])
        return np.concatenate([crossing[:, :3].sum(axis=0), moment.sum(axis=0)])

    def _owner_dofs(self, place: str) -> IntArray:
        structure, numbering = self.system.structure, self.system.numbering
        if place in structure.body_index:
            return numbering.body(structure.body_index[place])[None]
        return numbering.node(structure.mesh.place(place))

    def shell_zone(self, zone: str) -> tuple[ShellSection, IntArray]:
        """Section and cell numbers (c,) of a shell zone; raises `ModelError` for a strut zone."""
        section, numbers = self._section(zone)
        if not isinstance(section, ShellSection):
            raise _other_reader(zone, section)
        return section, numbers

    def _strut(self, zone: str) -> tuple[StrutSection, IntArray]:
        section, numbers = self._section(zone)
        if not isinstance(section, StrutSection):
            raise _other_reader(zone, section)
        return section, numbers

    def _solid(self, zone: str) -> tuple[Solids, IntArray]:
        section, numbers = self._section(zone)
        if not isinstance(section, SolidSection):
            raise _other_reader(zone, section)
        assert self.system.bulk is not None
        return self.system.bulk, numbers

    def _section(self, zone: str) -> tuple[Section, IntArray]:
        structure = self.system.structure
        if zone not in structure.sections:
            structure.mesh.zone(zone)
            known = ", ".join(f"'{name}'" for name in structure.sections)
            raise ModelError(f"zone '{zone}' has no section of its own; read one of {known}")
        return structure.sections[zone], structure.mesh.zone(zone)[1]


def _other_reader(zone: str, section: Section) -> ModelError:
    """The error of asking a zone for what it has not, naming what it has."""
    what = {
        ShellSection: "is a shell; use stress or section_forces there",
        StrutSection: "is made of struts; use strut_forces or fibre_stress there",
        SolidSection: "is a solid; use solid_stress, or solid_surface_stress on its faces",
    }
    return ModelError(f"zone '{zone}' {what[type(section)]}")


def zone_strains(solutions: Sequence[Solution], zone: str) -> Array:
    """Generalised strains (cases, c, 8) of a shell zone in solutions that share one system."""
    first = solutions[0]
    _, numbers = first.shell_zone(zone)
    shells = first.system.shells
    assert shells is not None
    block = np.stack([solution.shell_motion[numbers] for solution in solutions], axis=2)
    strains = shells.mean_strain[numbers] @ block
    return np.moveaxis(strains, 2, 0)


def layer_stress(section: ShellSection, strains: Array, heights: Array, at: str) -> Array:
    """Stress (..., 3) from generalised strains (..., 8) at heights of a shape that fits (...).

    Components 11, 22, 12 in material axes; of a laminate in its outermost ply, or for "middle" in
    the ply that holds the middle.
    """
    local = strains[..., :3] + heights[..., None] * strains[..., 3:6]
    if isinstance(section.material, Laminate):
        plies = section.material.ply_stiffness
        middle = int(np.searchsorted(section.material.interfaces, 1e-12, side="right")) - 1
        stiffness = plies[{"top": len(plies) - 1, "bottom": 0, "middle": middle}[at]]
    else:
        stiffness = section.material.plane_stress
    return local @ stiffness.T

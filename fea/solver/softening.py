# SPDX-License-Identifier: MIT
"""How much stiffness the forces of a solved case take away: the softening matrix of a structure."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_matrix, diags

from fea.element import geometric
from fea.solver.assembly import Pattern
from fea.solver.solution import Solution
from fea.solver.system import System
from fea.structure.sections import ShellSection, StrutSection
from fea.tensors import principal_solid

Array = NDArray[np.float64]

_NOTHING = 1e-12  # compression below this share of the largest force is rounding


@dataclass(frozen=True, eq=False)
class Softening:
    """Softening matrices of one system, the pattern made once. Make it with `Softening.of`.

    Membrane forces of shells, all section forces of struts, stresses of solids, and the forces of
    beds that turn with a body enter. Ties, rigid offsets, joints and straps turn to first order
    only.
    """

    system: System
    pattern: Pattern

    @classmethod
    def of(cls, system: System) -> "Softening":
        """Prepare a system."""
        beds = [springs for springs in system.beds if springs.bed.body is not None]
        parts = [part for part in (system.shells, system.struts, *beds) if part is not None]
        count = system.numbering.nodes + system.numbering.bodies
        return cls(system, Pattern.of([part.owners for part in parts], count))

    def matrix(self, solution: Solution) -> csr_matrix:
        """The matrix S (free, free) for which K − λ S is the stiffness under λ times the loads."""
        system = self.system
        matrices = []
        if system.shells is not None:
            membrane = membrane_forces(solution)
            matrices.append(geometric.shell_matrices(system.shells.facets, -membrane))
        if system.struts is not None:
            own = system.struts.properties
            radius_squared = (own.bending_y + own.bending_z) / own.axial
            forces = strut_forces(solution)
            matrices.append(
                geometric.strut_matrices(system.struts.frames, -forces, radius_squared)
            )
        for springs in system.beds:
            if springs.bed.body is not None:
                body = system.structure.bodies[system.structure.body_index[springs.bed.body]]
                arms = system.structure.mesh.points[springs.nodes] - np.asarray(body.at)
                pull = springs.forces(solution.vector)  # on the nodes: minus the spring's tension
                matrices.append(geometric.carried_spring_matrices(arms, pull))
        full = self.pattern.assemble(
            [matrix.__getitem__ for matrix in matrices], system.numbering.total
        )
        if system.bulk is not None:
            full = full - system.bulk.geometric_stiffness(solution.vector, system.numbering.total)
        return system.motion.condense(full)


def frozen_stiffness(solution: Solution) -> csr_matrix:
    """Stiffness (free, free) with the one-sided springs that are idle in this case left out."""
    system = solution.system
    idle = np.flatnonzero(system.springs.stretch(solution.vector) <= 0.0)
    if not idle.size:
        return system.reduced
    rows = system.free_springs.rows[idle]
    return csr_matrix(system.reduced - rows.T @ diags(system.springs.stiffness[idle]) @ rows)


def membrane_forces(solution: Solution) -> Array:
    """Membrane forces N11, N22, N12 (c, 3) of all triangles, force per length, material axes."""
    structure = solution.system.structure
    forces = np.empty((len(structure.mesh.cells["triangle"]), 3))
    for zone, section in structure.sections.items():
        if isinstance(section, ShellSection):
            forces[structure.mesh.zone(zone)[1]] = solution.section_forces(zone)[:, :3]
    return forces


def strut_forces(solution: Solution) -> Array:
    """Section forces N, Qy, Qz, T, My, Mz (c, 2, 6) at both ends of all lines, local axes."""
    structure = solution.system.structure
    forces = np.empty((len(structure.mesh.cells["line"]), 2, 6))
    for zone, section in structure.sections.items():
        if isinstance(section, StrutSection):
            forces[structure.mesh.zone(zone)[1]] = solution.strut_forces(zone)
    return forces


def only_pulled(solution: Solution) -> bool:
    """Whether nothing in this case can soften: shells and solids pulled all ways, struts along.

    Pure tension leaves S without a positive eigenvalue. False is no statement.
    """
    system = solution.system
    if any(springs.bed.body is not None for springs in system.beds):
        return False
    if system.shells is not None:
        n11, n22, n12 = membrane_forces(solution).T
        mean, half = 0.5 * (n11 + n22), np.hypot(0.5 * (n11 - n22), n12)
        if np.any(mean - half < -_NOTHING * np.max(np.abs(mean) + half)):
            return False
    if system.struts is not None:
        forces = strut_forces(solution)
        axial, others = forces[:, :, 0], np.abs(forces[:, :, 1:]).max(axis=(0, 1))
        scale = _NOTHING * np.abs(axial).max()
        length = system.struts.frames.length.max()
        if np.any(axial < -scale) or np.any(others > scale * np.array([1, 1, *[length] * 3])):
            return False
    if system.bulk is not None:
        stress = principal_solid(system.bulk.stresses(solution.vector, slice(None))[0])
        if stress.min() < -_NOTHING * np.abs(stress).max():
            return False
    return True

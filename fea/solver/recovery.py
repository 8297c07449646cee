# SPDX-License-Identifier: MIT
"""Section forces and stress recovered at the corners of shell cells, and how far off they are.

The mean section forces of a cell are more accurate than their values elsewhere in it. Round every
node a plane is fitted to the means of the cells there, by least squares and never beyond a smooth
patch (`fea.structure.patches`). Its value at the node is the recovered one.

The error of a recovered stress is estimated at each node as the largest departure, over the cells
that its plane was fitted to, of the recovered field from the mean, both at the cell's centre, times
`SAFETY`. It is zero where the means vary linearly. It knows nothing of a rim that coarse cells cut
short.

Source: zienkiewicz-zhu-1992 (patch recovery), zienkiewicz-zhu-1987 (energy error), roache-1998 (the
factor of safety); the estimate of the stress error is our own, calibrated by tests/solver/
test_solver_recovery_error.py.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from fea.errors import ModelError
from fea.material.laminate import Laminate
from fea.mesh.rim import Rim, rim_of
from fea.solver.fitting import Fit
from fea.solver.parts import Shells
from fea.solver.solution import Solution, layer_stress
from fea.structure.patches import shell_walls, smooth_patches
from fea.structure.sections import ShellSection
from fea.tensors import von_mises

if TYPE_CHECKING:
    from fea.solver.system import System

__all__ = ["LAYERS", "SAFETY", "UNSUPPORTED", "Recovered", "Recovery", "smooth_patches"]

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]
Measure = Callable[[Array], Array]
"""Maps stresses (..., 3) to sizes (...) or (..., k), 0 or more; that of a sum is no larger than the
sum of those of its parts."""

LAYERS = ("bottom", "middle", "top")
SAFETY = 1.25
"""By what an estimated error is widened; in use for grid convergence where the order is known."""
UNSUPPORTED = 0.5
"""Least error, as a share of the stress, where a patch has too few cells for a fit and their mean
is taken: twice the quarter by which coarse cells miss the peak at a hole; judgement."""


@dataclass(frozen=True, eq=False)
class Recovery:
    """The recovery of one system: a linear map, the same for all its cases.

    `System.recovery` holds it, made once.

    Attributes:
        system: whose solutions are recovered.
        shells: of the system.
        fit: the map from means of cells to the corners of cells.
        walls: (c,) thickness.
    """

    system: System
    shells: Shells
    fit: Fit
    walls: Array

    @classmethod
    def of(cls, system: System) -> Recovery:
        """Prepare the recovery; raises `ModelError` for a system without shells."""
        if system.shells is None:
            raise ModelError("there are no shells whose stress could be recovered")
        fit = Fit.of(system.structure, system.shells.facets)
        return cls(system, system.shells, fit, shell_walls(system.structure))

    def __call__(self, solutions: Sequence[Solution]) -> Recovered:
        """Recover solutions of this system, all in one product.

        Raises:
            ModelError: no solutions, something else than a sequence of them, or one of a structure
                with other unknowns.
        """
        solutions = self._require(solutions)
        block = np.stack([solution.shell_motion for solution in solutions], axis=2)
        means = self.shells.stiffness @ (self.shells.mean_strain @ block)
        return Recovered(self, means, self.fit.corners(means), solutions)

    def _require(self, solutions: Sequence[Solution]) -> tuple[Solution, ...]:
        if isinstance(solutions, Solution):
            raise ModelError("recovery takes several solutions; give a list, as [solution]")
        if isinstance(solutions, Mapping):
            raise ModelError("recovery takes solutions, not their cases; give list(found.values())")
        every = tuple(solutions)
        if not every:
            raise ModelError("there are no solutions whose stress could be recovered")
        for each in every:
            if not isinstance(each, Solution):
                raise ModelError(f"recovery takes solutions; got {type(each).__name__}")
            if len(each.vector) != self.system.numbering.total:
                raise ModelError(f"the solution of '{each.case}' is of another structure")
        return every

    @cached_property
    def rim(self) -> Rim:
        """The free rim of all shells."""
        mesh = self.system.structure.mesh
        return rim_of(mesh.points, mesh.cells["triangle"])

    @cached_property
    def rim_distance(self) -> Array:
        """(n,) distance of each node from the free rim; infinite where there is none."""
        points, rim = self.system.structure.mesh.points, self.rim
        if not len(rim.nodes):
            return np.full(len(points), np.inf)
        ends = np.where(rim.neighbours >= 0, rim.nodes[rim.neighbours], rim.nodes[:, None])
        halfway = 0.5 * (points[ends] + points[rim.nodes][:, None]).reshape(-1, 3)
        return np.asarray(cKDTree(np.concatenate([points[rim.nodes], halfway])).query(points)[0])

    @cached_property
    def border_distance(self) -> Array:
        """(n,) distance of each node from where smooth patches meet; infinite where none do."""
        mesh = self.system.structure.mesh
        points, cells = mesh.points, mesh.cells["triangle"]
        patch = smooth_patches(self.system.structure)[:, None]
        first, last = np.full(len(points), len(patch)), np.full(len(points), -1)
        np.minimum.at(first, cells, patch)
        np.maximum.at(last, cells, patch)
        if not (first < last).any():
            return np.full(len(points), np.inf)
        return np.asarray(cKDTree(points[first < last]).query(points)[0])

    @cached_property
    def compliance(self) -> Array:
        """(c, 8, 8) from section forces to generalised strains."""
        return np.asarray(np.linalg.inv(self.shells.stiffness), dtype=float)


@dataclass(frozen=True, eq=False)
class Recovered:
    """Recovered section forces of some cases, and the stresses and errors that follow.

    Components of section forces: N11 N22 N12, M11 M22 M12, Q13 Q23, in the cell's material axes.

    Attributes:
        recovery: of the system.
        cells: (c, 8, cases) what the cells say, quadrature mean.
        corners: (c, 8, 3, cases) recovered at the three corners of each cell.
        solutions: one for each case.
    """

    recovery: Recovery
    cells: Array
    corners: Array
    solutions: tuple[Solution, ...]

    @property
    def means(self) -> Array:
        """Mean section forces (cases, c, 8) of the cells."""
        return np.moveaxis(self.cells, 2, 0)

    @cached_property
    def section_forces(self) -> Array:
        """Recovered section forces (cases, c, 3, 8) at the corners of the cells.

        Shear forces are the slopes of the recovered moments, Q1 = M11,1 + M12,2 and
        Q2 = M12,1 + M22,2, one value a cell: the shear strain of a thin cell is lost beside its
        bending. Where a patch has too few cells for slopes, they are what the cells say.
        """
        forces = np.ascontiguousarray(self.corners.transpose(3, 0, 2, 1))
        slopes = self.slopes()[:, :, 3:]
        shear = slopes[:, :, [0, 2], 0] + slopes[:, :, [2, 1], 1]
        sloped = ~self.few(np.arange(len(self.cells))).any(axis=1)
        forces[:, sloped, :, 6:] = shear[:, sloped, None]
        return forces

    def slopes(self, cells: IntArray | slice = slice(None)) -> Array:
        """Slopes (cases, c, 6, 2) of N11 N22 N12 M11 M22 M12 along the material axes 1 and 2.

        One value a cell, of the recovered forces; per length.
        """
        return np.einsum("cka,cikn->ncia", self._gradient(cells), self.corners[cells, :6])

    def _gradient(self, cells: IntArray | slice) -> Array:
        """(c, 3, 2) from values at the corners to the slopes of the plane through them."""
        facets = self.recovery.shells.facets[cells]
        across = np.roll(facets.xy, -1, axis=1) - np.roll(facets.xy, 1, axis=1)
        turned = np.stack([across[..., 1], -across[..., 0]], axis=2)
        return turned / (2.0 * facets.area[:, None, None])

    def case(self, number: int) -> Recovered:
        """One of the cases alone, as cases of which there is one."""
        one = slice(number, number + 1)
        return Recovered(
            self.recovery, self.cells[..., one], self.corners[..., one], self.solutions[one]
        )

    @cached_property
    def energy_error(self) -> Array:
        """Error of the cells' mean section forces in the energy norm (cases, c): η of each cell.

        η² = ∫ ΔSᵀ C⁻¹ ΔS with ΔS the recovered section forces, linear in the cell, less the mean,
        and C the (8, 8) section stiffness with its coupling. Source: zienkiewicz-zhu-1987.
        """
        corners = self.corners - self.cells[:, :, None]
        density = np.zeros((corners.shape[3], len(corners)))
        for forces in (corners, corners.sum(axis=2, keepdims=True)):  # exact for linear fields
            strains = _times(self.recovery.compliance, forces)
            density += np.einsum("ciqk,ciqk->kc", forces, strains) / 12.0
        return np.sqrt(np.maximum(density, 0.0) * self.recovery.shells.facets.area)

    @property
    def relative_energy_error(self) -> Array:
        """η / √(‖u‖² + η²) (cases,) over all shells, ‖u‖² being twice the strain energy."""
        squared = np.sum(self.energy_error**2, axis=1)
        energy = np.array([solution.strain_energy for solution in self.solutions])
        whole = squared + 2.0 * energy
        return np.sqrt(squared / np.where(whole > 0.0, whole, 1.0))

    def surface_stress(self, zone: str) -> Array:
        """Stress (cases, 3, c, 3, 3) at bottom, middle, top; cell; corner; 11, 22, 12.

        In material axes; of a laminate as in `Solution.stress`.

        Raises:
            ModelError: the zone is not made of triangles.
        """
        section, numbers = self._zone(zone)
        return _as_surfaces(_times(self._surfaces(section, numbers), self.corners[numbers]))

    def ply_stress(self, zone: str, plies: Sequence[int] | None = None) -> Array:
        """Stress (cases, c, 3, plies, 3, 3): corner; ply; bottom, middle, top; ply axes 11 22 12.

        Of all plies, or of some, numbered from 0 at the bottom.

        Raises:
            ModelError: the zone is no laminate.
        """
        section, numbers = self._zone(zone)
        return _as_plies(self.corners[numbers], self._plies(zone, section, numbers, plies))

    def stress_error(self, zone: str) -> Array:
        """Estimated error (cases, 3, c, 3) of the von Mises stress of `surface_stress`."""
        section, numbers = self._zone(zone)
        around = np.unique(self.taken(numbers)[1])
        departure = _as_surfaces(
            _times(self._surfaces(section, around), self._departure(around))
        )
        size = np.moveaxis(von_mises(departure)[..., 0], 1, -1)
        error = self.largest(numbers, around, size)
        few = self.few(numbers)
        if few.any():
            stress = np.moveaxis(von_mises(self.surface_stress(zone)), 1, -1)
            error[:, few] = np.maximum(error[:, few], UNSUPPORTED * stress[:, few])
        return np.moveaxis(error, -1, 1)

    def ply_stress_error(
        self, zone: str, measure: Measure = np.abs, plies: Sequence[int] | None = None
    ) -> Array:
        """Estimated error (cases, c, 3, plies, 3, ...) of a measure of `ply_stress`.

        Without a measure, of each component.
        """
        section, numbers = self._zone(zone)
        around = np.unique(self.taken(numbers)[1])
        to_plies = self._plies(zone, section, numbers, plies)
        size = measure(_as_plies(self._departure(around), to_plies)[:, :, 0])
        error = self.largest(numbers, around, size)
        few = self.few(numbers)
        if few.any():
            forces = np.swapaxes(self.corners[numbers], 1, 2)[few][:, :, None]
            stress = _as_plies(forces, to_plies)[:, :, 0]
            error[:, few] = np.maximum(error[:, few], UNSUPPORTED * measure(stress))
        return error

    def _zone(self, zone: str) -> tuple[ShellSection, IntArray]:
        structure = self.recovery.system.structure
        section = structure.sections.get(zone)
        if not isinstance(section, ShellSection):
            raise ModelError(f"zone '{zone}' is no zone of shells with a section of its own")
        return section, structure.mesh.zone(zone)[1]

    def _surfaces(self, section: ShellSection, cells: IntArray) -> Array:
        """Maps (c, 9, 8) from section forces to the stress at bottom, middle and top."""
        strains = np.swapaxes(self.recovery.compliance[cells], 1, 2)  # (c, force, strain)
        half = 0.5 * self.recovery.walls[cells, None]
        stress = [
            layer_stress(section, strains, section.offset + sign * half, at)
            for sign, at in zip((-1.0, 0.0, 1.0), LAYERS, strict=True)
        ]
        return np.swapaxes(np.concatenate(stress, axis=2), 1, 2)

    def _plies(
        self, zone: str, section: ShellSection, cells: IntArray, plies: Sequence[int] | None
    ) -> Array:
        """Map (8, plies, 3, 3) from section forces to stress, the same for all cells of a layup."""
        if not isinstance(section.material, Laminate):
            raise ModelError(f"zone '{zone}' is no laminate; use surface_stress")
        strains = self.recovery.compliance[cells[0]].T
        middle = strains[:, :3] + section.offset * strains[:, 3:6]
        stress = section.material.ply_stresses(middle, strains[:, 3:6])
        return stress if plies is None else stress[:, list(plies)]

    def _departure(self, cells: IntArray) -> Array:
        """Recovered less mean section forces (c, 8, 1, cases) at the centres of some cells."""
        return self.corners[cells].mean(axis=2, keepdims=True) - self.cells[cells, :, None]

    def taken(self, cells: IntArray) -> tuple[IntArray, IntArray]:
        """Pairs (p,) of the spots of some cells and the cells that their fits take in."""
        fit = self.recovery.fit
        wanted = np.zeros(fit.count, dtype=bool)
        wanted[fit.spots.of_corner[cells]] = True
        spot, cell = fit.taken
        return spot[wanted[spot]], cell[wanted[spot]]

    def largest(self, cells: IntArray, around: IntArray, values: Array) -> Array:
        """Error (cases, c, 3, ...) from the largest departure (cases, a, ...) in each fit."""
        spot, cell = self.taken(cells)
        starts = np.flatnonzero(np.diff(spot, prepend=-1))
        taken = values[:, np.searchsorted(around, cell)]
        largest = SAFETY * np.maximum.reduceat(taken, starts, axis=1)
        corners = self.recovery.fit.spots.of_corner[cells]
        return largest[:, np.searchsorted(spot[starts], corners)]

    def few(self, cells: IntArray) -> NDArray[np.bool_]:
        """Corners (c, 3) of some cells where no plane could be fitted."""
        return self.recovery.fit.unsupported[self.recovery.fit.spots.of_corner[cells]]


def _times(matrices: Array, values: Array) -> Array:
    """Values (c, i, k, cases) of matrices (c, i, 8) and values (c, 8, k, cases)."""
    count, _, corners, cases = values.shape
    return (matrices @ values.reshape(count, 8, -1)).reshape(count, -1, corners, cases)


def _as_surfaces(stress: Array) -> Array:
    """Stress (c, 9, k, cases) as (cases, 3, c, k, 3)."""
    cells, _, corners, cases = stress.shape
    return stress.reshape(cells, 3, 3, corners, cases).transpose(4, 1, 0, 3, 2)


def _as_plies(forces: Array, plies: Array) -> Array:
    """Stress (cases, c, k, plies, 3, 3) of section forces (c, 8, k, cases)."""
    return np.tensordot(forces.transpose(3, 0, 2, 1), plies, (3, 0))

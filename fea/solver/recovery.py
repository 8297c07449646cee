# SPDX-License-Identifier: MIT
"""Section forces and stress recovered at the corners of shell cells, and how far off they are.

The mean section forces of a cell are more accurate than their values elsewhere in it. Round every
node a plane is fitted to the means of the cells there, by least squares and never beyond a smooth
patch (`fea.structure.patches`). Its value at the node is the recovered one.

The error of a recovered stress is estimated at each node as the largest departure, over the cells
round it, of the recovered field from the mean it was fitted to, both at the cell's centre, times
`SAFETY`. It is zero where the means vary linearly.

Source: zienkiewicz-zhu-1992 (patch recovery), zienkiewicz-zhu-1987 (energy error), roache-1998 (the
factor of safety); the estimate of the stress error is our own, calibrated by tests/validation/
test_recovered_stress.py.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from fea.errors import ModelError
from fea.material.laminate import Laminate
from fea.solver.fitting import Fit
from fea.solver.solution import Solution, layer_stress
from fea.structure.patches import shell_walls, smooth_patches
from fea.structure.sections import ShellSection
from fea.tensors import von_mises

if TYPE_CHECKING:
    from fea.solver.system import System

__all__ = ["LAYERS", "SAFETY", "UNSUPPORTED", "Recovered", "Recovery", "smooth_patches"]

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]

LAYERS = ("bottom", "middle", "top")
SAFETY = 1.25
"""By what an estimated error is widened; in use for grid convergence where the order is known."""
UNSUPPORTED = 0.5
"""Least error, as a share of the stress, where a patch has too few cells for a fit and their mean
is taken: twice the quarter by which coarse cells miss the peak at a hole; judgement."""
_MIDSIDES = np.array([[0.5, 0.5, 0.0], [0.0, 0.5, 0.5], [0.5, 0.0, 0.5]])


@dataclass(frozen=True, eq=False)
class Recovery:
    """The recovery of one system: a linear map, the same for all its cases.

    `System.recovery` holds it, made once.

    Attributes:
        system: whose solutions are recovered; it has shells.
        fit: the map from means of cells to spots and on to the corners of cells.
        walls: (c,) thickness.
    """

    system: System
    fit: Fit
    walls: Array

    @classmethod
    def of(cls, system: System) -> Recovery:
        """Prepare the recovery; raises `ModelError` for a system without shells."""
        if system.shells is None:
            raise ModelError("there are no shells whose stress could be recovered")
        fit = Fit.of(system.structure, system.shells.facets)
        return cls(system, fit, shell_walls(system.structure))

    def __call__(self, solutions: Sequence[Solution]) -> Recovered:
        """Recover solutions of this system, all in one product."""
        shells = self.system.shells
        assert shells is not None
        block = np.stack([solution.vector for solution in solutions], axis=1)
        strains = shells.mean_strain @ block[shells.dofs]
        means = np.moveaxis(shells.stiffness @ strains, 2, 0)
        energy = np.array([solution.strain_energy for solution in solutions])
        return Recovered(self, means, self.fit.corners(means), energy)


@dataclass(frozen=True, eq=False)
class Recovered:
    """Recovered section forces of some cases, and the stresses and errors that follow.

    Components of section forces: N11 N22 N12, M11 M22 M12, Q13 Q23, in the cell's material axes.

    Attributes:
        recovery: of the system.
        means: (cases, c, 8) what the cells say, quadrature mean.
        section_forces: (cases, c, 3, 8) at the three corners of each cell.
        strain_energy: (cases,) of the whole structure.
    """

    recovery: Recovery
    means: Array
    section_forces: Array
    strain_energy: Array

    @cached_property
    def energy_error(self) -> Array:
        """Error of the cells' mean section forces in the energy norm (cases, c): η of each cell.

        η² = ∫ ΔSᵀ C⁻¹ ΔS with ΔS the recovered section forces, linear in the cell, less the mean,
        and C the (8, 8) section stiffness with its coupling. Source: zienkiewicz-zhu-1987.
        """
        shells = self.recovery.system.shells
        assert shells is not None
        compliance = np.linalg.inv(shells.stiffness)
        departure = _MIDSIDES @ self.section_forces - self.means[:, :, None]
        density = np.sum((departure @ compliance) * departure, axis=3).mean(axis=2)
        return np.sqrt(np.maximum(density, 0.0) * shells.facets.area)

    @property
    def relative_energy_error(self) -> Array:
        """η / √(‖u‖² + η²) (cases,) over all shells, ‖u‖² being twice the strain energy."""
        squared = np.sum(self.energy_error**2, axis=1)
        whole = squared + 2.0 * self.strain_energy
        return np.sqrt(squared / np.where(whole > 0.0, whole, 1.0))

    def surface_stress(self, zone: str) -> Array:
        """Stress (cases, 3, c, 3, 3) at bottom, middle, top; cell; corner; 11, 22, 12.

        In material axes; of a laminate as in `Solution.stress`.

        Raises:
            ModelError: the zone is not made of triangles.
        """
        section, numbers = self._zone(zone)
        strains = self._strains(self.section_forces[:, numbers], numbers)
        return self._surface(section, numbers, strains)

    def ply_stress(self, zone: str) -> Array:
        """Stress (cases, c, 3, plies, 3, 3): corner; ply; bottom, middle, top; ply axes 11 22 12.

        Raises:
            ModelError: the zone is no laminate.
        """
        section, numbers = self._zone(zone)
        return _plies(zone, section, self._strains(self.section_forces[:, numbers], numbers))

    def stress_error(self, zone: str) -> Array:
        """Estimated error (cases, 3, c, 3) of the von Mises stress of `surface_stress`."""
        section, numbers = self._zone(zone)
        around = self._around(numbers)
        departure = von_mises(self._surface(section, around, self._departure(around)))[..., 0]
        error = self._largest(numbers, around, np.moveaxis(departure, 1, -1))
        value = np.moveaxis(von_mises(self.surface_stress(zone)), 1, -1)
        return np.moveaxis(self._least(numbers, error, value), -1, 1)

    def ply_stress_error(self, zone: str) -> Array:
        """Estimated error of each component of `ply_stress`, of the same shape, 0 or more."""
        section, numbers = self._zone(zone)
        around = self._around(numbers)
        departure = _plies(zone, section, self._departure(around))[:, :, 0]
        error = self._largest(numbers, around, np.abs(departure))
        return self._least(numbers, error, np.abs(self.ply_stress(zone)))

    def _zone(self, zone: str) -> tuple[ShellSection, IntArray]:
        structure = self.recovery.system.structure
        section = structure.sections.get(zone)
        if not isinstance(section, ShellSection):
            raise ModelError(f"zone '{zone}' is no zone of shells with a section of its own")
        return section, structure.mesh.zone(zone)[1]

    def _strains(self, forces: Array, cells: IntArray) -> Array:
        """Generalised strains (cases, c, k, 8) of section forces of some cells."""
        shells = self.recovery.system.shells
        assert shells is not None
        return np.swapaxes(
            np.linalg.solve(shells.stiffness[cells], np.swapaxes(forces, 2, 3)), 2, 3
        )

    def _departure(self, cells: IntArray) -> Array:
        """Strains (cases, c, 1, 8) of recovered less mean section forces at the cells' centres."""
        centre = self.section_forces[:, cells].mean(axis=2, keepdims=True)
        return self._strains(centre - self.means[:, cells, None], cells)

    def _surface(self, section: ShellSection, cells: IntArray, strains: Array) -> Array:
        """Stress (cases, 3, c, k, 3) of strains (cases, c, k, 8) in cells of this make."""
        half = 0.5 * self.recovery.walls[cells, None]
        layers = [
            layer_stress(section, strains, section.offset + sign * half, at)
            for sign, at in zip((-1.0, 0.0, 1.0), LAYERS, strict=True)
        ]
        return np.stack(layers, axis=1)

    def _around(self, cells: IntArray) -> IntArray:
        """Cells that meet some cells smoothly, those among them."""
        spots = self.recovery.fit.spots.of_corner
        met = np.zeros(self.recovery.fit.count, dtype=bool)
        met[spots[cells]] = True
        return np.flatnonzero(met[spots].any(axis=1))

    def _largest(self, cells: IntArray, around: IntArray, values: Array) -> Array:
        """Error (cases, c, 3, ...) from the largest departure (cases, a, ...) round each corner."""
        spots = self.recovery.fit.spots.of_corner
        used, local = np.unique(spots[around], return_inverse=True)
        local = local.reshape(-1, 3)
        largest = np.zeros((len(used), len(values), *values.shape[2:]))
        np.maximum.at(largest, local, SAFETY * np.swapaxes(values, 0, 1)[:, None])
        return np.moveaxis(largest[np.searchsorted(used, spots[cells])], 2, 0)

    def _least(self, cells: IntArray, error: Array, value: Array) -> Array:
        """The error, but at least a share of the value where no plane could be fitted."""
        fit = self.recovery.fit
        unsupported = fit.unsupported[fit.spots.of_corner[cells]]
        unsupported = unsupported.reshape(*unsupported.shape, *[1] * (error.ndim - 3))
        return np.where(unsupported, np.maximum(error, UNSUPPORTED * value), error)


def _plies(zone: str, section: ShellSection, strains: Array) -> Array:
    if not isinstance(section.material, Laminate):
        raise ModelError(f"zone '{zone}' is no laminate; use surface_stress")
    middle = strains[..., :3] + section.offset * strains[..., 3:6]
    return section.material.ply_stresses(middle, strains[..., 3:6])

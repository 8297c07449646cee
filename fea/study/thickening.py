# SPDX-License-Identifier: MIT
"""What a little more thickness, or stiffness, does to the cells of a structure, each by itself.

Rates are per natural logarithm of thickness: a wall that is all of 1 % thicker changes a value by
1 % of its rate. A thickness enters the matrix of a cell as t (membrane, shear) and t³ (bending),
but also through the shear of its sides and its higher-order factor. So the rate is taken from the
matrices themselves, as a two-sided difference of a cell by its own thickness: exact to about 1e-8,
and the same for one material, for plies, which all grow alike, and for bars, whose depth grows.
Rates by the modulus of a cell are taken alike.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from fea.element import shell
from fea.errors import ModelError
from fea.material.laminate import Laminate
from fea.mesh.mesh import triangle_geometry
from fea.solver import parts
from fea.solver.parts import Shells, Struts
from fea.solver.system import System
from fea.structure.model import Structure
from fea.structure.sections import Section, ShellSection, SolidSection, StrutSection

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]

STEP = 1e-4
"""Share by which a thickness is changed: its square is the error, and rounding over it as well."""


def thickened(section: Section, times: float) -> Section:
    """A section of ``times`` the thickness, about the same middle of the wall.

    Args:
        section: of a wall, or of a rectangular bar, whose depth grows.
        times: above 0.

    Raises:
        ModelError: a section that has no thickness: a solid, or a bar that is no rectangle.

    Example:
        >>> from fea.material.isotropic import Isotropic
        >>> thickened(ShellSection(Isotropic(1400.0, 0.42), thickness=4.0), 1.5).thickness
        6.0
    """
    if isinstance(section, SolidSection):
        raise ModelError("a solid has no thickness to change")
    if isinstance(section, StrutSection):
        return _deeper(section, times)
    if isinstance(section.material, Laminate):
        stack = section.material
        plies = [times * each for each in stack.thicknesses]
        return replace(section, material=Laminate(stack.plies, stack.angles_deg, plies))
    return replace(section, thickness=times * np.asarray(section.thickness, dtype=float))


def _deeper(section: StrutSection, times: float) -> StrutSection:
    if section.fibre_points is None:
        raise ModelError("a bar without fibre points has no known depth to change")
    depth, width = 2.0 * np.abs(np.asarray(section.fibre_points)).max(axis=0)
    if abs(width * depth - section.area) > 1e-9 * section.area:
        raise ModelError("only the depth of rectangular bars can be changed")
    deeper = StrutSection.rectangle(
        section.material, width=float(width), depth=times * float(depth), up=section.up
    )
    return replace(deeper, offset_start=section.offset_start, offset_end=section.offset_end)


def stiffened(section: Section, times: float) -> Section:
    """A section of a material ``times`` as stiff in every direction.

    Example:
        >>> from fea.material.isotropic import Isotropic
        >>> stiffened(ShellSection(Isotropic(1400.0, 0.42), thickness=4.0), 0.5).material
        Isotropic(youngs_modulus=700.0, poisson_ratio=0.42, density=None)
    """
    return replace(section, material=section.material.softened(times))  # type: ignore[arg-type]


Grow = Callable[[Section, float], Section]
"""A section with something of it ``times`` as large, such as `thickened`."""


def grown(structure: Structure, times: float, grow: Grow = thickened) -> Structure:
    """The structure with every wall and bar of ``times`` its thickness, or what else grows."""
    sections = {zone: grow(each, times) for zone, each in structure.sections.items()}
    return structure.with_sections(sections)


@dataclass(frozen=True, eq=False)
class Thickening:
    """The cells of a system, and how their matrices grow with their thickness.

    Attributes:
        system: as it is.
        above, below: its structure with every thickness, or what else grows, `STEP` more and less.

    Raises:
        ModelError: a section that has no thickness.
    """

    system: System
    above: Structure
    below: Structure

    @classmethod
    def of(cls, system: System, grow: Grow = thickened) -> "Thickening":
        """Of a system of walls and bars."""
        structure = system.structure
        above, below = (grown(structure, 1.0 + sign * STEP, grow) for sign in (1.0, -1.0))
        return cls(system, above, below)

    @cached_property
    def shells(self) -> tuple[Shells, Shells]:
        """All triangles, above and below."""
        found = [parts.shells(each, self.system.numbering) for each in (self.above, self.below)]
        assert found[0] is not None and found[1] is not None
        return found[0], found[1]

    @cached_property
    def struts(self) -> tuple[Struts, Struts]:
        """All lines, above and below."""
        found = [parts.struts(each, self.system.numbering) for each in (self.above, self.below)]
        assert found[0] is not None and found[1] is not None
        return found[0], found[1]

    @cached_property
    def triangle_rates(self) -> Array:
        """Rates (c, 18, 18) of the stiffness matrices of all triangles."""
        above, below = self.shells
        return np.asarray((above.cell_matrices() - below.cell_matrices()) / (2.0 * STEP))

    @cached_property
    def line_rates(self) -> Array:
        """Rates (m, 12, 12) of the stiffness matrices of all lines."""
        above, below = self.struts
        return np.asarray((above.cell_matrices() - below.cell_matrices()) / (2.0 * STEP))

    def work_rates(self, virtual: Array, moved: Array) -> tuple[Array, Array]:
        """Rates (c,) and (m,) of virtualᵀ K moved, of each triangle and each line.

        Args:
            virtual, moved: (N,) displacements.
        """
        found = []
        pairs = ((self.system.shells, "triangle_rates"), (self.system.struts, "line_rates"))
        for part, name in pairs:
            if part is None:
                found.append(np.empty(0))
                continue
            rates = getattr(self, name)
            found.append(
                np.einsum("ci,cij,cj->c", virtual[part.dofs], rates, moved[part.dofs])
            )
        return found[0], found[1]


def force_matrices(shells: Shells, cells: IntArray) -> Array:
    """Matrices (k, 8, 18) from the motion of some triangles to their mean section forces."""
    stiffness, factor = shells.stiffness[cells], shells.factor[cells]
    return np.asarray(
        stiffness @ shell.mean_strain_matrices(shells.facets[cells], stiffness, factor)
    )


def cell_mass(structure: Structure) -> tuple[Array, Array]:
    """Mass (c,) of each triangle and (m,) of each line, kg; it grows in step with thickness.

    Lines without a density weigh nothing, as in the mass of the device.
    """
    mesh = structure.mesh
    triangles = np.zeros(len(mesh.cells.get("triangle", ())))
    lines = np.zeros(len(mesh.cells.get("line", ())))
    for zone, section in structure.sections.items():
        cells, numbers = mesh.zone_cells(zone), mesh.zone(zone)[1]
        if isinstance(section, ShellSection):
            area, _ = triangle_geometry(mesh.points, cells)
            triangles[numbers] = area * section.areal_mass(len(area))
        elif isinstance(section, StrutSection) and section.material.density is not None:
            ends = mesh.points[cells]
            length = np.linalg.norm(ends[:, 1] - ends[:, 0], axis=1)
            lines[numbers] = length * section.area * section.material.density
    return triangles, lines

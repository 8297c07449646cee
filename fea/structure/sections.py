# SPDX-License-Identifier: MIT
"""Sections: what a zone of triangles or lines is made of, as stiffness."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fea.errors import ModelError
from fea.material.isotropic import Isotropic
from fea.material.laminate import Laminate

Vector = tuple[float, float, float]

_SHEAR_CORRECTION = 5.0 / 6.0  # homogeneous wall and rectangular bar

# Measured on a thick cylinder under pressure (tests/validation/test_solids_thick_cylinder.py) with
# straight-sided cells: the cells' stresses are 0.6 % of the greatest off at 0.3, 4.5 % at 0.49,
# 7 % at 0.495, 21 % at 0.499 and 55 % at 0.4999, while displacements stay within 0.7 %.
GREATEST_POISSON_RATIO = 0.49


@dataclass(frozen=True, eq=False)
class ShellSection:
    """Section of a triangle zone.

    Args:
        material: `Isotropic`, or a `Laminate` with its plies from bottom to top (+normal).
        thickness: wall, scalar or (c,) in the zone's cell order; not given for a laminate.
        offset: from the mesh to the middle of the wall along the normal (length).
        direction: material axis 1 before projection on the surface, (3,) or (c, 3) in the zone's
            cell order. Default: the global z axis, or the global x axis where a facet lies flat
            within about 8 degrees.

    Raises:
        ModelError: a thickness that is missing, superfluous, not positive or not finite, or
            directions that are not of that shape.

    Example:
        >>> ShellSection(Isotropic(youngs_modulus=1400.0, poisson_ratio=0.42), thickness=4.0).offset
        0.0
    """

    material: Isotropic | Laminate
    thickness: float | ArrayLike | None = None
    offset: float = 0.0
    direction: Vector | NDArray[np.float64] | None = None

    def __post_init__(self) -> None:
        if self.direction is not None and np.shape(self.direction)[-1:] != (3,):
            raise ModelError(f"direction has shape {np.shape(self.direction)}; give (3,) or (c, 3)")
        if isinstance(self.material, Laminate):
            if self.thickness is not None:
                raise ModelError("a laminate brings its own thickness; leave thickness out")
            return
        if self.thickness is None:
            raise ModelError("an isotropic shell section needs its thickness")
        wall = np.array(self.thickness, dtype=float)
        if not np.all(np.isfinite(wall)) or np.any(wall <= 0.0) or wall.ndim > 1:
            worst = wall.min() if wall.size and np.all(np.isfinite(wall)) else "not finite"
            raise ModelError(f"wall thickness must be positive everywhere; got {worst}")
        object.__setattr__(self, "thickness", wall if wall.ndim else float(wall))

    def directions(self, count: int) -> NDArray[np.float64] | None:
        """Material axis 1 (count, 3) before projection, per cell; None for the default."""
        if self.direction is None:
            return None
        axis = np.asarray(self.direction, dtype=float)
        if axis.ndim > 1 and len(axis) != count:
            raise ModelError(f"direction has {len(axis)} rows for {count} cells")
        return np.broadcast_to(axis, (count, 3))

    def walls(self, count: int) -> NDArray[np.float64]:
        """Total wall thickness (count,) per cell."""
        if isinstance(self.material, Laminate):
            return np.full(count, self.material.thickness)
        wall = np.asarray(self.thickness, dtype=float)
        if wall.ndim and len(wall) != count:
            raise ModelError(f"thickness has {len(wall)} values for {count} cells")
        return np.broadcast_to(wall, (count,))

    def stiffness(self, count: int) -> NDArray[np.float64]:
        """Generalised stiffness (count, 8, 8) about the mesh surface, in material axes."""
        result = np.zeros((count, 8, 8))
        if isinstance(self.material, Laminate):
            result[:, :6, :6] = self.material.abd
            result[:, 6:, 6:] = self.material.transverse_shear
        else:
            wall = self.walls(count)[:, None, None]
            result[:, :3, :3] = self.material.plane_stress * wall
            result[:, 3:6, 3:6] = self.material.plane_stress * wall**3 / 12.0
            shear = _SHEAR_CORRECTION * self.material.shear_modulus * np.eye(2)
            result[:, 6:, 6:] = shear * wall
        if self.offset:
            membrane, coupling = result[:, :3, :3], result[:, :3, 3:6].copy()
            result[:, 3:6, 3:6] += 2.0 * self.offset * coupling + self.offset**2 * membrane
            result[:, :3, 3:6] += self.offset * membrane
            result[:, 3:6, :3] += self.offset * membrane
        return result

    def heights(self, count: int, at: str) -> NDArray[np.float64]:
        """Distance (count,) along the normal from the mesh to "top", "middle" or "bottom"."""
        sign = {"top": 1.0, "middle": 0.0, "bottom": -1.0}.get(at)
        if sign is None:
            raise ModelError(f'at="{at}" is unknown; use "top", "middle" or "bottom"')
        return self.offset + 0.5 * sign * self.walls(count)

    def areal_mass(self, count: int) -> NDArray[np.float64]:
        """Mass per area (count,); raises `ModelError` where the material has no density."""
        if isinstance(self.material, Laminate):
            return np.full(count, self.material.areal_mass)
        if self.material.density is None:
            raise ModelError("mass asked for, but the material has no density")
        return self.material.density * self.walls(count)


@dataclass(frozen=True, eq=False)
class StrutSection:
    """Section of a line zone. Local x runs along the strut, `up` lies in the local x–z plane.

    Args:
        material: `Isotropic`.
        area: cross-section area.
        i_y: second moment that resists bending in the local x–z plane.
        i_z: second moment that resists bending in the local x–y plane.
        j: torsion constant.
        up: global vector in the local x–z plane, not parallel to any strut of the zone.
        shear_area_y, shear_area_z: effective shear areas; None leaves shear rigid.
        offset_start, offset_end: rigid offsets from the nodes to the strut's ends (global axes).
        fibre_points: (p, 2) local y, z of the points whose axial stress is reported.

    Raises:
        ModelError: an area or second moment that is not positive and finite.
    """

    material: Isotropic
    area: float
    i_y: float
    i_z: float
    j: float
    up: Vector
    shear_area_y: float | None = None
    shear_area_z: float | None = None
    offset_start: Vector = (0.0, 0.0, 0.0)
    offset_end: Vector = (0.0, 0.0, 0.0)
    fibre_points: ArrayLike | None = None

    def __post_init__(self) -> None:
        for name in ("area", "i_y", "i_z", "j", "shear_area_y", "shear_area_z"):
            value = getattr(self, name)
            if value is not None and not (math.isfinite(value) and value > 0.0):
                raise ModelError(f"strut {name} must be positive and finite; got {value}")
        if not np.linalg.norm(self.up) > 0.0:
            raise ModelError(f"strut up must be a vector with a length; got {self.up}")
        if self.fibre_points is not None:
            points = np.array(self.fibre_points, dtype=float)
            if points.ndim != 2 or points.shape[1] != 2 or not np.all(np.isfinite(points)):
                raise ModelError(f"fibre_points must have shape (p, 2); got {points.shape}")
            object.__setattr__(self, "fibre_points", points)

    @classmethod
    def rectangle(
        cls, material: Isotropic, *, width: float, depth: float, up: Vector
    ) -> "StrutSection":
        """A rectangular bar: `width` along `up`, `depth` across; fibres at the four corners.

        Source: timoshenko-goodier-1970 (torsion constant by its series).

        Example:
            >>> bar = StrutSection.rectangle(
            ...     Isotropic(youngs_modulus=72000.0, poisson_ratio=0.33),
            ...     width=25.0, depth=4.0, up=(1.0, 0.0, 0.0))
            >>> round(bar.i_y, 1)
            5208.3
        """
        area = width * depth
        y, z = 0.5 * depth, 0.5 * width
        return cls(
            material=material,
            area=area,
            i_y=depth * width**3 / 12.0,
            i_z=width * depth**3 / 12.0,
            j=_rectangle_torsion(width, depth),
            up=up,
            shear_area_y=_SHEAR_CORRECTION * area,
            shear_area_z=_SHEAR_CORRECTION * area,
            fibre_points=[(-y, -z), (y, -z), (y, z), (-y, z)],
        )


def torsion_shear(width: float, depth: float) -> float:
    """Highest shear stress in a rectangular bar per torque, 1/mm³: in the middle of its long sides.

    Args:
        width, depth: of the bar, mm.

    Source: timoshenko-goodier-1970, by its series.

    Example:
        >>> round(1.0 / (torsion_shear(1.0, 1.0)), 3), round(1.0 / torsion_shear(4.0, 1.0) / 4.0, 3)
        (0.208, 0.282)
    """
    long, short = max(width, depth), min(width, depth)
    odd = np.arange(1.0, 40.0, 2.0)
    decay = np.exp(-odd * np.pi * long / (2.0 * short))  # 1 / cosh x, however thin the bar
    series = np.sum(2.0 * decay / (1.0 + decay**2) / odd**2)
    return float(short / _rectangle_torsion(width, depth) * (1.0 - 8.0 / np.pi**2 * series))


def _rectangle_torsion(width: float, depth: float) -> float:
    long, short = max(width, depth), min(width, depth)
    odd = np.arange(1.0, 40.0, 2.0)
    series = np.sum(np.tanh(odd * np.pi * long / (2.0 * short)) / odd**5)
    return float(long * short**3 / 3.0 * (1.0 - 192.0 / np.pi**5 * short / long * series))


@dataclass(frozen=True)
class SolidSection:
    """Section of a tetra10 zone.

    Args:
        material: `Isotropic`.

    Raises:
        ModelError: a material that is not isotropic, or one so nearly incompressible (Poisson
            ratio above 0.49) that the element's mean stress is noise.

    Example:
        >>> SolidSection(Isotropic(youngs_modulus=1400.0, poisson_ratio=0.4)).lame_constants
        (2000.0..., 500.0...)
    """

    material: Isotropic

    def __post_init__(self) -> None:
        if not isinstance(self.material, Isotropic):
            raise ModelError(
                f"a solid section takes an isotropic material, not a "
                f"{type(self.material).__name__}; model a laminate as a shell"
            )
        if self.material.poisson_ratio > GREATEST_POISSON_RATIO:
            raise ModelError(
                f"Poisson ratio {self.material.poisson_ratio} is too near to incompressible for "
                f"solids, at most {GREATEST_POISSON_RATIO}: displacements would hold, but stresses "
                "would be more than 5 % off (measured: 7 % at 0.495, 21 % at 0.499)"
            )

    @property
    def density(self) -> float:
        """Mass per volume; raises `ModelError` where the material has none."""
        if self.material.density is None:
            raise ModelError("mass asked for, but the material has no density")
        return self.material.density

    @property
    def lame_constants(self) -> tuple[float, float]:
        """λ = E ν / ((1 + ν)(1 − 2ν)) and μ = E / (2 (1 + ν))."""
        nu, shear = self.material.poisson_ratio, self.material.shear_modulus
        return 2.0 * shear * nu / (1.0 - 2.0 * nu), shear


Section = ShellSection | StrutSection | SolidSection

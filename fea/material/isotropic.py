# SPDX-License-Identifier: MIT
"""An isotropic, linear elastic material."""

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fea.errors import MaterialError


@dataclass(frozen=True)
class Isotropic:
    """A material with the same stiffness in every direction.

    Args:
        youngs_modulus: E, MPa for a device; above 0.
        poisson_ratio: ν, between -1 and 0.5 (both excluded); 0 is valid.
        density: kg/mm³; None when the mass is not asked for.

    Raises:
        MaterialError: a constant that is not finite or outside its physical range.

    Example:
        >>> sheet = Isotropic(youngs_modulus=1400.0, poisson_ratio=0.4)
        >>> round(sheet.shear_modulus, 6)
        500.0
        >>> sheet.plane_stress.round(1).tolist()
        [[1666.7, 666.7, 0.0], [666.7, 1666.7, 0.0], [0.0, 0.0, 500.0]]
    """

    youngs_modulus: float
    poisson_ratio: float
    density: float | None = None

    def __post_init__(self) -> None:
        require_positive("Young's modulus", self.youngs_modulus)
        if not -1.0 < self.poisson_ratio < 0.5:
            raise MaterialError(
                f"Poisson ratio {self.poisson_ratio} is impossible for an isotropic material; "
                "give a value above -1 and below 0.5"
            )
        if self.density is not None:
            require_positive("density", self.density)

    @property
    def shear_modulus(self) -> float:
        """G = E / (2 (1 + ν)), MPa."""
        return self.youngs_modulus / (2.0 * (1.0 + self.poisson_ratio))

    @property
    def plane_stress(self) -> NDArray[np.float64]:
        """(3, 3) stiffness in plane stress, MPa; components 11, 22, 12 with engineering shear."""
        e, nu = self.youngs_modulus, self.poisson_ratio
        return e / (1.0 - nu**2) * np.array([[1, nu, 0], [nu, 1, 0], [0, 0, 0.5 * (1.0 - nu)]])

    def softened(self, share: float) -> "Isotropic":
        """The same with this share of its stiffness.

        Example:
            >>> Isotropic(youngs_modulus=1400.0, poisson_ratio=0.4).softened(0.5).youngs_modulus
            700.0
        """
        return replace(self, youngs_modulus=share * self.youngs_modulus)

    @property
    def transverse_moduli(self) -> tuple[float, float]:
        """Transverse shear moduli G13 and G23, MPa: both the shear modulus."""
        return self.shear_modulus, self.shear_modulus


def require_positive(name: str, value: float) -> None:
    """Raise `MaterialError` unless ``value`` is finite and above zero."""
    if not (math.isfinite(value) and value > 0.0):
        raise MaterialError(f"{name} is {value}; it must be a finite number above 0")

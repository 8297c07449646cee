# SPDX-License-Identifier: MIT
"""Stiffness of the bed of skin, flesh and liner between limb and device."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Tissue:
    """A layer of soft tissue on bone, pressed by a wall.

    Attributes:
        youngs_modulus: MPa;  poisson_ratio: -;  thickness: mm.
        source, status: where the numbers come from.
    """

    youngs_modulus: float
    poisson_ratio: float
    thickness: float
    source: str
    status: str

    @property
    def bed_stiffness(self) -> float:
        """Pressure per compression, N/mm³, of a layer that cannot spread sideways.

        k = E (1 − ν) / ((1 + ν)(1 − 2ν) t)

        Example:
            >>> round(1000 * SHANK.bed_stiffness, 1)  # kPa/mm
            22.8
        """
        nu = self.poisson_ratio
        confined = self.youngs_modulus * (1.0 - nu) / ((1.0 + nu) * (1.0 - 2.0 * nu))
        return confined / self.thickness


SHANK = Tissue(0.060, 0.45, 10.0, source="tissue-memory", status="memory-M")
"""Front of the shank under the front piece."""

FOOT = Tissue(0.130, 0.45, 10.0, source="assumed", status="assumed")
"""Sole and sides of the foot, 49 kPa/mm: between a heel pad in walking (some 10 mm at 0.28 MPa,
27 kPa/mm) and the thinner pad under the ball (some 70 kPa/mm), both from memory. The plate and the
ankle rotation depend on it: with half of it they rise by about a third."""

SLIP_SHARE = 0.1
"""Tangential over normal stiffness under the foot, where the sock grips; assumed."""

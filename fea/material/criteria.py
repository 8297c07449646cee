# SPDX-License-Identifier: MIT
"""Ply failure criteria as pure functions of the stress in ply axes.

Each returns the *exposure*: the share of the load at which the ply fails, 1 at failure and
proportional to the load (the reciprocal of the strength ratio), so exposures of different
criteria compare, and a safety factor is 1 / exposure: a factor on the load, whatever the powers of
stress in the criterion.

Exposures are convex in the stress (that by Hashin with its default shear strength across the
fibres): over a segment of stresses none exceeds that of the worse end, and a change of stress adds
no more than the exposure of the change in the worse of both senses.
"""

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fea.material.isotropic import require_positive


@dataclass(frozen=True)
class PlyStrength:
    """Strengths of a ply, all positive, MPa; a missing one is None.

    Args:
        tension_1, compression_1: along axis 1.
        tension_2, compression_2: along axis 2.
        shear_12: in the plane.

    Raises:
        MaterialError: a strength that is not a finite number above 0.
    """

    tension_1: float | None
    compression_1: float | None
    tension_2: float | None
    compression_2: float | None
    shear_12: float | None

    def __post_init__(self) -> None:
        for entry in fields(self):
            value = getattr(self, entry.name)
            if value is not None:
                require_positive(f"ply strength {entry.name}", value)

    @property
    def missing(self) -> tuple[str, ...]:
        """Names of the strengths that are not known."""
        return tuple(entry.name for entry in fields(self) if getattr(self, entry.name) is None)

    def numbers(self) -> tuple[float, float, float, float, float]:
        """All five strengths in the order above; raises `MaterialError` when one is missing."""
        values = tuple(getattr(self, entry.name) for entry in fields(self))
        for entry, value in zip(fields(self), values, strict=True):
            require_positive(f"ply strength {entry.name}", np.nan if value is None else value)
        return values


def stress_ratios(stress: ArrayLike, strength: PlyStrength) -> NDArray[np.float64]:
    """Ratios of stress to strength, one for each of the five strengths.

    Args:
        stress: (..., 3) stress in ply axes 11, 22, 12, MPa.
        strength: strengths, MPa; some may be missing.

    Returns:
        (..., 5) ratios in the order of `PlyStrength`, negative where the stress has the other
        sign, NaN where the strength is missing.

    Example:
        >>> acrylic = PlyStrength(200.0, None, 200.0, None, None)
        >>> stress_ratios([50.0, -20.0, 5.0], acrylic).tolist()
        [0.25, nan, -0.1, nan, nan]
    """
    s1, s2, s12 = np.moveaxis(np.asarray(stress, dtype=float), -1, 0)
    known = [getattr(strength, entry.name) for entry in fields(strength)]
    limits = np.array([np.nan if value is None else value for value in known])
    return np.stack([s1, -s1, s2, -s2, np.abs(s12)], axis=-1) / limits


def maximum_stress(stress: ArrayLike, strength: PlyStrength) -> NDArray[np.float64]:
    """Exposure by the maximum-stress criterion.

    Args:
        stress: (..., 3) stress in ply axes 11, 22, 12, MPa.
        strength: all five strengths, MPa.

    Returns:
        (...) the largest of the five ratios of stress to strength.

    Raises:
        MaterialError: a strength is missing.

    Source: jones-1999, section 2.9.1.

    Example:
        >>> cloth = PlyStrength(725.0, 518.0, 684.0, 480.0, 67.0)
        >>> float(maximum_stress([0.0, -240.0, 0.0], cloth))
        0.5
    """
    strength.numbers()
    return stress_ratios(stress, strength).max(axis=-1)


def tsai_hill(stress: ArrayLike, strength: PlyStrength) -> NDArray[np.float64]:
    """Exposure by the Tsai-Hill criterion, with the strength that the sign of the stress asks for.

    Args:
        stress: (..., 3) stress in ply axes 11, 22, 12, MPa.
        strength: all five strengths, MPa.

    Returns:
        (...) exposure.

    Raises:
        MaterialError: a strength is missing.

    Where tension and compression differ, books differ in the strength X that the product
    σ1 σ2 / X² takes: it follows the sign of σ1 (Jones) or of σ2 (Kaw). The less favourable of both
    is taken here, so that the exposure is convex, and not below that of either book where theirs
    is convex too and X is the stronger axis: its lesser strength not below the lesser one of axis
    2, as books have it of single fibres. X is the stronger axis here whichever its number, since
    the rule rests on a ply being alike all round its fibres; so axis 1 and 2 may change places.

    Source: hill-1948; jones-1999, section 2.9.3; kaw-2006, section 2.8.

    Example:
        >>> cloth = PlyStrength(725.0, 518.0, 684.0, 480.0, 67.0)
        >>> float(tsai_hill([0.0, 0.0, -33.5], cloth))
        0.5
    """
    tension_1, compression_1, tension_2, compression_2, shear = strength.numbers()
    s1, s2, s12 = np.moveaxis(np.asarray(stress, dtype=float), -1, 0)
    x = np.where(s1 >= 0.0, tension_1, compression_1)
    y = np.where(s2 >= 0.0, tension_2, compression_2)
    relief = max(tension_1, compression_1, tension_2, compression_2)
    burden = max(min(tension_1, compression_1), min(tension_2, compression_2))
    against = np.minimum(1.0 / burden**2, 2.0 / (x * y))
    product = s1 * s2 * np.where(s1 * s2 > 0.0, 1.0 / relief**2, against)
    return np.sqrt((s1 / x) ** 2 - product + (s2 / y) ** 2 + (s12 / shear) ** 2)


def tsai_wu(
    stress: ArrayLike, strength: PlyStrength, interaction: float = -0.5
) -> NDArray[np.float64]:
    """Exposure by the Tsai-Wu criterion.

    Args:
        stress: (..., 3) stress in ply axes 11, 22, 12, MPa.
        strength: all five strengths, MPa.
        interaction: F12 / sqrt(F11 F22), between -1 and 1; -0.5 is the usual choice when no
            biaxial test is at hand.

    Returns:
        (...) exposure 1 / R, where R solves (quadratic terms) R² + (linear terms) R = 1.

    Raises:
        MaterialError: a strength is missing.

    Source: tsai-wu-1971; tsai-hahn-1980 for the interaction and the strength ratio.

    Example:
        >>> cloth = PlyStrength(725.0, 518.0, 684.0, 480.0, 67.0)
        >>> round(float(tsai_wu([0.0, -480.0, 0.0], cloth)), 12)
        1.0
    """
    tension_1, compression_1, tension_2, compression_2, shear = strength.numbers()
    s1, s2, s12 = np.moveaxis(np.asarray(stress, dtype=float), -1, 0)
    f11, f22 = 1.0 / (tension_1 * compression_1), 1.0 / (tension_2 * compression_2)
    cross = 2.0 * interaction * np.sqrt(f11 * f22) * s1 * s2
    quadratic = f11 * s1**2 + f22 * s2**2 + (s12 / shear) ** 2 + cross
    linear = (1.0 / tension_1 - 1.0 / compression_1) * s1
    linear = linear + (1.0 / tension_2 - 1.0 / compression_2) * s2
    return _reciprocal_root(quadratic, linear)


HASHIN_MODES = (
    "fibre tension",
    "fibre compression",
    "matrix tension",
    "matrix compression",
)
"""The modes of failure of `hashin_modes`, in its order."""


def hashin_modes(
    stress: ArrayLike, strength: PlyStrength, shear_23: float | None = None
) -> NDArray[np.float64]:
    """Exposure of fibres and of the matrix by the criteria of Hashin for plane stress.

    Args:
        stress: (..., 3) stress in ply axes 11, 22, 12, MPa.
        strength: all five strengths, MPa.
        shear_23: shear strength across the fibres, MPa. Default half the compressive strength
            along axis 2, by which compression across the fibres neither strengthens nor weakens
            the matrix against shear.

    Returns:
        (..., 4) exposure 1 / R in the order of `HASHIN_MODES`; 0 in a mode for which the stress
        has the other sign.

    Raises:
        MaterialError: a strength is missing, or `shear_23` is not above 0.

    Made for fibres in one direction. Of a cloth, axis 2 is along fibres too: its "matrix" modes
    then stand for the weft, and are no less severe than maximum stress.

    Source: hashin-1980, equations for plane stress.

    Example:
        >>> carbon = PlyStrength(1500.0, 1200.0, 40.0, 200.0, 80.0)
        >>> hashin_modes([-600.0, 24.0, 64.0], carbon).round(12).tolist()
        [0.0, 0.5, 1.0, 0.0]
    """
    tension_1, compression_1, tension_2, compression_2, shear = strength.numbers()
    across = 0.5 * compression_2 if shear_23 is None else shear_23
    require_positive("shear strength across the fibres", across)
    s1, s2, s12 = np.moveaxis(np.asarray(stress, dtype=float), -1, 0)
    sheared = (s12 / shear) ** 2
    linear = ((0.5 * compression_2 / across) ** 2 - 1.0) * s2 / compression_2
    pressed = _reciprocal_root((0.5 * s2 / across) ** 2 + sheared, linear)
    return np.stack(
        [
            np.where(s1 >= 0.0, np.sqrt((s1 / tension_1) ** 2 + sheared), 0.0),
            np.where(s1 >= 0.0, 0.0, -s1 / compression_1),
            np.where(s2 >= 0.0, np.sqrt((s2 / tension_2) ** 2 + sheared), 0.0),
            np.where(s2 >= 0.0, 0.0, pressed),
        ],
        axis=-1,
    )


def hashin(stress: ArrayLike, strength: PlyStrength) -> NDArray[np.float64]:
    """Exposure (...) by the worst of `hashin_modes`, with its default shear strength."""
    return hashin_modes(stress, strength).max(axis=-1)


def _reciprocal_root(
    quadratic: NDArray[np.float64], linear: NDArray[np.float64]
) -> NDArray[np.float64]:
    """1 / R of the positive root R of quadratic R² + linear R = 1."""
    return 0.5 * (linear + np.sqrt(linear**2 + 4.0 * quadratic))

# SPDX-License-Identifier: MIT
"""What of strength and stiffness is left under a load that is held, by the time it is held.

Straight between the library's values over the logarithm of time, the quantity on a logarithmic
scale too: creep strength and creep modulus of plastics are nearly straight in that picture.
"""

import math
from dataclasses import dataclass

from fea.material.library import LibraryMaterial, Property

PEAK_SHARE = 0.06
"""Share of walking time that counts as spent at a step's peak: the mean over the cycle of the ankle
moment over its peak to the power of 16, in which stress enters the time to creep rupture (a factor
of 1.16 in stress for each tenfold time, din-8077). Source: schwartz-2008, free speed, derived."""

TEST_HOURS = 0.01
"""Time to yield in a tensile test, hours: about half a minute. Source: practice."""

_HOURS = {"1h": 1.0, "1000h": 1000.0}


@dataclass(frozen=True)
class Kept:
    """A share that is left after a time.

    Attributes:
        value: share of the short-term value, at most 1.
        hours: time under load.
        origin: library value with the weakest standing that it rests on.
    """

    value: float
    hours: float
    origin: Property


def strength_kept(material: LibraryMaterial, hours: float) -> Kept | None:
    """Share of the strength of a tensile test that is left under a load held for some hours.

    Args:
        material: with "creep_strength_factor_1h" and "creep_strength_factor_1000h".
        hours: time under load.

    Returns:
        The share; None where the library lacks one of the two.

    Source: din-8077 for polypropylene.

    Example:
        >>> from fea.material.library import read_library
        >>> plastic = read_library()["polypropylene-homopolymer"]
        >>> [round(strength_kept(plastic, hours).value, 3) for hours in (0.01, 0.24, 1.0, 1000.0)]
        [1.0, 0.815, 0.743, 0.476]
    """
    known = {name: material.property(f"creep_strength_factor_{name}") for name in _HOURS}
    points = [(_HOURS[name], row.value) for name, row in known.items() if row is not None]
    if len(points) < len(_HOURS):
        return None
    value = _at(hours, [(TEST_HOURS, 1.0), *points])
    return Kept(value, hours, next(row for row in known.values() if row is not None))


def modulus_kept(material: LibraryMaterial, hours: float) -> Kept | None:
    """Share of the short-term modulus that is left under a load held for some hours.

    Args:
        material: with "creep_modulus_1h" and "creep_modulus_1000h".
        hours: time under load; less than an hour counts as an hour.

    Returns:
        The share; None where the library lacks the moduli.

    Example:
        >>> from fea.material.library import read_library
        >>> plastic = read_library()["polypropylene-homopolymer"]
        >>> round(modulus_kept(plastic, 1.0).value, 3), round(modulus_kept(plastic, 4.0).value, 3)
        (0.661, 0.572)
    """
    modulus = material.property("youngs_modulus")
    first, last = (material.property(f"creep_modulus_{name}") for name in _HOURS)
    if modulus is None or first is None or last is None:
        return None
    points = [(hour, row.value) for hour, row in zip(_HOURS.values(), (first, last), strict=True)]
    return Kept(_at(max(hours, 1.0), points) / modulus.value, max(hours, 1.0), first)


def _at(hours: float, points: list[tuple[float, float]]) -> float:
    """Log-log straight through (hours, value) points, in order of time; the ends go on straight.

    Before the first point, the value of the first: a shorter load is not counted as a stronger one.
    """
    if hours <= points[0][0]:
        return points[0][1]
    k = next((k for k in range(1, len(points)) if hours <= points[k][0]), len(points) - 1)
    (start, before), (end, after) = points[k - 1], points[k]
    share = math.log(hours / start) / math.log(end / start)
    return before * (after / before) ** share

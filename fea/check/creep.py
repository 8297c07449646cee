# SPDX-License-Identifier: MIT
"""What of strength and stiffness is left under a load that is held, by the time it is held.

Straight between the library's values over the logarithm of time, the quantity on a logarithmic
scale too: creep strength and creep modulus of plastics are nearly straight in that picture.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import get_args

from fea.material.library import LibraryMaterial, Property, Status

PEAK_SHARE = 0.06
"""Share of walking time that counts as spent at a step's peak: the mean over the cycle of the ankle
moment over its peak to the power of 16, in which stress enters the time to creep rupture (a factor
of 1.16 in stress for each tenfold time, din-8077). Source: schwartz-2008, free speed, derived."""

PER_DECADE = 1.16
"""What each tenfold time under load costs of strength, where a material's own creep strengths are
not known. Source: din-8077, derived, of polypropylene."""

STANDING_HOURS = 4.0
"""A day under load unless the requirements say otherwise, hours. Source: assumed."""

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
        The share; None where the library lacks one of the two, or knows it too uncertainly to be
        a limit.

    Source: din-8077 for polypropylene.

    Example:
        >>> from fea.material.library import read_library
        >>> plastic = read_library()["polypropylene-homopolymer"]
        >>> [round(strength_kept(plastic, hours).value, 3) for hours in (0.01, 0.24, 1.0, 1000.0)]
        [1.0, 0.815, 0.743, 0.476]
    """
    rows = _known(material, [f"creep_strength_factor_{name}" for name in _HOURS])
    if rows is None:
        return None
    points = [(hour, row.value) for hour, row in zip(_HOURS.values(), rows, strict=True)]
    return Kept(_at(hours, [(TEST_HOURS, 1.0), *points]), hours, _weakest(rows))


def modulus_kept(material: LibraryMaterial, hours: float) -> Kept | None:
    """Share of the short-term modulus that is left under a load held for some hours.

    Args:
        material: with "creep_modulus_1h" and "creep_modulus_1000h".
        hours: time under load; less than an hour counts as an hour.

    Returns:
        The share; None where the library lacks the moduli, or knows them too uncertainly.

    Example:
        >>> from fea.material.library import read_library
        >>> plastic = read_library()["polypropylene-homopolymer"]
        >>> round(modulus_kept(plastic, 1.0).value, 3), round(modulus_kept(plastic, 4.0).value, 3)
        (0.661, 0.572)
    """
    modulus = material.property("youngs_modulus")
    rows = _known(material, [f"creep_modulus_{name}" for name in _HOURS])
    if modulus is None or rows is None:
        return None
    points = [(hour, row.value) for hour, row in zip(_HOURS.values(), rows, strict=True)]
    return Kept(_at(max(hours, 1.0), points) / modulus.value, max(hours, 1.0), _weakest(rows))


def longer(hours: float) -> float:
    """What a factor on creep for a step's peaks of a usual day grows by under a longer load.

    Args:
        hours: under load, a day; a shorter load than those peaks gains nothing.

    Example:
        >>> round(longer(0.24), 2), round(longer(2.4), 2), longer(0.01)
        (1.0, 1.16, 1.0)
    """
    return float(PER_DECADE ** math.log10(max(1.0, hours / (PEAK_SHARE * STANDING_HOURS))))


def _known(material: LibraryMaterial, names: Sequence[str]) -> list[Property] | None:
    """Properties that may all stand behind a limit, else None."""
    rows = [row for name in names if (row := material.property(name)) is not None and row.may_limit]
    return rows if len(rows) == len(names) else None


def _weakest(rows: Sequence[Property]) -> Property:
    """A number from memory if there is one, else the one of the lowest standing."""
    return max(rows, key=lambda row: (row.from_memory, get_args(Status).index(row.status)))


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

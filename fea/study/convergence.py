# SPDX-License-Identifier: MIT
"""Grid convergence of one value over meshes of falling cell size: order, extrapolation, index.

Three meshes show the order p with which a value settles; from it follow the value at cell size zero
and a band round the finest value, the grid convergence index (GCI). What the meshes do not show is
not made up: a value that swings, or whose steps hardly become smaller, has a range and no index,
and an order above what the elements can deliver is replaced by theirs and banded three times as
wide.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from scipy.optimize import brentq

from fea.errors import InputError

SHOWN_FACTOR, GUESSED_FACTOR = 1.25, 3.0
"""Safety factor of the index where three meshes show the order, and elsewhere.
Source: roache-1998."""

SLOWEST, FASTEST = 0.5, 2.0
"""Orders between which one is believed. Below, nothing is extrapolated: a value that grows without
end at a re-entrant corner looks like it. FASTEST, which is taken for a higher one, is the order of
displacement and of smoothly recovered stress. Source: oberkampf-roy-2010 (memory-M)."""

LEAST_ORDER = 1.0
"""Order taken where two meshes cannot show one: that of the stress within a triangle.
Source: assumed, as the lower of the two orders that occur."""

SMALLEST_RATIO = 1.3
"""By how much the cell size should differ from mesh to mesh. Source: celik-2008."""

_SEARCHED = (-8.0, 16.0)  # orders; a series that settles faster or runs away faster ends there
_SAME = 1e-9  # relative change below which two values are one
_MARGIN = 0.1  # by which a shown order may pass FASTEST and still be believed: scatter of meshes

Manner = Literal["settling", "swinging", "growing", "unchanged", "unknown"]


@dataclass(frozen=True)
class Convergence:
    """How a value settles as the cells become smaller.

    Attributes:
        sizes: (m,) cell sizes, the coarsest first, any length unit.
        values: (m,) the value on each mesh.
        manner: of the three finest meshes: "settling" (steps become smaller), "swinging" (they
            change sign), "growing" (they do not become smaller fast enough to end anywhere, at an
            order below SLOWEST, up or down), "unchanged", or "unknown" with two meshes.
        order: observed order p; None where none is shown.
        order_used: order behind `extrapolated`; None where nothing is extrapolated.
        extrapolated: value at cell size zero; None for one that swings or grows.
        safety_factor: of the band; None where there is none.
        gci: half width of the band round the finest value, as a share of it; None where there is no
            band or the finest value is zero.
    """

    sizes: tuple[float, ...]
    values: tuple[float, ...]
    manner: Manner
    order: float | None
    order_used: float | None
    extrapolated: float | None
    safety_factor: float | None
    gci: float | None

    @property
    def spread(self) -> tuple[float, float]:
        """The lowest and the highest value."""
        return min(self.values), max(self.values)

    @property
    def without_end(self) -> "Convergence":
        """The values with their range alone, where they are not one quantity on all meshes."""
        return replace(self, order_used=None, extrapolated=None, safety_factor=None, gci=None)

    def deviation(self, mesh: int = 0) -> float:
        """How far the value of a mesh lies from where the values go, as a share of the latter.

        Where nothing is extrapolated, the farthest value of all meshes stands for it.

        Args:
            mesh: number of the mesh, 0 being the coarsest.
        """
        value = self.values[mesh]
        ends = self.spread if self.extrapolated is None else (self.extrapolated,)
        return max(_share(abs(value - end), end) for end in ends)


def grid_convergence(sizes: Sequence[float], values: Sequence[float]) -> Convergence:
    """Order, extrapolated value and grid convergence index of a value on two or more meshes.

    The three finest meshes decide, or both if there are two.

    Args:
        sizes: (m,) representative cell sizes, all different and above zero, in any order.
        values: (m,) the same quantity on each of them.

    Returns:
        The convergence, meshes sorted from coarse to fine.

    Raises:
        InputError: fewer than two meshes, unequal lengths, sizes that are not positive or occur
            twice, or a number that is not finite.

    Source: celik-2008 (procedure and observed order), roache-1998 (index and safety factors).

    Example:
        >>> found = grid_convergence([4.0, 2.0, 1.0], [10.0 + 0.1 * h**2 for h in (4, 2, 1)])
        >>> round(found.order, 6), round(found.extrapolated, 6), found.manner
        (2.0, 10.0, 'settling')
    """
    pairs = _checked(sizes, values)
    coarse_first = tuple(h for h, _ in pairs), tuple(v for _, v in pairs)
    finest = pairs[:-4:-1]  # the finest first, at most three
    (h1, v1), (h2, v2) = finest[:2]
    manner, order = _manner(finest)
    if manner in ("swinging", "growing"):
        return Convergence(*coarse_first, manner, order, None, None, None, None)
    if manner == "unchanged":
        return Convergence(*coarse_first, manner, None, None, v1, SHOWN_FACTOR, 0.0)
    believed = order is not None and order <= FASTEST + _MARGIN
    used = LEAST_ORDER if order is None else order if believed else FASTEST
    step = (v1 - v2) / math.expm1(used * math.log(h2 / h1))
    factor = SHOWN_FACTOR if believed else GUESSED_FACTOR
    gci = _share(factor * abs(step), v1) if v1 else None
    return Convergence(*coarse_first, manner, order, used, v1 + step, factor, gci)


def _manner(finest: Sequence[tuple[float, float]]) -> tuple[Manner, float | None]:
    """Manner and observed order of two or three (size, value) pairs, the finest first."""
    values = [value for _, value in finest]
    unit = max(map(abs, values))
    if all(abs(value - values[0]) <= _SAME * unit for value in values):
        return "unchanged", None
    if len(finest) == 2:
        return "unknown", None
    fine, coarse = values[1] - values[0], values[2] - values[1]
    if abs(fine) <= _SAME * unit:  # it has settled between the finer two
        return "settling", _SEARCHED[1]
    if fine * coarse < 0.0:
        return "swinging", None
    h1, h2, h3 = (size for size, _ in finest)
    order = _observed_order(abs(coarse / fine), h2 / h1, h3 / h2)
    return ("settling" if order >= SLOWEST else "growing"), order


def _observed_order(change: float, r21: float, r32: float) -> float:
    """The p with change = r21^p (r32^p − 1)/(r21^p − 1), which rises with p."""

    def miss(p: float) -> float:
        if abs(p) < 1e-9:
            return math.log(r32) / math.log(r21) - change
        a, b = math.log(r21), math.log(r32)
        return math.exp(p * a) * math.expm1(p * b) / math.expm1(p * a) - change

    low, high = _SEARCHED
    if miss(low) > 0.0:
        return low
    if miss(high) < 0.0:
        return high
    return float(brentq(miss, low, high, xtol=1e-12))


def _share(part: float, whole: float) -> float:
    if part == 0.0:
        return 0.0
    return part / abs(whole) if whole else math.inf


def _checked(sizes: Sequence[float], values: Sequence[float]) -> list[tuple[float, float]]:
    if len(sizes) != len(values) or len(sizes) < 2:
        raise InputError(
            f"a convergence needs two meshes or more, each with its value; got {len(sizes)} sizes "
            f"and {len(values)} values"
        )
    pairs = sorted(((float(h), float(v)) for h, v in zip(sizes, values, strict=True)), reverse=True)
    for size, value in pairs:
        if not (math.isfinite(size) and size > 0.0 and math.isfinite(value)):
            raise InputError(f"cell size {size:g} with value {value:g}: both must be finite, and "
                             "the size above zero")
    if len({size for size, _ in pairs}) < len(pairs):
        raise InputError("two meshes have the same cell size; leave one of them out")
    return pairs

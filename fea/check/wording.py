# SPDX-License-Identifier: MIT
"""Numbers beside a limit, rounded so that they never say the opposite of the verdict.

Factors are rounded down and utilisations up, against the device, and what is required stands as it
is; digits are added until the rounded numbers compare as the exact ones do.
"""

import math
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal

FEWEST_DIGITS = 2
LIMIT_DIGITS = 4
"""Digits of a required factor: products of partial factors have no more."""
TIDY_DIGITS = 12
MOST_DIGITS = 17  # enough to tell any two floating-point numbers of order one apart


def factor_texts(factor: float, required: float) -> tuple[str, str]:
    """A safety factor and the required one, for people.

    Args:
        factor: capacity over demand; infinite where there is no demand.
        required: what it must reach.

    Returns:
        The factor rounded down, with as many digits as it takes to show which is larger; and the
        required factor as it is, for it is a product of short numbers, or else rounded up.

    Example:
        >>> factor_texts(1.4999, 1.5), factor_texts(2.0, 1.794), factor_texts(1.41425, 1.41421)
        (('1.49', '1.50'), ('2.00', '1.794'), ('1.41425', '1.41421'))
    """
    exact, need = Decimal(repr(float(factor))), Decimal(repr(float(required)))
    tidy = Decimal(f"{required:.{TIDY_DIGITS}g}")  # the last binary digits are noise
    if math.isinf(factor):
        return "no demand", _limit_text(_rounded_up(tidy, LIMIT_DIGITS))
    for digits in range(FEWEST_DIGITS, MOST_DIGITS + 1):
        shown = exact.quantize(Decimal(1).scaleb(-digits), rounding=ROUND_FLOOR)
        limit = _rounded_up(tidy if digits < TIDY_DIGITS else need, max(digits, LIMIT_DIGITS))
        if (shown >= limit) == (exact >= need):
            break
    return f"{shown:f}", _limit_text(limit)


def _rounded_up(value: Decimal, digits: int) -> Decimal:
    return value.quantize(Decimal(1).scaleb(-digits), rounding=ROUND_CEILING)


def _limit_text(limit: Decimal) -> str:
    """Without zeros at the end, but for two digits."""
    whole, _, part = f"{limit:f}".partition(".")
    return f"{whole}.{part.rstrip('0').ljust(FEWEST_DIGITS, '0')}"


def apart_texts(value: float, limit: float) -> tuple[str, str]:
    """A number and what it is compared with, with as many digits as it takes to tell them apart.

    Example:
        >>> apart_texts(0.894, 0.887), apart_texts(1.01, 0.887), apart_texts(0.5, 0.5)
        (('0.894', '0.887'), ('1.01', '0.89'), ('0.50', '0.50'))
    """
    for digits in range(FEWEST_DIGITS, MOST_DIGITS + 1):
        shown, other = f"{value:.{digits}f}", f"{limit:.{digits}f}"
        if shown != other or value == limit:
            return shown, other
    return f"{value!r}", f"{limit!r}"


def percent_text(utilisation: float) -> str:
    """A utilisation in percent, rounded up; with one decimal near the limit.

    Example:
        >>> percent_text(0.423), percent_text(0.9991), percent_text(1.0004), percent_text(1.38)
        ('43 %', '100.0 %', '100.1 %', '138 %')
    """
    exact = Decimal(repr(float(utilisation)))
    tidy = Decimal(f"{utilisation:.12g}")  # the last binary digits are noise, except at the limit
    percent = 100 * (tidy if (tidy > 1) == (exact > 1) else exact)
    step = Decimal("0.1") if 98 < percent < 102 else Decimal(1)
    return f"{percent.quantize(step, rounding=ROUND_CEILING):f} %"


def times_text(utilisation: float) -> str:
    """How many times what is allowed exceeds what is used, or the other way round beyond it.

    Two decimals, rounded against the device: down where there is room, up where there is none.

    Example:
        >>> times_text(0.89), times_text(1.0004), times_text(1.31), times_text(0.01)
        ('1.12', '1.01', '1.31', 'more than 10')
    """
    met = utilisation <= 1.0
    times = 1.0 / utilisation if met else utilisation
    if times > 10.0:
        return "more than 10"
    exact = Decimal(f"{times:.12g}")
    step = Decimal("0.01")
    shown = exact.quantize(step, rounding=ROUND_FLOOR if met else ROUND_CEILING)
    return f"{max(shown, Decimal('1.00')) if met else max(shown, Decimal('1.01')):f}"


def quantity_text(value: float) -> str:
    """A quantity with three significant digits and no exponent for common sizes.

    Example:
        >>> quantity_text(31.4159), quantity_text(0.012345), quantity_text(12345.0)
        ('31.4', '0.0123', '12300')
    """
    if value == 0 or not math.isfinite(value):
        return f"{value:g}"
    size = math.floor(math.log10(abs(value)))
    if not -5 <= size <= 8:
        return f"{value:.2e}"
    rounded = round(value, 2 - size)
    size = math.floor(math.log10(abs(rounded)))
    return f"{rounded:.{max(0, 2 - size)}f}"

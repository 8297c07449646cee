# SPDX-License-Identifier: MIT
"""Units: N, mm, MPa, rad and kg inside; other units only at the doors, through this table.

Keys of input files carry their unit as a suffix (``thickness_mm``, ``yield_strength_mpa``);
a key without one is a pure number.
"""

import math
from types import MappingProxyType

from fea.errors import InputError

STANDARD_GRAVITY = 9.80665
"""m/s², exact by definition. Source: bipm-si."""

_DEGREE = math.pi / 180.0

UNITS = MappingProxyType(
    {
        "1": ("number", 1.0),
        "%": ("number", 0.01),
        "mm": ("length", 1.0),
        "cm": ("length", 10.0),
        "m": ("length", 1000.0),
        "mm²": ("area", 1.0),
        "rad": ("angle", 1.0),
        "deg": ("angle", _DEGREE),
        "kg": ("mass", 1.0),
        "g": ("mass", 1e-3),
        "kg/mm³": ("density", 1.0),
        "g/cm³": ("density", 1e-6),
        "kg/m³": ("density", 1e-9),
        "N": ("force", 1.0),
        "kN": ("force", 1000.0),
        "N·mm": ("moment", 1.0),
        "N·m": ("moment", 1000.0),
        "N/mm": ("line stiffness", 1.0),
        "MPa": ("stress", 1.0),
        "GPa": ("stress", 1000.0),
        "kPa": ("stress", 1e-3),
        "Pa": ("stress", 1e-6),
        "N/mm³": ("bed stiffness", 1.0),
        "kPa/mm": ("bed stiffness", 1e-3),
        "N·mm/rad": ("rotational stiffness", 1.0),
        "N·m/deg": ("rotational stiffness", 1000.0 / _DEGREE),
    }
)
"""Symbol to dimension and factor to the unit used inside (the one with factor 1)."""

SUFFIXES = MappingProxyType(
    {
        "_percent": "%",
        "_mm": "mm",
        "_cm": "cm",
        "_m": "m",
        "_mm2": "mm²",
        "_rad": "rad",
        "_deg": "deg",
        "_kg": "kg",
        "_g": "g",
        "_g_cm3": "g/cm³",
        "_kg_m3": "kg/m³",
        "_n": "N",
        "_kn": "kN",
        "_nmm": "N·mm",
        "_nm": "N·m",
        "_mpa": "MPa",
        "_gpa": "GPa",
        "_kpa": "kPa",
        "_kpa_per_mm": "kPa/mm",
        "_nm_per_deg": "N·m/deg",
    }
)
"""Suffix of a key to the symbol of its unit; the longest suffix that fits wins."""


def internal_unit(unit: str) -> str:
    """The symbol used inside for quantities of the same kind as ``unit``.

    Raises:
        InputError: an unknown unit.

    Example:
        >>> internal_unit("GPa")
        'MPa'
    """
    dimension = _known(unit)[0]
    return next(name for name, row in UNITS.items() if row == (dimension, 1.0))


def convert(value: float, unit: str, to: str | None = None) -> float:
    """Convert ``value`` from ``unit`` to another unit of the same kind.

    Args:
        value: a number in ``unit``.
        unit: symbol of the unit it is given in.
        to: symbol wanted; None for the unit used inside.

    Raises:
        InputError: an unknown unit, or units of different kinds.

    Example:
        >>> convert(2.5, "GPa")
        2500.0
        >>> round(convert(1.0, "rad", to="deg"), 4)
        57.2958
    """
    dimension, factor = _known(unit)
    target, divisor = _known(to) if to is not None else (dimension, 1.0)
    if target != dimension:
        raise InputError(f"'{unit}' is a unit of {dimension}, but '{to}' is one of {target}")
    return value * factor / divisor


def split_key(key: str) -> tuple[str, str]:
    """Split the key of an input file into its name and the symbol of its unit.

    Example:
        >>> split_key("density_g_cm3"), split_key("poisson_ratio")
        (('density', 'g/cm³'), ('poisson_ratio', '1'))
    """
    fitting = [suffix for suffix in SUFFIXES if key.endswith(suffix) and len(key) > len(suffix)]
    if not fitting:
        return key, "1"
    suffix = max(fitting, key=len)
    return key.removesuffix(suffix), SUFFIXES[suffix]


def _known(unit: str) -> tuple[str, float]:
    if unit not in UNITS:
        raise InputError(f"unknown unit '{unit}'; use one of {', '.join(UNITS)}")
    return UNITS[unit]

# SPDX-License-Identifier: MIT
"""What no material of a device has: mostly a number in a wrong unit, or of another test."""

from collections.abc import Mapping

from fea.errors import MaterialError
from fea.units import SUFFIXES, internal_unit, split_key

_UNITS_BY_WORD = (
    (("factor", "poisson", "nu12"), "1"),
    (("density",), "kg/mm³"),
    (("thickness",), "mm"),
    (("strength", "modulus", "stress", "amplitude", "e1", "e2", "g12", "g13", "g23"), "MPa"),
)
_PLAUSIBLE = (
    (("cycles",), 100.0, 1e10),
    (("maximum_ratio",), -0.99, 0.99),
    (("factor",), 0.01, 1.0),
    (("density",), 1e-7, 2.5e-5),
    (("thickness",), 0.01, 30.0),
    (("modulus", "e1", "e2", "g12", "g13", "g23"), 1.0, 1e6),
    (("strength", "amplitude", "stress"), 0.01, 5000.0),
)
"""Words in the name of a property, and the least and most that any material of a device has, in the
unit used inside. They catch a wrong unit, not a wrong number."""


def property_name(key: str) -> str:
    """Name of the property of a key of a materials file.

    Raises:
        MaterialError: the unit is not one of that quantity.

    Example:
        >>> property_name("yield_strength_mpa")
        'yield_strength'
    """
    name, unit = split_key(key)
    expected = _expected_unit(name)
    if expected is not None and internal_unit(unit) != expected:
        ends = [end for end, known in SUFFIXES.items() if internal_unit(known) == expected]
        wanted = "stand without a unit" if expected == "1" else f"end in {' or '.join(ends)}"
        raise MaterialError(f"'{key}' must {wanted}: what it is has no other unit here")
    return name


def require_plausible(key: str, value: float, given: float) -> None:
    """Refuse a number far from any material of a device.

    Args:
        key: of a materials file, with its unit.
        value: in the unit used inside;  given: in the unit of the key.

    Raises:
        MaterialError: it lies outside of what is plausible.
    """
    name, unit = split_key(key)
    for words, least, most in _PLAUSIBLE:
        if any(word in name for word in words):
            if not least <= value <= most:
                low, high = (bound * given / value if value else bound for bound in (least, most))
                raise MaterialError(
                    f"'{key}' is {given:g}; it must lie between {low:g} and {high:g} {unit}".strip()
                    + "; look for a wrong unit, or percent in place of a share"
                )
            return


def _expected_unit(name: str) -> str | None:
    """The unit a property must have by its name, None for one the library does not know."""
    for words, unit in _UNITS_BY_WORD:
        if any(word in name for word in words):
            return unit
    return None


def require_stiffer(values: Mapping[str, float]) -> None:
    """Refuse a strength above a fifth of the modulus: no solid bears that, so a unit is wrong.

    Args:
        values: of a material, by the name of the property, in units used inside.
    """
    modulus = values.get("youngs_modulus")
    for name in ("yield_strength", "tensile_strength"):
        if modulus and name in values and values[name] > 0.2 * modulus:
            raise MaterialError(
                f"{name.replace('_', ' ')} of {values[name]:g} MPa beside a modulus of "
                f"{modulus:g} MPa; no material bears a fifth of its modulus: look for a "
                "wrong unit"
            )


def require_consistent(values: Mapping[str, float]) -> None:
    """Refuse numbers of one material that contradict each other.

    Args:
        values: of a material, by the name of the property, in units used inside.

    Raises:
        MaterialError: it yields above its tensile strength, bears more for a thousand hours than
            for one, or is tired by a stress that a single pull would not reach.

    Example:
        >>> require_consistent({"yield_strength": 30.0, "tensile_strength": 25.0})
        Traceback (most recent call last):
            ...
        fea.errors.MaterialError: yield strength of 30 MPa lies above the tensile strength of 25 ...
    """
    _in_order(values, "yield_strength", "tensile_strength", (
        "give the largest stress of the test, not that at break, or both numbers of one test"))
    for what in ("strength_factor", "modulus"):
        long, short = (f"creep_{what}_{hours}h" for hours in (1000, 1))
        _in_order(values, long, short, "a load that stays weakens a material with time")
    bears = values.get("tensile_strength") or values.get("yield_strength")
    for name in ("fatigue_amplitude", "fatigue_maximum_stress"):
        if bears and name in values and values[name] >= bears:
            raise MaterialError(
                f"{name.replace('_', ' ')} of {values[name]:g} MPa is not below what the "
                f"material bears once, {bears:g} MPa; look for a wrong unit, or a number of "
                "another test"
            )


def _in_order(values: Mapping[str, float], lower: str, upper: str, cure: str) -> None:
    if lower in values and upper in values and values[lower] > values[upper]:
        unit = "" if "factor" in lower else " MPa"
        low, high = (name.replace("_", " ") for name in (lower, upper))
        raise MaterialError(f"{low} of {values[lower]:g}{unit} lies above the {high} of "
                            f"{values[upper]:g}{unit}; {cure}")

# SPDX-License-Identifier: MIT
"""The strength that may be counted on: the lower end of the scatter, at body temperature."""

from dataclasses import dataclass

from fea.check.factors import Factors, is_doubtful
from fea.check.wording import quantity_text
from fea.material.library import LibraryMaterial, Property


@dataclass(frozen=True)
class Capacity:
    """A strength that may be counted on.

    Attributes:
        value: MPa.
        basis: how it came about, in words.
        sources: source keys of the numbers used.
        note: reservation where a number comes from memory, is assumed or is common practice.
    """

    value: float
    basis: str
    sources: tuple[str, ...]
    note: str


@dataclass(frozen=True)
class _Share:
    """A number that the strength is multiplied by."""

    value: float
    words: str
    source: str
    status: str


def capacity_of(material: LibraryMaterial, name: str, factors: Factors) -> Capacity | None:
    """The strength of a material that may be counted on.

    Args:
        material: from the library.
        name: property, such as "yield_strength".
        factors: partial factors; those that apply to "strength" enter here, scatter only where
            the library gives no range and environment only where it gives no factor.

    Returns:
        The capacity, or None where the library has no such property or it is too uncertain to
        be a limit.

    Example:
        >>> from fea.check.factors import read_factors
        >>> from fea.material.library import read_library
        >>> material = read_library()["polypropylene-homopolymer"]
        >>> capacity = capacity_of(material, "yield_strength", read_factors())
        >>> round(capacity.value, 2)
        24.18
        >>> capacity.basis
        'yield strength 34.0 MPa, lower end 31.0 MPa, times 0.78 at 37 °C'
    """
    strength = material.property(name)
    if strength is None or not strength.may_limit:
        return None
    scatter = _scatter(strength, material, factors)
    environment = _environment(name, material, factors)
    parts = [part for part in (scatter, environment) if part.value != 1.0]
    value = strength.value * scatter.value * environment.value
    head = f"{name.replace('_', ' ')} {quantity_text(strength.value)} {strength.unit}"
    weak = {"strength": strength.status} | {part.words: part.status for part in parts}
    doubts = [f"{words}: {status}" for words, status in weak.items() if is_doubtful(status)]
    return Capacity(
        value=value,
        basis=", ".join([head, *(part.words for part in parts)]),
        sources=tuple(dict.fromkeys([strength.source, *(part.source for part in parts)])),
        note="; ".join(doubts),
    )


def _scatter(strength: Property, material: LibraryMaterial, factors: Factors) -> _Share:
    if strength.low is not None:
        words = f"lower end {quantity_text(strength.low)} {strength.unit}"
        return _Share(strength.low / strength.value, words, strength.source, strength.status)
    part = factors.partial("material_scatter", material.kind)
    return _Share(1.0 / part.value, f"over {part.value:.2f} for scatter", part.source, part.status)


def _environment(name: str, material: LibraryMaterial, factors: Factors) -> _Share:
    known = material.property(_environment_property(name, material))
    if known is not None:
        where = "at 37 °C" if material.kind != "laminate" else "hot and wet"
        words = f"times {known.value:.2f} {where}"
        return _Share(known.value, words, known.source, known.status)
    part = factors.partial("environment", material.kind)
    words = f"over {part.value:.2f} for warmth and damp"
    return _Share(1.0 / part.value, words, part.source, part.status)


def _environment_property(name: str, material: LibraryMaterial) -> str:
    if material.kind != "laminate":
        return "strength_factor_37c"
    for word, direction in (("tensile", "tension"), ("compressive", "compression")):
        if word in name:
            return f"hot_wet_factor_{direction}"
    return "hot_wet_factor_shear"

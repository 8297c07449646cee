# SPDX-License-Identifier: MIT
"""The strength that may be counted on: the lower end of the scatter, at body temperature, for as
long as a day asks it.
"""

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from fea.check.creep import longer, strength_kept
from fea.check.factors import Factors, PartialFactor, is_doubtful
from fea.check.wording import quantity_text
from fea.material.library import LibraryMaterial, Property

BODY_C = 36.0
"""From here on a number was measured at body temperature, °C."""


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

    def citing(self, sources: Iterable[str], reservations: Iterable[str] = ()) -> "Capacity":
        """The same with more sources and reservations; empty ones are passed over."""
        return replace(
            self, sources=tuple(dict.fromkeys([*self.sources, *filter(None, sources)])),
            note="; ".join(filter(None, [self.note, *reservations])),
        )  # fmt: skip


@dataclass(frozen=True)
class StrengthShare:
    """A number that the strength is multiplied by.

    Attributes:
        value: 1 or less;  words: how it came about.
        source, status: of the number, from the library or the partial factors.
    """

    value: float
    words: str
    source: str
    status: str


def capacity_of(material: LibraryMaterial, name: str, factors: Factors) -> Capacity | None:
    """The strength of a material that may be counted on.

    Args:
        material: from the library.
        name: property, such as "yield_strength".
        factors: partial factors; those that apply to "strength" enter here, each only where the
            library knows no better: scatter where it gives no range, environment where it gives no
            factor, creep where it gives no creep strengths. A user's own value stands before the
            library's. A strength measured at body temperature loses nothing to it.

    Returns:
        The capacity, or None where the library has no such property or it is too uncertain to
        be a limit.

    Example:
        >>> from fea.check.factors import read_factors
        >>> from fea.material.library import read_library
        >>> material = read_library()["polypropylene-homopolymer"]
        >>> capacity = capacity_of(material, "yield_strength", read_factors())
        >>> round(capacity.value, 2)
        19.7
        >>> capacity.basis.partition(", times ")[2]
        '0.78 at 37 °C, times 0.81 for 0.24 h a day at the peak of steps'
    """
    strength = material.property(name)
    if strength is None or not strength.may_limit:
        return None
    shares = strength_shares(strength, name, material, factors)
    parts = [part for part in shares.values() if part.value != 1.0]
    value = strength.value * math.prod(part.value for part in parts)
    head = f"{name.replace('_', ' ')} {quantity_text(strength.value)} {strength.unit}"
    weak = {"strength": strength.status} | {part.words: part.status for part in parts}
    doubts = [f"{words}: {status}" for words, status in weak.items() if is_doubtful(status)]
    return Capacity(
        value=value,
        basis=", ".join([head, *(part.words for part in parts)]),
        sources=tuple(dict.fromkeys([strength.source, *(part.source for part in parts)])),
        note="; ".join(doubts),
    )


def strength_shares(
    strength: Property, name: str, material: LibraryMaterial, factors: Factors
) -> Mapping[str, StrengthShare]:
    """What each effect leaves of a strength, by the name of the effect.

    Args:
        strength: the property;  name: its name.
        material: it belongs to;  factors: partial factors.

    Example:
        >>> from fea.check.factors import read_factors
        >>> from fea.material.library import read_library
        >>> metal = read_library()["aluminium-7075-t6"]
        >>> strength = metal.property("yield_strength")
        >>> shares = strength_shares(strength, "yield_strength", metal, read_factors())
        >>> {effect: round(share.value, 3) for effect, share in shares.items()}
        {'material_scatter': 0.909, 'environment': 1.0, 'creep': 1.0}
    """
    return {
        "material_scatter": _scatter(strength, material, factors),
        "environment": _environment(strength, name, material, factors),
        "creep": _creep(material, factors),
    }


def _scatter(
    strength: Property, material: LibraryMaterial, factors: Factors
) -> StrengthShare:
    part = factors.partial("material_scatter", material.kind)
    if strength.low is None or part.own:
        return _over(part, "scatter")
    words = f"lower end {quantity_text(strength.low)} {strength.unit}"
    return StrengthShare(strength.low / strength.value, words, strength.source, strength.status)


def _environment(
    strength: Property, name: str, material: LibraryMaterial, factors: Factors
) -> StrengthShare:
    part = factors.partial("environment", material.kind)
    if strength.temperature_c >= BODY_C and (material.kind != "laminate" or _is_wet(strength)):
        words = f"measured at {strength.temperature_c:g} °C"
        return StrengthShare(1.0, words, strength.source, strength.status)
    known = material.property(_environment_property(name, material))
    if known is None or part.own or not known.may_limit:
        return _over(part, "warmth and damp")
    where = "at 37 °C" if material.kind != "laminate" else "hot and wet"
    words = f"times {known.value:.2f} {where}"
    return StrengthShare(known.value, words, known.source, known.status)


def _is_wet(strength: Property) -> bool:
    return any(word in strength.condition for word in ("wet", "humid", "damp"))


def _creep(material: LibraryMaterial, factors: Factors) -> StrengthShare:
    """Where the factor is contained in the load, as in a fall, nothing is held.

    A general factor that is no user's is for the peaks of steps, so it grows under a longer load.
    """
    part = factors.partial("creep", material.kind)
    kept = strength_kept(material, factors.loaded_hours)
    if part.own or part.applies == "elsewhere" or (kept is None and part.value == 1.0):
        return _over(part, "creep")
    if kept is None:
        grown = replace(part, value=part.value * longer(factors.loaded_hours))
        return _over(grown, f"creep in {factors.loaded_words}")
    words = f"times {kept.value:.2f} for {factors.loaded_words}"
    return StrengthShare(kept.value, words, kept.origin.source, kept.origin.status)


def _over(part: PartialFactor, effect: str) -> StrengthShare:
    words = f"over {part.value:.2f} for {effect}"
    return StrengthShare(1.0 / part.value, words, part.source, part.status)


def _environment_property(name: str, material: LibraryMaterial) -> str:
    if material.kind != "laminate":
        return "strength_factor_37c"
    for word, direction in (("tensile", "tension"), ("compressive", "compression")):
        if word in name:
            return f"hot_wet_factor_{direction}"
    return "hot_wet_factor_shear"

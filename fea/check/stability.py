# SPDX-License-Identifier: MIT
"""What of a computed buckling factor may be counted on: knock-down and stiffness left."""

import math
from collections.abc import Iterable
from dataclasses import dataclass

from fea.check.factors import Factors, is_doubtful
from fea.check.wording import quantity_text
from fea.material.library import LibraryMaterial, Property

FLAT = 1500.0
"""Radius over wall beyond which a wall counts as flat: the tests behind the curve end there."""


@dataclass(frozen=True)
class Share:
    """A share, at most 1, that a buckling factor is multiplied by.

    Attributes:
        value: the share;  words: how it came about.
        sources: source keys;  note: what rests on memory, practice or assumption.
    """

    value: float
    words: str
    sources: tuple[str, ...] = ()
    note: str = ""


def knock_down(slenderness: float | None) -> Share:
    """What imperfections leave of the buckling load of a wall or bar.

    A curved wall loses most: γ = 1 − 0.901 (1 − e^−φ), φ = √(R/t)/16, the lower bound of tests on
    cylinders under axial compression, which are the most sensitive; bending and twist lose less.
    A flat wall carries on beyond its buckling load, and a bar reaches it: 1.

    Args:
        slenderness: R/t, radius of curvature over wall; above 1500 the wall counts as flat; None
            for a bar.

    Source: nasa-sp-8007, from memory and from works that quote it.

    Example:
        >>> [round(knock_down(ratio).value, 2) for ratio in (10.0, 100.0, 1500.0, math.inf)]
        [0.84, 0.58, 0.18, 1.0]
    """
    if slenderness is None:
        return Share(1.0, "no knock-down for a bar, which reaches its buckling load")
    if slenderness > FLAT:
        return Share(1.0, "no knock-down for a flat wall, which carries on when it buckles")
    value = 1.0 - 0.901 * (1.0 - math.exp(-math.sqrt(slenderness) / 16.0))
    return Share(
        value,
        f"times {value:.2f} for imperfections of a curved wall, R/t = {slenderness:.0f}",
        ("nasa-sp-8007",),
        "knock-down: memory-M, of cylinders",
    )


def stiffness_left(materials: Iterable[LibraryMaterial], factors: Factors) -> Share:
    """What scatter, warmth and creep leave of the stiffness, of the material that loses most.

    A buckling factor goes with the stiffness. If every part lost this share the factor would lose
    it too; beds of tissue and better materials lose less, so it is on the safe side. Scatter: the
    lower end of the modulus. Warmth: the modulus at 37 °C. Creep: the modulus after an hour under
    load, as if the load of the case were stood on that long. Each enters here and nowhere else.

    Args:
        materials: all materials of the device.
        factors: partial factors; they stand in, as divisors, where the library has no number.

    Example:
        >>> from fea.check.factors import read_factors
        >>> from fea.material.library import read_library
        >>> plastic = read_library()["polypropylene-homopolymer"]
        >>> share = stiffness_left([plastic], read_factors())
        >>> round(share.value, 3)  # 1140/1400 × 0.70 × 925/1400
        0.377
    """
    return min((_left(material, factors) for material in materials), key=lambda left: left.value)


def warm_share(material: LibraryMaterial, factors: Factors) -> Share:
    """What body temperature leaves of the stiffness of a material.

    Args:
        material: of the device.
        factors: partial factors; they stand in where the library has no number.

    Example:
        >>> from fea.check.factors import read_factors
        >>> from fea.material.library import read_library
        >>> library, factors = read_library(), read_factors()
        >>> [warm_share(library[name], factors).value
        ...  for name in ("polypropylene-homopolymer", "aluminium-6061-t6")]
        [0.7, 1.0]
    """
    warm = material.property("modulus_factor_37c")
    known = None if warm is None else (warm.value, warm)
    return _part("at 37 °C", "environment", known, material, factors)


def _left(material: LibraryMaterial, factors: Factors) -> Share:
    modulus = material.property("youngs_modulus") or material.property("e1")
    assert modulus is not None  # the library asks for it
    crept = material.property("creep_modulus_1h")
    scatter = None if modulus.low is None else (modulus.low / modulus.value, modulus)
    creep = None if crept is None else (crept.value / modulus.value, crept)
    parts = (
        _part("scatter", "material_scatter", scatter, material, factors),
        warm_share(material, factors),
        _part("after an hour", "creep", creep, material, factors),
    )
    lost = [part for part in parts if part.value != 1.0]
    words = ", ".join(part.words for part in lost)
    value = math.prod(part.value for part in lost)
    return Share(
        value,
        f"times {quantity_text(value)} for what {material.title} keeps of its stiffness ({words})"
        if lost
        else "nothing off for the stiffness of metal",
        tuple(dict.fromkeys(key for part in lost for key in part.sources)),
        "; ".join(part.note for part in lost if part.note),
    )


def _part(
    words: str,
    effect: str,
    known: tuple[float, Property] | None,
    material: LibraryMaterial,
    factors: Factors,
) -> Share:
    """The share that one effect leaves: from the library, or by the partial factor."""
    if known is not None:
        value, origin = known
        source, status = origin.source, origin.status
    else:
        part = factors.partial(effect, material.kind)
        value, source, status = 1.0 / part.value, part.source, part.status
    doubt = f"stiffness with {words}: {status}" if is_doubtful(status) else ""
    return Share(value, f"{value:.2f} {words}", (source,), doubt)

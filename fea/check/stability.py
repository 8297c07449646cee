# SPDX-License-Identifier: MIT
"""What of a computed buckling factor may be counted on: knock-down and stiffness left."""

import math
from collections.abc import Iterable
from dataclasses import dataclass

from fea.check.capacity import BODY_C
from fea.check.creep import modulus_kept
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


def stiffness_left(
    materials: Iterable[LibraryMaterial], factors: Factors, held: bool = False
) -> Share:
    """What scatter, warmth and creep leave of the stiffness, of the material that loses most.

    A buckling factor goes with the stiffness. If every part lost this share the factor would lose
    it too; beds of tissue and better materials lose less, so it is on the safe side. Scatter: the
    lower end of the modulus. Warmth: the modulus at 37 °C. Each enters here and nowhere else.

    Creep only under a held load. Buckling asks for the stiffness against a change of shape while
    the load acts: at a step's peak a tenth of a second, in which the plastic answers with its
    short-term modulus, whatever it crept before. What it crept between steps is a small lasting
    bend, an imperfection, which the knock-down stands for. A load that is held lets the buckle
    itself creep on, so it meets the creep modulus for the hours it is held.

    Args:
        materials: all materials of the device.
        factors: partial factors; they stand in, as divisors, where the library has no number.
        held: True for a load that is held, for the hours of standing that the factors give.

    Example:
        >>> from fea.check.factors import read_factors
        >>> from fea.material.library import read_library
        >>> plastic = read_library()["polypropylene-homopolymer"]
        >>> step = stiffness_left([plastic], read_factors())
        >>> round(step.value, 3)  # 1140/1400 × 0.70
        0.57
        >>> round(stiffness_left([plastic], read_factors(), held=True).value, 3)  # × 801/1400
        0.326
    """
    lefts = (_left(material, factors, held) for material in materials)
    return min(lefts, key=lambda left: left.value)


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
    modulus = material.property("youngs_modulus") or material.property("e1")
    if modulus is not None and modulus.temperature_c >= BODY_C:
        return Share(1.0, f"modulus measured at {modulus.temperature_c:g} °C", (modulus.source,))
    warm = material.property("modulus_factor_37c")
    known = None if warm is None else (warm.value, warm)
    return _part("at 37 °C", "environment", known, material, factors)


def _left(material: LibraryMaterial, factors: Factors, held: bool) -> Share:
    modulus = material.property("youngs_modulus") or material.property("e1")
    assert modulus is not None  # the library asks for it
    scatter = None if modulus.low is None else (modulus.low / modulus.value, modulus)
    parts = [
        _part("scatter", "material_scatter", scatter, material, factors),
        warm_share(material, factors),
    ]
    if held:
        crept = modulus_kept(material, factors.standing_hours)
        known = None if crept is None else (crept.value, crept.origin)
        words = f"held for {factors.standing_hours:.2g} h"
        parts.append(_part(words, "creep", known, material, factors))
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
    part = factors.partial(effect, material.kind)
    if known is not None and known[1].may_limit and not part.own:
        value, origin = known
        source, status = origin.source, origin.status
    else:
        value, source, status = 1.0 / part.value, part.source, part.status
    doubt = f"stiffness, {words}: {status}" if is_doubtful(status) else ""
    return Share(value, f"{value:.2f} {words}", (source,), doubt)

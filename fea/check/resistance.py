# SPDX-License-Identifier: MIT
"""The stress at which a wall or bar of one material gives way, under the factors of a purpose."""

from dataclasses import replace

from fea.check.capacity import Capacity, capacity_of
from fea.check.factors import BREAK, YIELD, Factors
from fea.material.library import LibraryMaterial

FOLDS = 1.5
"""Elastic stress over yield at which a rectangular section that bends has yielded through and
folds: its plastic over its elastic section modulus, (b h²/4) / (b h²/6). Source: derived."""


def resistance(material: LibraryMaterial, factors: Factors) -> Capacity | None:
    """What stress may be held against; None where a number that it needs is not known.

    Args:
        material: of a wall or bar, no laminate.
        factors: partial factors; they say whether nothing may yield, or nothing may break.

    Returns:
        The strength that the factors name. Where nothing may break, no more than 1.5 times the
        yield strength: a section that yields through folds long before a soft metal breaks, and
        whoever leans on it falls.

    Example:
        >>> from fea.check.factors import read_factors
        >>> from fea.check.purpose import factors_for
        >>> from fea.material.library import read_library
        >>> steel, factors = read_library()["stainless-steel-316l"], read_factors()
        >>> [round(resistance(steel, factors_for(factors, purpose)).value)
        ...  for purpose in ("verdict", "fall")]
        [190, 285]
    """
    capacity = capacity_of(material, factors.against, factors)
    folding = capacity_of(material, YIELD, factors)
    if factors.against != BREAK or capacity is None or folding is None:
        return capacity
    folds = replace(
        folding,
        value=FOLDS * folding.value,
        basis=f"{FOLDS:g} times the {folding.basis}, at which a section in bending folds",
    )
    return min(capacity, folds, key=lambda one: one.value)

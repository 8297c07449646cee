# SPDX-License-Identifier: MIT
"""Shear between the plies of a laminated wall; and the pull between them, which is not computed."""

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fea.check.capacity import capacity_of
from fea.check.check import NotChecked
from fea.check.factors import Factors
from fea.check.strength import Asked, Spot, ZoneJudgement, against, missing, nothing_judged
from fea.material.library import LibraryMaterial

Array = NDArray[np.float64]

TOPIC = "interlaminar shear"
STRENGTH = "interlaminar_shear_strength"
"""Library name of the strength."""

BOND = "bond shear"
"""Topic of the shear between a wall and what is bonded on."""
BOND_STRENGTH = "bond_shear_strength"
"""Library name of the shear strength of a material's bond on the wall, as of lap shear coupons; the
shipped library has none. Scatter, warmth, damp and creep take off what they take off the shear
strength of the material itself."""

PULL = NotChecked(
    topic="interlaminar tension",
    zone="device",
    because="where load straightens a curved wall, as at the heel and the radius of the sole, at "
    "trimmed edges between plies of different angles, and where plies end or a wall folds, plies "
    "are pulled apart; that pull, and shear within a wall thickness of where they end, is not "
    "computed in this version; look for plies that part or turn dull there at every visit",
)
"""What no laminated device is judged on in this version."""


def narrow_wall(zone: str) -> NotChecked:
    """A laminated zone that is one cell wide, so that nothing beside its free edge is known."""
    because = ("shear between plies at the free edge: the wall is one cell wide there, so that the "
               "moment beside the edge cannot be read; use two or more cells across")
    return NotChecked(topic=TOPIC, zone=zone, because=because)


def judge_interlaminar_shear(
    spot: Spot,
    stress: ArrayLike,
    material: LibraryMaterial,
    factors: Factors,
    error: ArrayLike | None = None,
    heights: Sequence[int] | None = None,
) -> ZoneJudgement:
    """The largest shear stress between or within plies against the interlaminar shear strength.

    Args:
        spot: zone, case and places.
        stress: (m, k, 2) stress 13 and 23, MPa; in the middle of the lowest ply, between it and
            the next, in the middle of that, and so on (`fea.solver.interlaminar`).
        material: of the plies.
        factors: partial factors. Damp and warmth take off what they take off shear in the plane.
        error: (m, k) estimated error of the magnitude, MPa; None: no estimate.
        heights: (k,) which of those heights are given, counted from 0; None: the first k.

    Returns:
        The check of `TOPIC` at the governing place and height.

    The strength of a short beam is taken for both directions of shear, and for middles of plies.

    Source: rohwer-1988 for the stress; the strength is the material's.
    """
    size: Array = np.linalg.norm(np.asarray(stress, dtype=float), axis=-1)

    def words(index: tuple[int, ...]) -> str:
        height = index[1] if heights is None else heights[index[1]]
        ply = height // 2 + 1
        at = f"between plies {ply} and {ply + 1}" if height % 2 else f"in the middle of ply {ply}"
        return f"shear stress {at}, from equilibrium"

    return _judge(spot, size, error, words, material, factors)


def judge_edge_shear(
    spot: Spot,
    stress: ArrayLike,
    material: LibraryMaterial,
    factors: Factors,
    error: ArrayLike | None = None,
) -> ZoneJudgement:
    """The shear stress between plies at a free edge against the interlaminar shear strength.

    Args:
        spot: zone, case and places on the edge.
        stress: (m,) size of the stress, MPa (`fea.solver.edgeshear`).
        material, factors: as of `judge_interlaminar_shear`.
        error: (m,) estimated error, MPa; None: no estimate.

    Returns:
        The check of `TOPIC` at the governing place of the edge.
    """
    words = "shear stress between plies at the free edge, from the twisting moment beside it"
    return _judge(spot, np.asarray(stress, float), error, lambda _: words, material, factors)


def judge_bond(
    spot: Spot,
    stress: ArrayLike,
    material: LibraryMaterial,
    factors: Factors,
    error: ArrayLike | None = None,
) -> ZoneJudgement:
    """The shear stress in a bond against the shear strength of the bond.

    Args:
        spot: zone, case and places.
        stress: (m, 2) stress 13 and 23 in the bond, MPa.
        material: that is bonded on; its `BOND_STRENGTH` is that of its bond on the wall.
        factors: partial factors.
        error: (m,) estimated error of the magnitude, MPa; None: no estimate.

    Returns:
        The check of `BOND` at the governing place. The glue is taken to be thin: it does not give.
    """
    size: Array = np.linalg.norm(np.asarray(stress, dtype=float), axis=-1)
    words = f"shear stress in the bond of {material.name} on the wall, from equilibrium,"
    names = BOND, BOND_STRENGTH
    return _judge(spot, size, error, lambda _: words, material, factors, names)


def _judge(
    spot: Spot,
    size: Array,
    error: ArrayLike | None,
    words: Callable[[tuple[int, ...]], str],
    material: LibraryMaterial,
    factors: Factors,
    names: tuple[str, str] = (TOPIC, STRENGTH),
) -> ZoneJudgement:
    topic, strength = names
    capacity = capacity_of(material, strength, factors)
    if capacity is None:
        return ZoneJudgement((missing(topic, spot.zone, material, [strength]),), spot.unknown())
    doubt = None if error is None else np.broadcast_to(np.asarray(error, dtype=float), size.shape)
    demand = size if doubt is None else size + doubt
    index = spot.worst(demand)
    if index is None:
        return ZoneJudgement((nothing_judged(topic, spot.zone),), spot.unknown())
    required, asked = factors.required(material.kind), Asked.at(index, demand, doubt)
    check = against(capacity, spot, topic, index[0], asked, words(index), required)
    return ZoneJudgement((check,), spot.shares(demand) * required.value / capacity.value)

# SPDX-License-Identifier: MIT
"""Shear between the plies of a laminated wall; and the pull between them, which is not computed."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fea.check.capacity import capacity_of
from fea.check.check import NotChecked
from fea.check.factors import Factors
from fea.check.strength import Asked, Spot, ZoneJudgement, against, missing, nothing_judged
from fea.material.library import LibraryMaterial

TOPIC = "interlaminar shear"
STRENGTH = "interlaminar_shear_strength"
"""Library name of the strength."""

PULL = NotChecked(
    topic="interlaminar tension",
    zone="device",
    because="where load straightens a curved wall, as at the heel and the radius of the sole, its "
    "plies are pulled apart; that pull is not computed in this version; look for white or dull "
    "places there at every visit",
)
"""What no laminated device is judged on in this version."""


def judge_interlaminar_shear(
    spot: Spot,
    stress: ArrayLike,
    material: LibraryMaterial,
    factors: Factors,
    error: ArrayLike | None = None,
) -> ZoneJudgement:
    """The largest shear stress between or within plies against the interlaminar shear strength.

    Args:
        spot: zone, case and places.
        stress: (m, k, 2) stress 13 and 23, MPa; in the middle of the lowest ply, between it and
            the next, in the middle of that, and so on (`fea.solver.interlaminar`).
        material: of the plies.
        factors: partial factors. Damp and warmth take off what they take off shear in the plane.
        error: (m, k) estimated error of the magnitude, MPa; None: no estimate.

    Returns:
        The check of `TOPIC` at the governing place and height.

    The strength of a short beam is taken for both directions of shear, and for middles of plies.

    Source: rohwer-1988 for the stress; the strength is the material's.
    """
    capacity = capacity_of(material, STRENGTH, factors)
    if capacity is None:
        return ZoneJudgement((missing(TOPIC, spot.zone, material, [STRENGTH]),), spot.unknown())
    size: NDArray[np.float64] = np.linalg.norm(np.asarray(stress, dtype=float), axis=-1)
    doubt = None if error is None else np.broadcast_to(np.asarray(error, dtype=float), size.shape)
    demand = size if doubt is None else size + doubt
    index = spot.worst(demand)
    if index is None:
        return ZoneJudgement((nothing_judged(TOPIC, spot.zone),), spot.unknown())
    required = factors.required(material.kind)
    check = against(
        capacity, spot, TOPIC, index[0], Asked.at(index, demand, doubt),
        f"shear stress {_where(index[1])}, from equilibrium", required,
    )
    return ZoneJudgement((check,), spot.shares(demand) * required.value / capacity.value)


def _where(level: int) -> str:
    ply = level // 2 + 1
    return f"between plies {ply} and {ply + 1}" if level % 2 else f"in the middle of ply {ply}"

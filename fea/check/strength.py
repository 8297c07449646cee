# SPDX-License-Identifier: MIT
"""Strength of isotropic walls and of bars: yield, extreme fibres; and the tools that plies share.

Every function judges one zone in one load case and names the governing place. What is asked is the
stress and the estimate of its error together; what local raisers (holes, rivets, sharp corners) add
is not in it.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fea.check.capacity import Capacity
from fea.check.check import Check, Finding, NotChecked
from fea.check.factors import Factors, RequiredFactor
from fea.check.resistance import resistance
from fea.check.wording import quantity_text
from fea.material.library import LibraryMaterial
from fea.tensors import von_mises

_LAYERS = ("bottom", "middle", "top")


@dataclass(frozen=True, eq=False)
class Spot:
    """Where a zone is judged.

    Attributes:
        zone: name of the zone;  case: name of the load case.
        places: (m, 3) where stress is known: corners of the zone's cells, or middles of struts, mm.
        judged: (m,) False for places that are left out of this judgement; None judges all.
    """

    zone: str
    case: str
    places: NDArray[np.float64]
    judged: NDArray[np.bool_] | None = None

    def worst(self, values: NDArray[np.float64]) -> tuple[int, ...] | None:
        """Index of the largest of (m, ...) values among the judged places; None if there is none.

        A value that is not a number counts as the largest, so that it cannot hide.
        """
        judged = np.ones(len(values), dtype=bool) if self.judged is None else self.judged
        if not judged.any():
            return None
        kept = np.where(judged.reshape(-1, *[1] * (values.ndim - 1)), values, -np.inf)
        return tuple(int(k) for k in np.unravel_index(np.argmax(kept), kept.shape))

    def shares(self, values: NDArray[np.float64]) -> NDArray[np.float64]:
        """The largest value (m,) at each place of (m, ...) values; NaN where it is left out."""
        largest = values.reshape(len(values), -1).max(axis=1)
        return largest if self.judged is None else np.where(self.judged, largest, np.nan)

    def unknown(self) -> NDArray[np.float64]:
        """(m,) NaN: no place could be judged."""
        return np.full(len(self.places), np.nan)


@dataclass(frozen=True, eq=False)
class ZoneJudgement:
    """What was found in one zone and case.

    Attributes:
        findings: checks at the governing place, or why they could not be made.
        shares: (m,) share of the allowed stress used at each place, 1 being the limit; NaN where a
            place is not judged, or not by every criterion.
    """

    findings: tuple[Finding, ...]
    shares: NDArray[np.float64]


def judge_yield(
    spot: Spot,
    stress: ArrayLike,
    material: LibraryMaterial,
    factors: Factors,
    error: ArrayLike | None = None,
    *,
    topic: str | None = None,
    what: str = "von Mises stress",
    part: str = "the wall",
) -> ZoneJudgement:
    """Von Mises stress of an isotropic wall against yield, or the strength that factors name.

    Args:
        spot: zone, case and places.
        stress: (3, m, 3) stress at bottom, middle and top, components 11, 22, 12, MPa.
        material: thermoplastic, metal or printed.
        factors: partial factors.
        error: (3, m) estimated error of the von Mises stress, MPa, 0 or more; None: no estimate.
        topic: of the check, None for that of the factors;  what: the stress, in words.
        part: whose bottom, middle and top they are, in words.

    Returns:
        The check at the governing place and layer.

    Source: von-mises-1913. Compression yields later in thermoplastics; that reserve is not used.
    """
    equivalent = von_mises(stress)
    return _judge_scalar(
        spot,
        topic or factors.topic,
        equivalent.T,
        None if error is None else np.broadcast_to(error, equivalent.shape).T,
        lambda index: f"{what} at the {_LAYERS[index[1]]} of {part}",
        material,
        factors,
    )


def judge_bar(
    spot: Spot,
    fibre_stress: ArrayLike,
    material: LibraryMaterial,
    factors: Factors,
    twist: ArrayLike = 0.0,
) -> ZoneJudgement:
    """Stress in the extreme fibres of a bar against yield, or the strength of the factors.

    Axial stress is highest at the corners, shear of torsion in the middle of the sides. Von Mises
    stress of both together is asked, as if they met: never less than what is anywhere.

    Args:
        spot: zone, case and places.
        fibre_stress: (m, 2, p) axial stress at both ends of each strut, tension positive, MPa.
        material: of the bar.
        factors: partial factors.
        twist: (m, 2) highest shear stress of torsion at both ends of each strut, MPa.

    Returns:
        The check "bar stress" at the governing strut. Struts are exact between their nodes, so it
        has no error.
    """
    stress = np.asarray(fibre_stress, dtype=float)
    shear = np.broadcast_to(np.asarray(twist, dtype=float), stress.shape[:-1])[..., None]
    together = np.sqrt(stress**2 + 3.0 * shear**2)

    def words(index: tuple[int, ...]) -> str:
        sense = "tension" if stress[index] >= 0.0 else "compression"
        return (
            f"{sense} in the extreme fibre from axial force and bending, exact between the nodes "
            f"of the bar, with {quantity_text(abs(float(shear[index[:-1]][0])))} MPa of torsion "
            "(von Mises, as if the highest of both met); shear of forces across, which is nothing "
            "in the extreme fibre, is not in it"
        )

    return _judge_scalar(spot, "bar stress", together, None, words, material, factors)


@dataclass(frozen=True)
class Asked:
    """A demand at the upper end of its error band, and the error that it contains, if estimated."""

    demand: float
    error: float | None

    @classmethod
    def at(
        cls, index: tuple[int, ...], upper: NDArray[np.float64], error: NDArray[np.float64] | None
    ) -> "Asked":
        """Of an upper end that may be negative: less than nothing is nothing."""
        demand = float(upper[index])
        demand = demand if not demand < 0.0 else 0.0
        return cls(demand, None if error is None else min(float(error[index]), demand))

    def times(self, factor: float) -> "Asked":
        return Asked(self.demand * factor, None if self.error is None else self.error * factor)


def _judge_scalar(
    spot: Spot,
    topic: str,
    stress: NDArray[np.float64],
    error: NDArray[np.float64] | None,
    words: Callable[[tuple[int, ...]], str],
    material: LibraryMaterial,
    factors: Factors,
) -> ZoneJudgement:
    """Judge one stress (m, ...) and its error; `words` says what stands at an index."""
    capacity = resistance(material, factors)
    if capacity is None:
        gap = missing(topic, spot.zone, material, [factors.against])
        return ZoneJudgement((gap,), spot.unknown())
    demand = stress if error is None else stress + error
    index = spot.worst(demand)
    if index is None:
        return ZoneJudgement((nothing_judged(topic, spot.zone),), spot.unknown())
    required = factors.required(material.kind)
    asked = Asked.at(index, demand, error)
    check = against(capacity, spot, topic, index[0], asked, words(index), required)
    return ZoneJudgement((check,), spot.shares(demand) * required.value / capacity.value)


def against(
    capacity: Capacity,
    spot: Spot,
    topic: str,
    place: int,
    asked: Asked,
    what: str,
    required: RequiredFactor,
    unit: str = "MPa",
) -> Check:
    """The check of one demand at one of the places of a spot."""
    x, y, z = spot.places[place].tolist()
    return Check(
        topic=topic,
        zone=spot.zone,
        case=spot.case,
        place=(x, y, z),
        demand=asked.demand,
        capacity=capacity.value,
        unit=unit,
        required=required.value,
        basis=f"{what}, against {capacity.basis}; {required.words}",
        sources=tuple(dict.fromkeys([*capacity.sources, *required.sources])),
        note="; ".join(text for text in (capacity.note, required.note) if text),
        error=asked.error,
    )


def missing(
    topic: str, zone: str, material: LibraryMaterial, names: Sequence[str]
) -> NotChecked:
    """Strengths that the library does not know well enough to be a limit, and the cure."""
    listed = ", ".join(name.replace("_", " ") for name in names)
    return NotChecked(
        topic=topic,
        zone=zone,
        because=f"no trustworthy value of {listed} is known for '{material.name}'; measure it and "
        "lay a material file over the library",
    )


def nothing_judged(topic: str, zone: str) -> NotChecked:
    """All places of a zone were left out."""
    return NotChecked(
        topic=topic, zone=zone, because="every cell of the zone is left out of the judgement"
    )

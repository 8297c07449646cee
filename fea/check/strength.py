# SPDX-License-Identifier: MIT
"""Strength of walls and bars: yield, ply failure, extreme fibres.

Every function judges one zone in one load case and names the governing place. What is asked is the
stress and the estimate of its error together; what local raisers (holes, rivets, sharp corners) add
is not in it.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fea.check.capacity import Capacity, capacity_of
from fea.check.check import Check, Finding, NotChecked
from fea.check.factors import Factors, RequiredFactor
from fea.material.criteria import PlyStrength, stress_ratios, tsai_wu
from fea.material.library import LibraryMaterial
from fea.solver.recovery import Measure
from fea.tensors import von_mises

PLY_STRENGTHS = (
    "tensile_strength_1",
    "compressive_strength_1",
    "tensile_strength_2",
    "compressive_strength_2",
    "shear_strength_12",
)
"""Library names of the strengths of a ply, in the order of `PlyStrength`."""

_PLY_WORDS = (
    "tension along axis 1",
    "compression along axis 1",
    "tension along axis 2",
    "compression along axis 2",
    "shear in the plane",
)
_LAYERS = ("bottom", "middle", "top")

PlyError = Callable[[Measure], NDArray[np.float64]]
"""The estimated error of a measure of ply stress, at every place where the stress is given."""


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
) -> ZoneJudgement:
    """Von Mises stress of an isotropic wall against yield, or the strength that factors name.

    Args:
        spot: zone, case and places.
        stress: (3, m, 3) stress at bottom, middle and top, components 11, 22, 12, MPa.
        material: thermoplastic, metal or printed.
        factors: partial factors.
        error: (3, m) estimated error of the von Mises stress, MPa, 0 or more; None: no estimate.
        topic: of the check, None for that of the factors;  what: the stress, in words.

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
        lambda index: f"{what} at the {_LAYERS[index[1]]} of the wall",
        material,
        factors,
    )


def judge_bar(
    spot: Spot, fibre_stress: ArrayLike, material: LibraryMaterial, factors: Factors
) -> ZoneJudgement:
    """Axial stress in the extreme fibres of a bar against yield, or the strength of the factors.

    Args:
        spot: zone, case and places.
        fibre_stress: (m, 2, p) axial stress at both ends of each strut, tension positive, MPa.
        material: of the bar.
        factors: partial factors.

    Returns:
        The check "bar stress" at the governing strut. Struts are exact between their nodes, so it
        has no error.
    """
    stress = np.asarray(fibre_stress, dtype=float)

    def words(index: tuple[int, ...]) -> str:
        sense = "tension" if stress[index] >= 0.0 else "compression"
        return (
            f"{sense} in the extreme fibre from axial force and bending, exact between the nodes "
            "of the bar; torsion is not in it"
        )

    return _judge_scalar(spot, "bar stress", np.abs(stress), None, words, material, factors)


def judge_plies(
    spot: Spot,
    ply_stress: ArrayLike,
    angles_deg: Sequence[float],
    material: LibraryMaterial,
    factors: Factors,
    error: PlyError | None = None,
    numbers: Sequence[int] | None = None,
) -> ZoneJudgement:
    """First-ply failure of a laminated wall, by maximum stress and by Tsai-Wu.

    Args:
        spot: zone, case and places.
        ply_stress: (m, p, 3, 3) stress at bottom, middle and top of each ply in ply axes, MPa.
        angles_deg: (p,) ply angles, for the words only.
        material: of the plies.
        factors: partial factors.
        error: takes a measure of stress, and gives its estimated error (m, p, 3, ...), 0 or more;
            None: no estimate.
        numbers: (p,) the plies' numbers in their layup, from 1, for the words only; None: 1 to p.

    Returns:
        Checks "ply stress" and "ply interaction". With a strength missing, both are not checked,
        and the strengths that are known are judged by themselves as "ply stress, known strengths".

    Source: jones-1999, tsai-wu-1971.
    """
    numbers = range(1, len(angles_deg) + 1) if numbers is None else numbers
    names = [f"ply {n} at {angle:g}°" for n, angle in zip(numbers, angles_deg, strict=True)]
    plies = _Plies.of(spot, ply_stress, error, names, material, factors)
    if plies.missing:
        findings: list[Finding] = [
            _missing(topic, spot.zone, material, plies.missing)
            for topic in ("ply stress", "ply interaction")
        ]
        if len(plies.missing) < len(PLY_STRENGTHS):
            findings.append(plies.maximum_stress("ply stress, known strengths")[0])
        return ZoneJudgement(tuple(findings), spot.unknown())
    (stress, ratios), (interaction, exposure) = plies.maximum_stress("ply stress"), plies.tsai_wu()
    shares = np.fmax(spot.shares(ratios), spot.shares(exposure)) * plies.required.value
    return ZoneJudgement((stress, interaction), shares)


@dataclass(frozen=True, eq=False)
class _Plies:
    """Stress and strength of the plies of one zone in one case."""

    spot: Spot
    stress: NDArray[np.float64]
    error: PlyError | None
    names: Sequence[str]
    capacities: tuple[Capacity | None, ...]
    required: RequiredFactor

    @classmethod
    def of(
        cls,
        spot: Spot,
        ply_stress: ArrayLike,
        error: PlyError | None,
        names: Sequence[str],
        material: LibraryMaterial,
        factors: Factors,
    ) -> "_Plies":
        capacities = tuple(capacity_of(material, name, factors) for name in PLY_STRENGTHS)
        stress = np.asarray(ply_stress, dtype=float)
        return cls(spot, stress, error, names, capacities, factors.required(material.kind))

    @property
    def missing(self) -> list[str]:
        pairs = zip(PLY_STRENGTHS, self.capacities, strict=True)
        return [name for name, entry in pairs if entry is None]

    @property
    def strength(self) -> PlyStrength:
        return PlyStrength(*(None if entry is None else entry.value for entry in self.capacities))

    def maximum_stress(self, topic: str) -> tuple[Finding, NDArray[np.float64]]:
        ratios, errors = stress_ratios(self.stress, self.strength), None
        if self.error is not None:
            errors = np.abs(stress_ratios(self.error(np.abs), self.strength))
            ratios = ratios + errors
        absent = np.array([entry is None for entry in self.capacities])
        index = self.spot.worst(np.where(absent, -np.inf, ratios))
        if index is None:
            return _nothing_judged(topic, self.spot.zone), ratios
        capacity = self.capacities[index[-1]]
        assert capacity is not None
        asked = _Asked.at(index, ratios, errors).times(capacity.value)
        what = f"{_PLY_WORDS[index[-1]]}, {self._words(index)}"
        return _against(capacity, self.spot, topic, index[0], asked, what, self.required), ratios

    def tsai_wu(self) -> tuple[Finding, NDArray[np.float64]]:
        topic = "ply interaction"
        strength = self.strength
        exposure, error = tsai_wu(self.stress, strength), None
        if self.error is not None:
            error = self.error(lambda s: np.maximum(tsai_wu(s, strength), tsai_wu(-s, strength)))
            exposure = exposure + error
        index = self.spot.worst(exposure)
        if index is None:
            return _nothing_judged(topic, self.spot.zone), exposure
        known = [entry for entry in self.capacities if entry is not None]
        limit = Capacity(
            value=1.0,
            basis="strengths as in the check of ply stress",
            sources=("tsai-wu-1971", *(key for entry in known for key in entry.sources)),
            note="; ".join(dict.fromkeys(entry.note for entry in known if entry.note)),
        )
        what = f"Tsai-Wu exposure (1 at first-ply failure), {self._words(index)}"
        asked = _Asked.at(index, exposure, error)
        check = _against(limit, self.spot, topic, index[0], asked, what, self.required, unit="1")
        return check, exposure

    def _words(self, index: tuple[int, ...]) -> str:
        _, ply, layer = index[:3]
        return f"{_LAYERS[layer]} of {self.names[ply]}"


@dataclass(frozen=True)
class _Asked:
    """A demand at the upper end of its error band, and the error that it contains, if estimated."""

    demand: float
    error: float | None

    @classmethod
    def at(
        cls, index: tuple[int, ...], upper: NDArray[np.float64], error: NDArray[np.float64] | None
    ) -> "_Asked":
        """Of an upper end that may be negative: less than nothing is nothing."""
        demand = float(upper[index])
        demand = demand if not demand < 0.0 else 0.0
        return cls(demand, None if error is None else min(float(error[index]), demand))

    def times(self, factor: float) -> "_Asked":
        return _Asked(self.demand * factor, None if self.error is None else self.error * factor)


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
    capacity = capacity_of(material, factors.against, factors)
    if capacity is None:
        gap = _missing(topic, spot.zone, material, [factors.against])
        return ZoneJudgement((gap,), spot.unknown())
    demand = stress if error is None else stress + error
    index = spot.worst(demand)
    if index is None:
        return ZoneJudgement((_nothing_judged(topic, spot.zone),), spot.unknown())
    required = factors.required(material.kind)
    asked = _Asked.at(index, demand, error)
    check = _against(capacity, spot, topic, index[0], asked, words(index), required)
    return ZoneJudgement((check,), spot.shares(demand) * required.value / capacity.value)


def _against(
    capacity: Capacity,
    spot: Spot,
    topic: str,
    place: int,
    asked: _Asked,
    what: str,
    required: RequiredFactor,
    unit: str = "MPa",
) -> Check:
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


def _missing(topic: str, zone: str, material: LibraryMaterial, names: list[str]) -> NotChecked:
    listed = ", ".join(name.replace("_", " ") for name in names)
    return NotChecked(
        topic=topic,
        zone=zone,
        because=f"no trustworthy value of {listed} is known for '{material.name}'; measure it and "
        "lay a material file over the library",
    )


def _nothing_judged(topic: str, zone: str) -> NotChecked:
    return NotChecked(
        topic=topic, zone=zone, because="every cell of the zone is left out of the judgement"
    )

# SPDX-License-Identifier: MIT
"""Strength of walls and bars: yield, ply failure, extreme fibres.

Every function judges one zone in one load case and names the governing place. Stress is the mean
of a cell; what local raisers (holes, rivets, sharp corners) add is not in it.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fea.check.capacity import Capacity, capacity_of
from fea.check.check import Check, Finding, NotChecked
from fea.check.factors import Factors, RequiredFactor
from fea.material.criteria import PlyStrength, stress_ratios, tsai_wu
from fea.material.library import LibraryMaterial
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


@dataclass(frozen=True, eq=False)
class Spot:
    """Where a zone is judged.

    Attributes:
        zone: name of the zone;  case: name of the load case.
        places: (c, 3) centroids of the zone's cells, mm.
        judged: (c,) False for cells that are left out of this judgement; None judges all.
    """

    zone: str
    case: str
    places: NDArray[np.float64]
    judged: NDArray[np.bool_] | None = None

    def worst(self, values: NDArray[np.float64]) -> tuple[int, ...] | None:
        """Index of the largest of (c, ...) values among the judged cells; None if there is none.

        A value that is not a number counts as the largest, so that it cannot hide.
        """
        judged = np.ones(len(values), dtype=bool) if self.judged is None else self.judged
        if not judged.any():
            return None
        kept = np.where(judged.reshape(-1, *[1] * (values.ndim - 1)), values, -np.inf)
        return tuple(int(k) for k in np.unravel_index(np.argmax(kept), kept.shape))

    def shares(self, values: NDArray[np.float64]) -> NDArray[np.float64]:
        """The largest value (c,) of each cell of (c, ...) values; NaN where it is left out."""
        largest = values.reshape(len(values), -1).max(axis=1)
        return largest if self.judged is None else np.where(self.judged, largest, np.nan)

    def unknown(self) -> NDArray[np.float64]:
        """(c,) NaN: no cell could be judged."""
        return np.full(len(self.places), np.nan)


@dataclass(frozen=True, eq=False)
class ZoneJudgement:
    """What was found in one zone and case.

    Attributes:
        findings: checks at the governing cell, or why they could not be made.
        shares: (c,) share of the allowed stress that each cell uses, 1 being the limit; NaN where
            a cell is not judged, or not by every criterion.
    """

    findings: tuple[Finding, ...]
    shares: NDArray[np.float64]


def judge_yield(
    spot: Spot, stress: ArrayLike, material: LibraryMaterial, factors: Factors
) -> ZoneJudgement:
    """Von Mises stress of an isotropic wall against yield.

    Args:
        spot: zone, case and places.
        stress: (3, c, 3) stress at bottom, middle and top, components 11, 22, 12, MPa.
        material: thermoplastic, metal or printed.
        factors: partial factors.

    Returns:
        The check "yield" at the governing cell and layer.

    Source: von-mises-1913. Compression yields later in thermoplastics; that reserve is not used.
    """
    equivalent = np.moveaxis(von_mises(stress), 0, -1)
    return _judge_scalar(
        spot,
        "yield",
        equivalent,
        lambda index: f"von Mises stress at the {_LAYERS[index[1]]} of the wall",
        material,
        factors,
    )


def judge_bar(
    spot: Spot, fibre_stress: ArrayLike, material: LibraryMaterial, factors: Factors
) -> ZoneJudgement:
    """Axial stress in the extreme fibres of a bar against yield.

    Args:
        spot: zone, case and places.
        fibre_stress: (c, 2, p) axial stress at both ends of each strut, tension positive, MPa.
        material: of the bar.
        factors: partial factors.

    Returns:
        The check "bar stress" at the governing cell.
    """
    stress = np.asarray(fibre_stress, dtype=float)

    def words(index: tuple[int, ...]) -> str:
        sense = "tension" if stress[index] >= 0.0 else "compression"
        return f"{sense} in the extreme fibre from axial force and bending; torsion is not in it"

    return _judge_scalar(spot, "bar stress", np.abs(stress), words, material, factors)


def judge_plies(
    spot: Spot,
    ply_stress: ArrayLike,
    angles_deg: Sequence[float],
    material: LibraryMaterial,
    factors: Factors,
) -> ZoneJudgement:
    """First-ply failure of a laminated wall, by maximum stress and by Tsai-Wu.

    Args:
        spot: zone, case and places.
        ply_stress: (c, p, 3, 3) stress at bottom, middle and top of each ply in ply axes, MPa.
        angles_deg: (p,) ply angles, for the words only.
        material: of the plies.
        factors: partial factors.

    Returns:
        Checks "ply stress" and "ply interaction". With a strength missing, both are not checked,
        and the strengths that are known are judged by themselves as "ply stress, known strengths".

    Source: jones-1999, tsai-wu-1971.
    """
    plies = _Plies.of(spot, ply_stress, angles_deg, material, factors)
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


def check_left_out(
    zone: str, left_out: Mapping[str, NDArray[np.bool_]], count: int
) -> tuple[NotChecked, ...]:
    """What is left out of the judgement of a zone, one entry for each reason.

    Args:
        zone: name of the zone.
        left_out: reason, such as "under a washer", to (c,) True for the cells left out for it.
        count: number of cells c of the zone.
    """
    return tuple(
        NotChecked(
            topic="local stress",
            zone=zone,
            because=f"{int(mask.sum())} of {count} cells are left out of the strength checks "
            f"({reason}), since stress does not converge there; judge the place by test",
        )
        for reason, mask in left_out.items()
        if mask.any()
    )


@dataclass(frozen=True, eq=False)
class _Plies:
    """Stress and strength of the plies of one zone in one case."""

    spot: Spot
    stress: NDArray[np.float64]
    angles_deg: Sequence[float]
    capacities: tuple[Capacity | None, ...]
    required: RequiredFactor

    @classmethod
    def of(
        cls,
        spot: Spot,
        ply_stress: ArrayLike,
        angles_deg: Sequence[float],
        material: LibraryMaterial,
        factors: Factors,
    ) -> "_Plies":
        capacities = tuple(capacity_of(material, name, factors) for name in PLY_STRENGTHS)
        stress = np.asarray(ply_stress, dtype=float)
        return cls(spot, stress, angles_deg, capacities, factors.required(material.kind))

    @property
    def missing(self) -> list[str]:
        pairs = zip(PLY_STRENGTHS, self.capacities, strict=True)
        return [name for name, entry in pairs if entry is None]

    @property
    def strength(self) -> PlyStrength:
        return PlyStrength(*(None if entry is None else entry.value for entry in self.capacities))

    def maximum_stress(self, topic: str) -> tuple[Finding, NDArray[np.float64]]:
        ratios = stress_ratios(self.stress, self.strength)
        absent = np.array([entry is None for entry in self.capacities])
        index = self.spot.worst(np.where(absent, -np.inf, ratios))
        if index is None:
            return _nothing_judged(topic, self.spot.zone), ratios
        capacity = self.capacities[index[-1]]
        assert capacity is not None
        demand = float(np.maximum(ratios[index], 0.0) * capacity.value)
        what = f"{_PLY_WORDS[index[-1]]}, {self._words(index)}"
        return _against(capacity, self.spot, topic, index[0], demand, what, self.required), ratios

    def tsai_wu(self) -> tuple[Finding, NDArray[np.float64]]:
        topic = "ply interaction"
        exposure = tsai_wu(self.stress, self.strength)
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
        demand = float(np.maximum(exposure[index], 0.0))
        check = _against(limit, self.spot, topic, index[0], demand, what, self.required, unit="1")
        return check, exposure

    def _words(self, index: tuple[int, ...]) -> str:
        _, ply, layer = index[:3]
        return f"{_LAYERS[layer]} of ply {ply + 1} at {self.angles_deg[ply]:g}°"


def _judge_scalar(
    spot: Spot,
    topic: str,
    demand: NDArray[np.float64],
    words: Callable[[tuple[int, ...]], str],
    material: LibraryMaterial,
    factors: Factors,
) -> ZoneJudgement:
    """Judge one stress (c, ...) against yield; `words` says in words what stands at an index."""
    capacity = capacity_of(material, "yield_strength", factors)
    if capacity is None:
        gap = _missing(topic, spot.zone, material, ["yield_strength"])
        return ZoneJudgement((gap,), spot.unknown())
    index = spot.worst(demand)
    if index is None:
        return ZoneJudgement((_nothing_judged(topic, spot.zone),), spot.unknown())
    required = factors.required(material.kind)
    value = float(demand[index])
    check = _against(capacity, spot, topic, index[0], value, words(index), required)
    return ZoneJudgement((check,), spot.shares(demand) * required.value / capacity.value)


def _against(
    capacity: Capacity,
    spot: Spot,
    topic: str,
    cell: int,
    demand: float,
    what: str,
    required: RequiredFactor,
    unit: str = "MPa",
) -> Check:
    x, y, z = spot.places[cell].tolist()
    return Check(
        topic=topic,
        zone=spot.zone,
        case=spot.case,
        place=(x, y, z),
        demand=demand,
        capacity=capacity.value,
        unit=unit,
        required=required.value,
        basis=f"{what}, against {capacity.basis}; {required.words}",
        sources=tuple(dict.fromkeys([*capacity.sources, *required.sources])),
        note="; ".join(text for text in (capacity.note, required.note) if text),
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

# SPDX-License-Identifier: MIT
"""Strength of walls and bars: yield, ply failure, extreme fibres.

Every function judges one zone in one load case and names the governing place. Stress is the mean
of a cell; what local raisers (holes, rivets, sharp corners) add is not in it.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fea.check.capacity import Capacity, capacity_of
from fea.check.check import Check, Finding, NotChecked, Point
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

_DIRECTIONS = ("along axis 1", "along axis 1", "across it", "across it", "in the plane")
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

    def place(self, cell: int) -> Point:
        """Centroid of a cell."""
        x, y, z = self.places[cell].tolist()
        return (x, y, z)


def check_yield(
    spot: Spot, stress: ArrayLike, material: LibraryMaterial, factors: Factors
) -> Finding:
    """Von Mises stress of an isotropic wall against yield.

    Args:
        spot: zone, case and places.
        stress: (3, c, 3) stress at bottom, middle and top, components 11, 22, 12, MPa.
        material: thermoplastic, metal or printed.
        factors: partial factors.

    Returns:
        The check at the governing cell and layer, or why it could not be made.

    Source: von-mises-1913. Compression yields later in thermoplastics; that reserve is not used.
    """
    capacity = capacity_of(material, "yield_strength", factors)
    if capacity is None:
        return _missing("yield", spot.zone, material, ["yield_strength"])
    equivalent = np.moveaxis(von_mises(stress), 0, -1)
    index = spot.worst(equivalent)
    if index is None:
        return _nothing_judged("yield", spot.zone)
    demand = float(equivalent[index])
    what = f"von Mises stress at the {_LAYERS[index[1]]} of the wall"
    required = factors.required(material.kind)
    return _against(capacity, spot, "yield", index[0], demand, what, required)


def check_plies(
    spot: Spot,
    ply_stress: ArrayLike,
    angles_deg: ArrayLike,
    material: LibraryMaterial,
    factors: Factors,
) -> tuple[Finding, ...]:
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
    capacities = [capacity_of(material, name, factors) for name in PLY_STRENGTHS]
    known = PlyStrength(*(None if entry is None else entry.value for entry in capacities))
    missing = [n for n, entry in zip(PLY_STRENGTHS, capacities, strict=True) if entry is None]
    required = factors.required(material.kind)
    stress = np.asarray(ply_stress, dtype=float)
    angles = np.ravel(angles_deg)
    findings: list[Finding] = []
    if len(missing) < len(PLY_STRENGTHS):
        topic = "ply stress, known strengths" if missing else "ply stress"
        findings.append(
            _maximum_stress(topic, spot, stress, angles, known, capacities, required)
        )
    if missing:
        topics = ("ply stress", "ply interaction")
        return (*findings, *(_missing(topic, spot.zone, material, missing) for topic in topics))
    findings.append(_interaction(spot, stress, angles, known, capacities, required))
    return tuple(findings)


def check_bar(
    spot: Spot, fibre_stress: ArrayLike, material: LibraryMaterial, factors: Factors
) -> Finding:
    """Axial stress in the extreme fibres of a bar against yield.

    Args:
        spot: zone, case and places.
        fibre_stress: (c, 2, p) axial stress at both ends of each strut, tension positive, MPa.
        material: of the bar.
        factors: partial factors.

    Returns:
        The check at the governing cell, or why it could not be made.
    """
    capacity = capacity_of(material, "yield_strength", factors)
    if capacity is None:
        return _missing("bar stress", spot.zone, material, ["yield_strength"])
    stress = np.asarray(fibre_stress, dtype=float)
    index = spot.worst(np.abs(stress))
    if index is None:
        return _nothing_judged("bar stress", spot.zone)
    sense = "tension" if stress[index] >= 0.0 else "compression"
    what = f"{sense} in the extreme fibre from axial force and bending; torsion is not in it"
    required = factors.required(material.kind)
    demand = float(abs(stress[index]))
    return _against(capacity, spot, "bar stress", index[0], demand, what, required)


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


def _maximum_stress(
    topic: str,
    spot: Spot,
    stress: NDArray[np.float64],
    angles: NDArray[np.float64],
    strength: PlyStrength,
    capacities: list[Capacity | None],
    required: RequiredFactor,
) -> Finding:
    ratios = stress_ratios(stress, strength)
    absent = np.array([entry is None for entry in capacities])
    index = spot.worst(np.where(absent, -np.inf, ratios))
    if index is None:
        return _nothing_judged(topic, spot.zone)
    cell, ply, layer, component = index
    capacity = capacities[component]
    assert capacity is not None
    demand = float(max(ratios[index], 0.0) * capacity.value)
    sense = ("tension", "compression", "tension", "compression", "shear")[component]
    what = f"{sense} {_DIRECTIONS[component]}, {_ply_words(ply, layer, angles)}"
    return _against(capacity, spot, topic, cell, demand, what, required)


def _interaction(
    spot: Spot,
    stress: NDArray[np.float64],
    angles: NDArray[np.float64],
    strength: PlyStrength,
    capacities: list[Capacity | None],
    required: RequiredFactor,
) -> Finding:
    topic = "ply interaction"
    exposure = tsai_wu(stress, strength)
    index = spot.worst(exposure)
    if index is None:
        return _nothing_judged(topic, spot.zone)
    cell, ply, layer = index
    known = [entry for entry in capacities if entry is not None]
    strengths = Capacity(
        value=1.0,
        basis="strengths as in the check of ply stress",
        sources=("tsai-wu-1971", *dict.fromkeys(key for entry in known for key in entry.sources)),
        note="; ".join(dict.fromkeys(entry.note for entry in known if entry.note)),
    )
    what = f"Tsai-Wu exposure (1 at first-ply failure), {_ply_words(ply, layer, angles)}"
    demand = float(np.maximum(exposure[index], 0.0))
    return _against(strengths, spot, topic, cell, demand, what, required, unit="1")


def _ply_words(ply: int, layer: int, angles: NDArray[np.float64]) -> str:
    return f"{_LAYERS[layer]} of ply {ply + 1} at {angles[ply]:g}°"


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
    return Check(
        topic=topic,
        zone=spot.zone,
        case=spot.case,
        place=spot.place(cell),
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

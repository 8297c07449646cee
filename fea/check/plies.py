# SPDX-License-Identifier: MIT
"""First-ply failure of a laminated wall by four criteria, each a factor on the load.

Maximum stress; the worse of Tsai-Wu and Tsai-Hill; fibre and matrix by Hashin. All are met only
where each is: the worst decides.
"""

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fea.check.capacity import Capacity, capacity_of
from fea.check.check import LOCAL_PEAK, Check, Finding
from fea.check.factors import Factors, RequiredFactor
from fea.check.strength import Asked, Spot, ZoneJudgement, against, missing, nothing_judged
from fea.material.criteria import (
    HASHIN_MODES,
    PlyStrength,
    hashin,
    hashin_modes,
    stress_ratios,
    tsai_hill,
    tsai_wu,
)
from fea.material.laminate import Laminate
from fea.material.library import LibraryMaterial
from fea.solver.recovery import Measure

Array = NDArray[np.float64]

PLY_STRENGTHS = (
    "tensile_strength_1",
    "compressive_strength_1",
    "tensile_strength_2",
    "compressive_strength_2",
    "shear_strength_12",
)
"""Library names of the strengths of a ply, in the order of `PlyStrength`."""

STRESS, INTERACTION, FIBRE_MATRIX = "ply stress", "ply interaction", "fibre or matrix"
"""Topics: by maximum stress; by the worse of Tsai-Wu and Tsai-Hill; by Hashin."""

KNOWN = f"{STRESS}, known strengths"
"""Topic of maximum stress where not all strengths are known: it can fail, and never clears."""

_RATIOS = (
    "tension along axis 1",
    "compression along axis 1",
    "tension along axis 2",
    "compression along axis 2",
    "shear in the plane",
)
_MODES = tuple(
    f"{mode} {along}"
    for mode, along in zip(
        HASHIN_MODES,
        ("with shear", "along axis 1", "across axis 1 with shear", "across axis 1 with shear"),
        strict=True,
    )
)
_FACES = ("bottom", "top")  # strain is linear in between, and criteria are convex

PlyError = Callable[[Measure], Array]
"""The estimated error of a measure of ply stress, at every place where the stress is given."""


@dataclass(frozen=True)
class _Criterion:
    """A criterion by its exposure, which is convex in the stress."""

    topic: str
    name: str
    source: str
    exposure: Callable[[ArrayLike, PlyStrength], Array]


_CRITERIA = (
    _Criterion(INTERACTION, "Tsai-Wu", "tsai-wu-1971", tsai_wu),
    _Criterion(INTERACTION, "Tsai-Hill", "hill-1948", tsai_hill),
    _Criterion(FIBRE_MATRIX, "Hashin", "hashin-1980", hashin),
)


def judge_plies(
    spot: Spot,
    ply_stress: ArrayLike,
    angles_deg: Sequence[float],
    material: LibraryMaterial,
    factors: Factors,
    error: PlyError | None = None,
    numbers: Sequence[int] | None = None,
) -> ZoneJudgement:
    """First-ply failure of a laminated wall.

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
        Checks of `STRESS`, `INTERACTION` and `FIBRE_MATRIX`. The last two ask for the exposure,
        the share of the load at which the first ply fails, so that their factor is one on the
        load. With a strength missing, none can be made: that is one not-checked entry of `STRESS`,
        and the strengths that are known are judged by themselves as `KNOWN`.

    Source: jones-1999, tsai-wu-1971, hill-1948, hashin-1980.
    """
    plies = _Plies.of(spot, ply_stress, error, angles_deg, numbers, material, factors)
    if unknown := plies.unknown:
        findings: list[Finding] = [missing(STRESS, spot.zone, material, unknown)]
        if len(unknown) < len(PLY_STRENGTHS):
            findings.append(plies.maximum_stress(KNOWN)[0])
        return ZoneJudgement(tuple(findings), spot.unknown())
    judged = [plies.maximum_stress(STRESS), *plies.exposed()]
    shares = np.fmax.reduce([spot.shares(upper) for _, upper in judged]) * plies.required.value
    return ZoneJudgement(tuple(finding for finding, _ in judged), shares)


def outermost_plies(layup: Laminate, among: Collection[int] | None = None) -> list[int]:
    """The lowest and the highest ply of each material and angle, numbered from 0.

    Of all plies, or only among some of them.

    Strain is linear through the wall, so a criterion that is convex in stress, as those used are,
    is nowhere higher in plies that lie alike than in the outermost two of them.

    Example:
        >>> from fea.material.laminate import Ply
        >>> cloth = Ply(e1=60e3, e2=60e3, nu12=0.05, g12=3e3)
        >>> outermost_plies(Laminate(cloth, [0, 45, 0, 45, 0], 0.2))
        [0, 1, 3, 4]
    """
    kinds = list(zip(layup.plies, layup.angles_deg, strict=True))
    chosen = range(len(kinds)) if among is None else sorted(among)
    last = {kinds[number]: number for number in chosen}
    first = {kinds[number]: number for number in reversed(chosen)}
    return sorted({*first.values(), *last.values()})


def judge_ply_peak(
    spot: Spot,
    ply_stress: ArrayLike,
    error: ArrayLike,
    angles_deg: Sequence[float],
    numbers: Sequence[int],
    material: LibraryMaterial,
    factors: Factors,
    what: str,
) -> Finding:
    """Maximum stress at a place where stress peaks, as a check of `LOCAL_PEAK`.

    Args:
        spot: zone, case and places.
        ply_stress: (m, p, 3, 3) as of `judge_plies`;  error: (m, p, 3, 3) of each component.
        angles_deg, numbers: (p,) of the plies;  material: of the plies;  factors: partial factors.
        what: stands at these places, in words.
    """
    size = np.asarray(error, dtype=float)
    plies = _Plies.of(spot, ply_stress, lambda _: size, angles_deg, numbers, material, factors)
    if unknown := plies.unknown:
        return missing(LOCAL_PEAK, spot.zone, material, unknown)
    return plies.maximum_stress(LOCAL_PEAK, f"{what} ")[0]


@dataclass(frozen=True, eq=False)
class _Plies:
    """Stress at both faces of the plies of one zone in one case, and their strength."""

    spot: Spot
    stress: Array
    error: PlyError | None
    names: Sequence[str]
    capacities: tuple[Capacity | None, ...]
    required: RequiredFactor

    @classmethod
    def of(
        cls, spot: Spot, ply_stress: ArrayLike, error: PlyError | None,
        angles_deg: Sequence[float], numbers: Sequence[int] | None, material: LibraryMaterial,
        factors: Factors,
    ) -> "_Plies":
        """With the strengths of a material that may be counted on."""
        numbers = range(1, len(angles_deg) + 1) if numbers is None else numbers
        names = [f"ply {n} at {angle:g}°" for n, angle in zip(numbers, angles_deg, strict=True)]
        capacities = tuple(capacity_of(material, name, factors) for name in PLY_STRENGTHS)
        faces = np.asarray(ply_stress, dtype=float)[:, :, ::2]
        doubt = None if error is None else _at_faces(error)
        return cls(spot, faces, doubt, names, capacities, factors.required(material.kind))

    @property
    def unknown(self) -> list[str]:
        """Library names of the strengths that are not known."""
        pairs = zip(PLY_STRENGTHS, self.capacities, strict=True)
        return [name for name, entry in pairs if entry is None]

    @property
    def strength(self) -> PlyStrength:
        """What may be counted on."""
        return PlyStrength(*(None if entry is None else entry.value for entry in self.capacities))

    def maximum_stress(self, topic: str, head: str = "") -> tuple[Finding, Array]:
        """The check against the strengths that are known, and what it asks (m, p, 2, 5)."""
        ratios, errors = stress_ratios(self.stress, self.strength), None
        if self.error is not None:
            errors = np.abs(stress_ratios(self.error(np.abs), self.strength))
            ratios = ratios + errors
        absent = np.array([entry is None for entry in self.capacities])
        index = self.spot.worst(np.where(absent, -np.inf, ratios))
        if index is None:
            return nothing_judged(topic, self.spot.zone), ratios
        capacity = self.capacities[index[-1]]
        assert capacity is not None
        asked = Asked.at(index, ratios, errors).times(capacity.value)
        what = f"{head}{_RATIOS[index[-1]]}, {self._words(index)}"
        return against(capacity, self.spot, topic, index[0], asked, what, self.required), ratios

    def exposed(self) -> list[tuple[Finding, Array]]:
        """For each topic the check of its worst criterion, and what they ask (m, p, 2, k)."""
        exposures, errors = self._exposures(self.stress), None
        if self.error is not None:
            errors = self.error(lambda s: np.maximum(self._exposures(s), self._exposures(-s)))
            exposures = exposures + errors
        found: list[tuple[Finding, Array]] = []
        for topic in dict.fromkeys(each.topic for each in _CRITERIA):
            own = np.array([each.topic == topic for each in _CRITERIA])
            index = self.spot.worst(np.where(own, exposures, -np.inf))
            finding: Finding = nothing_judged(topic, self.spot.zone)
            if index is not None:
                finding = self._exposed_check(index, Asked.at(index, exposures, errors))
            found.append((finding, exposures[..., own]))
        return found

    def _exposures(self, stress: Array) -> Array:
        return np.stack([each.exposure(stress, self.strength) for each in _CRITERIA], axis=-1)

    def _exposed_check(self, index: tuple[int, ...], asked: Asked) -> Check:
        criterion = _CRITERIA[index[-1]]
        known = [entry for entry in self.capacities if entry is not None]
        limit = Capacity(
            value=1.0,
            basis="strengths as in the check of ply stress",
            sources=(criterion.source, *(key for entry in known for key in entry.sources)),
            note="; ".join(dict.fromkeys(entry.note for entry in known if entry.note)),
        )
        here = self._exposures(self.stress[index[:3]]).tolist()
        alike = [f"{each.name} {value:.3g}" for each, value in zip(_CRITERIA, here, strict=True)
                 if each.topic == criterion.topic]
        worse = f", the worse of {' and '.join(alike)} without the error" if alike[1:] else ""
        what = f"share of the load at which the first ply fails by {criterion.name}{worse}"
        if criterion.topic == FIBRE_MATRIX:
            modes = hashin_modes(self.stress[index[:3]], self.strength)
            what += f", {_MODES[int(np.argmax(modes))]}"
        what += f", {self._words(index)}"
        place, topic = index[0], criterion.topic
        return against(limit, self.spot, topic, place, asked, what, self.required, unit="1")

    def _words(self, index: tuple[int, ...]) -> str:
        _, ply, layer = index[:3]
        return f"{_FACES[layer]} of {self.names[ply]}"


def _at_faces(error: PlyError) -> PlyError:
    """The error (m, p, 2, ...) at both faces of plies, of one at three heights."""
    return lambda measure: error(measure)[:, :, ::2]

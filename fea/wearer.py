# SPDX-License-Identifier: MIT
"""The wearer: what was measured, what is estimated, and what no person can have.

Only mass, height and side are required. Every other measure that is not given is estimated from
published surveys (`wearer.toml` beside this file), and says so.
"""

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass
from functools import cached_property
from pathlib import Path
from types import MappingProxyType
from typing import Any, Literal

from pydantic import ValidationInfo, field_validator

from fea.errors import FileError, Problem, WearerError
from fea.inputfile import Schema, read_toml
from fea.screening import Screening, ScreeningSchema
from fea.shipped import resolve

_DATA = tomllib.loads(Path(__file__).with_name("wearer.toml").read_text(encoding="utf-8"))
_LIMITS: Mapping[str, list[float]] = _DATA["limits"]
_RULES: Mapping[str, Any] = _DATA["rules"]

# Each estimated measure and the measure it is proportional to; a foot's parts follow the foot.
_PROPORTIONAL_TO = {
    "ball_length_mm": "foot_length_mm",
    "foot_breadth_mm": "foot_length_mm",
    "heel_breadth_mm": "foot_length_mm",
    "ankle_breadth_mm": "foot_length_mm",
    "malleolus_height_mm": "foot_length_mm",
    "ankle_circumference_mm": "foot_length_mm",
}


@dataclass(frozen=True)
class Measure:
    """One measure of a wearer.

    Attributes:
        value, unit: the number and its unit ("mm" or "kg").
        estimated: True where nobody measured it.
        source: source key of the estimate; "measured" for a given value.
        note: how the estimate was made, one sentence; empty for a given value.
    """

    value: float
    unit: str
    estimated: bool
    source: str
    note: str


@dataclass(frozen=True, kw_only=True)
class Wearer:
    """A person who wears the device; frozen, refuses the impossible.

    Whether the adult or the children's survey serves the estimates, and which loads apply, is
    `is_adult`: `adult` where given, else by `age_years` (adult from 15), else by height (adult
    from 1500 mm).

    Args:
        mass_kg: body mass with everything carried, kg.
        height_mm: standing height without shoes, mm.
        side: side of the device, "left" or "right".
        name: a made-up name for reports.
        sex: "female" or "male" picks the adult survey; None takes the mean of both.
        age_years: age, years.
        adult: True or False to decide the group yourself.
        foot_length_mm ... ball_length_mm: measures of the limb, mm; None to have one estimated.
            `tibial_height_mm` is floor to tibial plateau, `ball_length_mm` heel to first
            metatarsal head, `ankle_breadth_mm` over both malleoli, `malleolus_height_mm` floor
            to the tip of the lateral malleolus.
        clinical: facts for the prescriber; no part of the verdict on strength.

    Raises:
        WearerError: a measure that no person has, or measures that contradict each other; every
            mistake is listed.

    Example:
        >>> wearer = Wearer(mass_kg=35, height_mm=1410, side="left")
        >>> wearer.is_adult, round(wearer.measures["foot_length_mm"].value, 1)
        (False, 219.4)
    """

    mass_kg: float
    height_mm: float
    side: Literal["left", "right"]
    name: str = ""
    sex: Literal["female", "male"] | None = None
    age_years: float | None = None
    adult: bool | None = None
    foot_length_mm: float | None = None
    ankle_breadth_mm: float | None = None
    heel_breadth_mm: float | None = None
    foot_breadth_mm: float | None = None
    malleolus_height_mm: float | None = None
    ankle_circumference_mm: float | None = None
    calf_circumference_mm: float | None = None
    tibial_height_mm: float | None = None
    ball_length_mm: float | None = None
    clinical: Screening = Screening()

    def __post_init__(self) -> None:
        problems = list(_problems(self))
        if problems:
            raise WearerError("; ".join(str(problem) for problem in problems))

    @property
    def is_adult(self) -> bool:
        """Whether the adult survey and the adult loads apply."""
        if self.adult is not None:
            return self.adult
        if self.age_years is not None:
            return self.age_years >= _RULES["adult_from_age_years"]
        return self.height_mm >= _RULES["adult_from_height_mm"]

    @cached_property
    def measures(self) -> Mapping[str, Measure]:
        """Every measure by its field name ("mass_kg", "foot_length_mm", ...), none missing."""
        return MappingProxyType(_measures(self))


class WearerSchema(Schema):
    """A wearer file: the fields of `Wearer` at the top level, clinical facts in ``[clinical]``."""

    mass_kg: float
    height_mm: float
    side: Literal["left", "right"]
    name: str = ""
    sex: Literal["female", "male"] | None = None
    age_years: float | None = None
    adult: bool | None = None
    foot_length_mm: float | None = None
    ankle_breadth_mm: float | None = None
    heel_breadth_mm: float | None = None
    foot_breadth_mm: float | None = None
    malleolus_height_mm: float | None = None
    ankle_circumference_mm: float | None = None
    calf_circumference_mm: float | None = None
    tibial_height_mm: float | None = None
    ball_length_mm: float | None = None
    clinical: ScreeningSchema = ScreeningSchema()

    @field_validator("*")
    @classmethod
    def _possible(cls, value: Any, info: ValidationInfo) -> Any:
        fault = _fault_alone(info.field_name or "", value)
        if fault:
            raise ValueError(fault)
        return value


def read_wearer(name_or_path: str | Path) -> Wearer:
    """Read a wearer file (TOML; the keys are the fields of `Wearer`, ``[clinical]`` last).

    Args:
        name_or_path: a shipped name or a file.

    Returns:
        The wearer.

    Raises:
        InputError: no such name or file.
        FileError: the file is wrong; every mistake in it is listed.

    Example:
        >>> read_wearer("demo-child").mass_kg
        35.0
    """
    path = resolve("wearers", name_or_path)
    values = read_toml(path, WearerSchema).model_dump()
    clinical = Screening(**values.pop("clinical"))
    try:
        return Wearer(**values, clinical=clinical)
    except WearerError as error:
        raise FileError(path, [Problem("", str(error))]) from None


def _problems(wearer: Wearer) -> Iterator[Problem]:
    """Everything wrong: each value alone first, then the values against each other."""
    if wearer.side not in ("left", "right"):
        yield Problem("side", f"{wearer.side!r} is unknown; give 'left' or 'right'")
    if wearer.sex not in (None, "female", "male"):
        yield Problem("sex", f"{wearer.sex!r} is unknown; give 'female' or 'male', or leave it out")
    alone = [
        Problem(name, fault)
        for name, value in asdict(wearer).items()
        if (fault := _fault_alone(name, value))
    ]
    yield from alone
    if not alone:
        yield from _contradictions(wearer)


def _fault_alone(name: str, value: Any) -> str:
    if name not in _LIMITS or value is None:
        return ""
    low, high = _LIMITS[name]
    unit = name.rpartition("_")[2]
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        return f"{value!r} is not a number; give it in {unit}"
    if low <= value <= high:
        return ""
    return f"{value:g} {unit} is outside {low:g} to {high:g} {unit}; check the number and its unit"


def _contradictions(wearer: Wearer) -> Iterator[Problem]:
    low, high = _RULES["body_mass_index"]
    index = wearer.mass_kg / (wearer.height_mm / 1000.0) ** 2
    if not low <= index <= high:
        yield Problem(
            "mass_kg",
            f"{wearer.mass_kg:g} kg at a height of {wearer.height_mm:g} mm is {index:.1f} kg/m², "
            f"outside {low:g} to {high:g} kg/m²; check both numbers",
        )
    if wearer.adult and wearer.age_years is not None and wearer.age_years < 12.0:
        yield Problem(
            "adult", f"true contradicts an age of {wearer.age_years:g} years; remove one of them"
        )
    for name, (least, most) in _DATA["plausible_ratio"].items():
        given = getattr(wearer, name)
        if given is None:
            continue
        expected = _estimate(wearer, name).value
        if not least * expected <= given <= most * expected:
            yield Problem(
                name,
                f"{given:g} mm does not fit the other measures, which suggest "
                f"{expected:.0f} mm ({least * expected:.0f} to {most * expected:.0f} mm is "
                "accepted); check it and the measures it belongs to",
            )


def _measures(wearer: Wearer) -> dict[str, Measure]:
    measures = {
        "mass_kg": Measure(float(wearer.mass_kg), "kg", False, "measured", ""),
        "height_mm": Measure(float(wearer.height_mm), "mm", False, "measured", ""),
    }
    for name in _DATA["plausible_ratio"]:
        given = getattr(wearer, name)
        measures[name] = (
            _estimate(wearer, name)
            if given is None
            else Measure(float(given), "mm", False, "measured", "")
        )
    return measures


def _estimate(wearer: Wearer, name: str) -> Measure:
    """The measure as the surveys predict it, whether or not it was given.

    Source: ansur-ii-2012 (adults and the proportions of the limb); snyder-1977 (children).
    """
    adults = _DATA["adult"]["source"]
    if name in _PROPORTIONAL_TO:
        base = _PROPORTIONAL_TO[name]
        length = getattr(wearer, base) or _estimate(wearer, base).value
        note = "in proportion to foot length" + ("" if wearer.is_adult else ", adult proportions")
        return Measure(length * _ratio(wearer, name, base), "mm", True, adults, note)
    if name == "calf_circumference_mm":
        return _calf(wearer)
    if wearer.is_adult:
        value = wearer.height_mm * _ratio(wearer, name, "height_mm")
        return Measure(value, "mm", True, adults, "in proportion to height")
    return _child_length(wearer, name)


def _child_length(wearer: Wearer, name: str) -> Measure:
    child = _DATA["child"]
    if name == "foot_length_mm":
        value = _line(child[name], wearer.height_mm)
        return Measure(value, "mm", True, child["source"], "regression on height, 6 to 14 years")
    knee = _line(child["knee_height_sitting_mm"], wearer.height_mm)
    value = knee * _ratio(wearer, name, "knee_height_sitting_mm")
    note = "sitting knee height by regression on height, 6 to 14 years; adult share of it"
    return Measure(value, "mm", True, child["source"], note)


def _calf(wearer: Wearer) -> Measure:
    """A leg of a given shape has a girth that grows with the square root of mass over height."""
    shares = [
        survey["calf_circumference_mm"] / (survey["mass_kg"] / survey["height_mm"]) ** 0.5
        for survey in _surveys(wearer)
    ]
    value = sum(shares) / len(shares) * (wearer.mass_kg / wearer.height_mm) ** 0.5
    note = "in proportion to the square root of mass over height" + (
        "" if wearer.is_adult else ", adult proportions"
    )
    return Measure(value, "mm", True, _DATA["adult"]["source"], note)


def _line(regression: Mapping[str, float], height_mm: float) -> float:
    return regression["slope"] * height_mm + regression["intercept_mm"]


def _surveys(wearer: Wearer) -> list[Mapping[str, float]]:
    sexes = ("female", "male") if wearer.sex is None else (wearer.sex,)
    return [_DATA["adult"][sex] for sex in sexes]


def _ratio(wearer: Wearer, name: str, base: str) -> float:
    surveys = _surveys(wearer)
    return sum(survey[name] / survey[base] for survey in surveys) / len(surveys)

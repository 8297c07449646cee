# SPDX-License-Identifier: MIT
"""What the prescriber should know before a device that pushes the knee back is judged.

Facts are entered or left unknown; a flag is a sentence for the prescriber, never a block. Nothing
here takes part in the verdict on strength, and what is unknown is said to be unknown.

The borders (10 degrees, grade 3) are common practice without a source, but for the knee, where a
trial drew the same one. Published evidence on contractures disagrees, so both sides are cited.
"""

from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass
from types import MappingProxyType
from typing import Any, Literal

from pydantic import ValidationInfo, field_validator

from fea.errors import WearerError
from fea.inputfile import Schema

CONTRACTURE_BORDER_DEG = 10.0
"""Flexion contracture over which it is flagged. Source: practice; for the knee kerkum-2013."""

GRADE_BORDER = 3.0
"""Muscle grade under which it is flagged. Source: practice."""

_LIMITS: Mapping[str, tuple[float, float, str]] = MappingProxyType({
    "hip_flexion_contracture_deg": (0.0, 90.0, "degrees short of straight, 0 for none"),
    "knee_flexion_contracture_deg": (0.0, 90.0, "degrees short of straight, 0 for none"),
    "quadriceps_grade": (0.0, 5.0, "a grade from 0 to 5, 2.5 for 3- and 3.5 for 3+"),
    "hip_extensor_grade": (0.0, 5.0, "a grade from 0 to 5, 2.5 for 3- and 3.5 for 3+"),
})

State = Literal["flagged", "unknown", "not flagged"]


@dataclass(frozen=True)
class Flag:
    """What is said about one fact.

    Attributes:
        fact: what it is about, in words.
        state: "flagged" for the prescriber, "unknown" (nobody entered it), or "not flagged"
            (entered, and within the border; this is no finding that all is well).
        sentence: for people.
        sources: source keys behind border and sentence.
    """

    fact: str
    state: State
    sentence: str
    sources: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class Screening:
    """Clinical facts about a wearer, each None while unknown.

    Args:
        hip_flexion_contracture_deg, knee_flexion_contracture_deg: fixed, degrees short of
            straight; 0 for none.
        quadriceps_grade, hip_extensor_grade: manual muscle test, 0 to 5; half a grade for + and -,
            so that 3- is 2.5.
        trunk_balance: whether the wearer keeps the trunk upright unaided.
        walking_aid: whether the wearer walks with an aid.

    Raises:
        WearerError: an angle or a grade that cannot be; every mistake is listed.

    Example:
        >>> screening = Screening(knee_flexion_contracture_deg=15, quadriceps_grade=4)
        >>> [(flag.fact, flag.state) for flag in screening.flags][:3]
        [('hip flexion contracture', 'unknown'), ('knee flexion contracture', 'flagged'),
         ('quadriceps', 'not flagged')]
    """

    hip_flexion_contracture_deg: float | None = None
    knee_flexion_contracture_deg: float | None = None
    quadriceps_grade: float | None = None
    hip_extensor_grade: float | None = None
    trunk_balance: bool | None = None
    walking_aid: bool | None = None

    def __post_init__(self) -> None:
        faults = [
            f"{name}: {fault}" for name, value in asdict(self).items()
            if (fault := _fault(name, value))
        ]
        if faults:
            raise WearerError("; ".join(faults))

    @property
    def flags(self) -> tuple[Flag, ...]:
        """One flag a fact, in a fixed order, the unknown ones too."""
        return tuple(self._flags())

    def _flags(self) -> Iterator[Flag]:
        yield _contracture("hip", self.hip_flexion_contracture_deg)
        yield _contracture("knee", self.knee_flexion_contracture_deg)
        yield _muscle(
            "quadriceps", self.quadriceps_grade,
            "the device takes off the knee only what its ankle moment carries, and common practice "
            "doubts that a device ending below the knee is enough",
        )
        yield _muscle(
            "hip extensors", self.hip_extensor_grade,
            "common practice counts on them to keep thigh and knee back, together with the device",
        )
        yield _balance(self.trunk_balance, self.walking_aid)


class ScreeningSchema(Schema):
    """``[clinical]`` of a wearer file: the fields of `Screening`."""

    hip_flexion_contracture_deg: float | None = None
    knee_flexion_contracture_deg: float | None = None
    quadriceps_grade: float | None = None
    hip_extensor_grade: float | None = None
    trunk_balance: bool | None = None
    walking_aid: bool | None = None

    @field_validator("*", mode="before")
    @classmethod
    def _possible(cls, value: Any, info: ValidationInfo) -> Any:
        fault = _fault(info.field_name or "", value)
        if fault:
            raise ValueError(fault)
        return value


def _fault(name: str, value: Any) -> str:
    """What is wrong with one fact; empty if nothing is."""
    if value is None:
        return ""
    if name not in _LIMITS:
        return "" if isinstance(value, bool) else f"{value!r} is unknown; give true or false"
    low, high, cure = _LIMITS[name]
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        return f"{value!r} is not a number; give {cure}"
    return "" if low <= value <= high else f"{value:g} is outside {low:g} to {high:g}; give {cure}"


def _contracture(joint: str, angle: float | None) -> Flag:
    fact, border = f"{joint} flexion contracture", CONTRACTURE_BORDER_DEG
    trial, sources = "", ["practice", "rogozinski-2009", "bohm-2018"]
    if joint == "knee":
        sources.insert(1, "kerkum-2013")
        trial = "a trial of such devices left out knee contractures over 10 deg (kerkum-2013), and "
    if angle is None:
        sentence = f"Whether there is a {fact} is not known: common practice wants it known."
        return Flag(fact, "unknown", sentence, ("practice",))
    if angle <= border:
        sentence = f"The {fact} is {angle:g} deg, not over the {border:g} deg of common practice."
        return Flag(fact, "not flagged", sentence, ("practice",))
    return Flag(
        fact, "flagged",
        f"The {fact} is {angle:g} deg, over the {border:g} deg of common practice. Published "
        f"evidence disagrees: {trial}in 27 children the device did less where hip and knee were "
        "contracted (rogozinski-2009); in 22 others joint contractures were no contraindication "
        "(bohm-2018). For the prescriber to weigh; nothing is refused here.",
        tuple(sources),
    )


def _muscle(name: str, grade: float | None, why: str) -> Flag:
    if grade is None:
        sentence = f"The strength of the {name} is not known: common practice wants it known."
        return Flag(name, "unknown", sentence, ("practice",))
    if grade >= GRADE_BORDER:
        sentence = (f"Strength of the {name} is grade {grade:g}, not under the grade "
                    f"{GRADE_BORDER:g} of common practice.")
        return Flag(name, "not flagged", sentence, ("practice",))
    return Flag(
        name, "flagged",
        f"Strength of the {name} is grade {grade:g}, under grade {GRADE_BORDER:g}: {why} (no "
        "source). For the prescriber to weigh; nothing is refused here.",
        ("practice",),
    )


def _balance(balance: bool | None, aid: bool | None) -> Flag:
    told = {
        True: "The trunk is kept upright", False: "The trunk is not kept upright",
        None: "Whether the trunk is kept upright is not known",
    }[balance]
    aided = {True: "walks with an aid", False: "walks without an aid",
             None: "whether an aid is used is not known"}[aid]
    sentence = f"{told}; {aided}."
    state: State = "unknown"
    if balance or aid:
        state = "not flagged"
    elif balance is False and aid is False:
        state = "flagged"
        sentence += (" Common practice doubts a device that only pushes the knee back then (no "
                     "source). For the prescriber to weigh; nothing is refused here.")
    else:
        sentence += " Common practice wants both known."
    return Flag("trunk balance and walking aid", state, sentence, ("practice",))

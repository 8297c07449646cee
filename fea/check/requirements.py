# SPDX-License-Identifier: MIT
"""What is asked of a device: how long it must last, by which factors, from which numbers.

The shipped answers are in ``requirements.toml`` and ``factors.toml``; a user's file replaces any of
them::

    [service]
    months = 24
    strides_per_day = { value = 5200, source = "step counter, two weeks", status = "measured" }

    [numbers]
    from_memory = "forbid"

    [factors.model.values]
    metal = { value = 1.05, source = "own bench tests 2025", status = "measured" }
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from types import MappingProxyType
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, field_validator

from fea.check.factors import EffectTable, Factors, factor_problems, factors_with, is_doubtful
from fea.errors import FileError
from fea.inputfile import Schema, read_toml
from fea.material.library import Status
from fea.sources import cite

SHIPPED = Path(__file__).with_name("requirements.toml")
GIVEN = "given in the requirements file"


@dataclass(frozen=True)
class Origin:
    """Where a number of the service comes from.

    Attributes:
        source: source key, or a citation written out.
        status: as for `fea.material.library.Property`, or "given" by whoever asks.
        note: how the number came about.
    """

    source: str
    status: str
    note: str = ""


@dataclass(frozen=True)
class Service:
    """How the device is used, and how long it must last.

    Attributes:
        months: that it must last; None where nothing is asked.
        strides_per_day: of the leg that wears it, level walking.
        stair_strides_per_day: of that leg, up and down.
        stumbles_per_day: on that leg.
        standing_hours_per_day: under load.
        origins: name of each number above to where it comes from.
    """

    months: float | None
    strides_per_day: float
    stair_strides_per_day: float
    stumbles_per_day: float
    standing_hours_per_day: float
    origins: Mapping[str, Origin] = field(default_factory=dict)

    @property
    def doubts(self) -> tuple[str, ...]:
        """Numbers that rest on memory, practice or assumption, in words."""
        return tuple(
            f"{name.replace('_', ' ')}: {origin.status}"
            for name, origin in self.origins.items()
            if origin.status != "given" and is_doubtful(origin.status)
        )


@dataclass(frozen=True)
class Requirements:
    """What is asked of a device.

    Attributes:
        service: use and life asked for.
        factors: partial factors.
        allow_memory: False makes a check that rests on a number from memory not checked.
    """

    service: Service
    factors: Factors
    allow_memory: bool = True


class _Number(Schema):
    value: float
    source: str
    status: Status | Literal["given"]
    note: str = ""

    @field_validator("source")
    @classmethod
    def _known_source(cls, source: str) -> str:
        return source if source == GIVEN else cite(source) and source


def _plain(number: Any) -> Any:
    """A number alone is what its writer asks for."""
    if isinstance(number, (int, float)) and not isinstance(number, bool):
        return {"value": number, "source": GIVEN, "status": "given"}
    if not isinstance(number, (dict, _Number)):
        raise ValueError("must be a number, or { value = …, source = …, status = … }")
    return number


def _bounded(least: float, most: float, words: str) -> Any:
    def check(number: _Number) -> _Number:
        if not least <= number.value <= most:
            raise ValueError(f"{number.value:g} {words}; give {least:g} to {most:g}")
        return number

    return check


_MONTHS, _STRIDES, _DAY = (
    _bounded(1.0, 240.0, "months are no life of a device"),
    _bounded(0.0, 50000.0, "a day is no number of events that a person can have"),
    _bounded(0.0, 24.0, "hours do not fit in a day"),
)


class _Given(Schema):
    """The numbers of a service; those left out stay as shipped."""

    months: Annotated[_Number, BeforeValidator(_plain)] | None = None
    strides_per_day: Annotated[_Number, BeforeValidator(_plain)] | None = None
    stair_strides_per_day: Annotated[_Number, BeforeValidator(_plain)] | None = None
    stumbles_per_day: Annotated[_Number, BeforeValidator(_plain)] | None = None
    standing_hours_per_day: Annotated[_Number, BeforeValidator(_plain)] | None = None

    @field_validator("*")
    @classmethod
    def _possible(cls, number: _Number | None, info: Any) -> _Number | None:
        limits = {"months": _MONTHS, "standing_hours_per_day": _DAY}
        return None if number is None else limits.get(info.field_name, _STRIDES)(number)


class _ShippedFile(Schema):
    service: dict[Literal["adult", "child"], _Given]


class _Numbers(Schema):
    from_memory: Literal["allow", "forbid"] = "allow"


class _File(Schema):
    service: _Given = _Given()
    numbers: _Numbers = _Numbers()
    factors: dict[str, EffectTable] = Field(default_factory=dict)


def read_requirements(path: Path | str | None = None, *, adult: bool = True) -> Requirements:
    """Read what is asked of a device; what the file does not say stays as shipped.

    Args:
        path: a TOML file with ``[service]``, ``[numbers]`` and ``[factors.…]``, see the head of
            this module; None takes everything as shipped.
        adult: whose service is taken where the file says nothing.

    Raises:
        FileError: the file is unusable; every problem is listed.

    Example:
        >>> asked = read_requirements(adult=False)
        >>> asked.service.months, asked.service.strides_per_day, asked.allow_memory
        (12.0, 4222.0, True)
        >>> asked.service.doubts[0]
        'months: memory-M'
    """
    given = _File() if path is None else read_toml(path, _File)
    if problems := factor_problems(given.factors):
        assert path is not None
        raise FileError(path, problems)
    shipped = read_toml(SHIPPED, _ShippedFile).service["adult" if adult else "child"]
    numbers = {
        name: getattr(given.service, name) or getattr(shipped, name)
        for name in _Given.model_fields
    }
    service = Service(
        **{name: number.value for name, number in numbers.items()},
        origins=MappingProxyType(
            {name: Origin(each.source, each.status, each.note) for name, each in numbers.items()}
        ),
    )
    factors = replace(
        factors_with(given.factors), standing_hours=service.standing_hours_per_day
    )
    return Requirements(service, factors, given.numbers.from_memory == "allow")

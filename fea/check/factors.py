# SPDX-License-Identifier: MIT
"""Partial factors: every effect once, each with a source or the statement that it has none.

The shipped table is ``factors.toml``; a user's file of the same form replaces single values.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Literal

from pydantic import Field, field_validator

from fea.check.creep import PEAK_SHARE, STANDING_HOURS
from fea.errors import FileError, Problem
from fea.inputfile import Schema, read_toml
from fea.material.library import Kind, Status
from fea.sources import cite

Applies = Literal["strength", "required", "stability", "life", "elsewhere"]

YIELD, BREAK = "yield_strength", "tensile_strength"

SHIPPED = Path(__file__).with_name("factors.toml")


@dataclass(frozen=True)
class PartialFactor:
    """One effect on one kind of material.

    Attributes:
        effect: such as "creep".
        kind: kind of material.
        value: 1 or more.
        applies: "strength" (divides the strength), "required" (multiplies into the factor that a
            check must reach), "stability" (likewise, of a check of buckling only), "life" (divides
            the fatigue strength) or "elsewhere" (contained elsewhere, stays at 1).
        source: source key, or a citation written out.
        status: how the value is known, see `fea.material.library.Property`.
        meaning: the effect, and what it does not contain.
        note: how this value came about.
        own: True for a value of the user's, which stands before what the material library says.
    """

    effect: str
    kind: Kind
    value: float
    applies: Applies
    source: str
    status: Status
    meaning: str
    note: str = ""
    own: bool = False


@dataclass(frozen=True)
class RequiredFactor:
    """What capacity over demand must reach: the product of its parts."""

    parts: tuple[PartialFactor, ...]

    @property
    def value(self) -> float:
        """The product."""
        return math.prod(part.value for part in self.parts)

    @property
    def words(self) -> str:
        """The product written out, without parts that are 1."""
        shown = [f"{part.effect} {part.value:.2f}" for part in self.parts if part.value != 1.0]
        return "required factor: " + (" × ".join(shown) or "1")

    @property
    def sources(self) -> tuple[str, ...]:
        """Source keys of the parts that are not 1."""
        return tuple(dict.fromkeys(part.source for part in self.parts if part.value != 1.0))

    @property
    def note(self) -> str:
        """The parts that rest on memory, practice or assumption."""
        return "; ".join(
            f"factor for {part.effect}: {part.status}"
            for part in self.parts
            if part.value != 1.0 and is_doubtful(part.status)
        )


@dataclass(frozen=True)
class Factors:
    """The table of partial factors, by effect and kind of material.

    Attributes:
        table: effect to kind of material to its factor.
        against: strength in the library that isotropic walls and bars are held against.
        standing_hours: a day under load, which creep depends on.
        peak_share: of these hours, what is spent under the full load: at the peak of steps, or 1
            where the load is held.

    Example:
        >>> factors = read_factors()
        >>> factors.required("metal").words
        'required factor: model 1.15 × consequence 1.20'
    """

    table: Mapping[str, Mapping[Kind, PartialFactor]]
    against: str = YIELD
    standing_hours: float = STANDING_HOURS
    peak_share: float = PEAK_SHARE

    def held(self) -> "Factors":
        """The same for a load that is held for all hours of standing.

        Example:
            >>> factors = read_factors()
            >>> factors.loaded_hours, factors.held().loaded_hours
            (0.24, 4.0)
        """
        return replace(self, peak_share=1.0)

    @property
    def loaded_hours(self) -> float:
        """A day under the full load."""
        return self.peak_share * self.standing_hours

    @property
    def loaded_words(self) -> str:
        """The same in words."""
        how = "held" if self.peak_share == 1.0 else "at the peak of steps"
        return f"{self.loaded_hours:.2g} h a day {how}"

    @property
    def topic(self) -> str:
        """What a wall of one material must not do: "yield" or "break"."""
        return "yield" if self.against == YIELD else "break"

    def partial(self, effect: str, kind: Kind) -> PartialFactor:
        """The factor of one effect on one kind of material."""
        return self.table[effect][kind]

    def required(self, kind: Kind) -> RequiredFactor:
        """The factor that a check of strength must reach for this kind of material."""
        parts = [rows[kind] for rows in self.table.values() if rows[kind].applies == "required"]
        return RequiredFactor(tuple(parts))

    def required_stability(self, kind: Kind) -> RequiredFactor:
        """The factor that a check of buckling must reach for this kind of material.

        Brittleness is a part of it: past its buckling load a wall that cracks carries nothing.
        """
        parts = list(self.required(kind).parts)
        parts += [rows[kind] for rows in self.table.values() if rows[kind].applies == "stability"]
        return RequiredFactor(tuple(parts))

    def required_life(self, kind: Kind) -> RequiredFactor:
        """The factor that a check of life must reach on stress for this kind of material.

        Creep and brittleness are no part of it: fatigue strength was measured until pieces broke.
        """
        parts = [self.table[effect][kind] for effect in ("model", "consequence")]
        return RequiredFactor(tuple(part for part in parts if part.applies == "required"))

    def of_life(self, kind: Kind) -> tuple[PartialFactor, ...]:
        """What divides the fatigue strength of this kind of material."""
        return tuple(rows[kind] for rows in self.table.values() if rows[kind].applies == "life")


def is_doubtful(status: str) -> bool:
    """True unless the number was read, derived from read numbers, or measured by the user."""
    return status not in ("read", "derived", "measured")


class _Value(Schema):
    value: float = Field(ge=1.0)
    source: str
    status: Status
    note: str = ""

    @field_validator("source")
    @classmethod
    def _known_source(cls, source: str) -> str:
        cite(source)
        return source


class EffectTable(Schema):
    """One effect in a file of factors."""

    applies: Applies | None = None
    meaning: str | None = None
    values: dict[Kind, _Value]


class _FactorFile(Schema):
    factors: dict[str, EffectTable]


def read_factors(extra: Path | str | None = None) -> Factors:
    """Read the shipped partial factors, with a user's file laid over them.

    Args:
        extra: a TOML file in the form of the shipped ``factors.toml``. It may replace the value
            of any effect on any kind of material, and then stands before what the material library
            says of that effect; where an effect applies and what it means stay as shipped, so that
            no effect is counted twice.

    Raises:
        FileError: the file is unusable, a value lies below 1, an effect is unknown or is
            contained elsewhere; every problem is listed.
    """
    own = {} if extra is None else read_toml(extra, _FactorFile).factors
    if problems := factor_problems(own):
        assert extra is not None
        raise FileError(extra, problems)
    return factors_with(own)


def factor_problems(own: Mapping[str, EffectTable]) -> list[Problem]:
    """What is wrong with a user's factors, beyond the form of their file."""
    shipped = _shipped()
    return [problem for effect in own for problem in _problems(effect, own, shipped)]


def factors_with(own: Mapping[str, EffectTable]) -> Factors:
    """The shipped factors, with a user's laid over them; `factor_problems` finds none in these."""
    table = {}
    for effect, row in _shipped().items():
        given = own[effect].values if effect in own else {}
        table[effect] = MappingProxyType(
            {
                kind: _partial(effect, kind, row, given.get(kind, value), kind in given)
                for kind, value in row.values.items()
            }
        )
    return Factors(MappingProxyType(table))


@cache
def _shipped() -> Mapping[str, EffectTable]:
    return MappingProxyType(read_toml(SHIPPED, _FactorFile).factors)


def _problems(
    effect: str, own: Mapping[str, EffectTable], shipped: Mapping[str, EffectTable]
) -> list[Problem]:
    where = f"factors.{effect}"
    if effect not in shipped:
        return [Problem(where, f"unknown effect; use one of {', '.join(shipped)}")]
    if shipped[effect].applies == "elsewhere":
        return [Problem(where, f"would be counted twice: {shipped[effect].meaning}")]
    if own[effect].applies not in (None, shipped[effect].applies):
        return [Problem(where, f'applies is "{shipped[effect].applies}" and cannot be changed')]
    return []


def _partial(
    effect: str, kind: Kind, row: EffectTable, value: _Value, own: bool
) -> PartialFactor:
    assert row.applies is not None and row.meaning is not None
    return PartialFactor(
        effect=effect,
        kind=kind,
        value=value.value,
        applies=row.applies,
        source=value.source,
        status=value.status,
        meaning=row.meaning,
        note=value.note,
        own=own,
    )

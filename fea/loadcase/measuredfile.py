# SPDX-License-Identifier: MIT
"""Measured gait as files: a table (CSV) and beside it a header (TOML) that says what is in it.

The header names for each quantity its column, its unit and, in words, which direction counts
positive; whose leg it was; and how stance was sampled. Inside, everything becomes: forces on the
foot in body weights (forward, medial, up), lengths in mm, ankle moment external dorsiflexing and
knee moment external flexing in N·m per kg, angles in rad (dorsiflexion, shank leaning forward,
heel up).
"""

import csv
import math
import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Literal, Self

import numpy as np
from numpy.typing import NDArray
from pydantic import Field, field_validator, model_validator

from fea.errors import FileError, Problem
from fea.inputfile import Name, Schema, read_toml
from fea.sources import cite
from fea.units import STANDARD_GRAVITY

KIND = "measured gait"

_FORCE, _LENGTH = ("N", "BW", "N/kg"), ("mm", "m", "foot lengths")
_MOMENT, _ANGLE = ("N·m", "N·m/kg"), ("deg", "rad")
_UP = {"up on the foot": 1, "down on the ground": 1,
       "down on the foot": -1, "up on the ground": -1}  # fmt: skip
_FORWARD = {"forward on the foot": 1, "backward on the ground": 1,
            "backward on the foot": -1, "forward on the ground": -1}  # fmt: skip
_MEDIAL = {"medial on the foot": 1, "lateral on the ground": 1,
           "lateral on the foot": -1, "medial on the ground": -1}  # fmt: skip
_ANKLE = {"external dorsiflexing": 1, "internal plantarflexing": 1,
          "external plantarflexing": -1, "internal dorsiflexing": -1}  # fmt: skip
_KNEE = {"external flexing": 1, "internal extending": 1,
         "external extending": -1, "internal flexing": -1}  # fmt: skip
_TOWARD = {"toward the toes": 1, "toward the heel": -1}

QUANTITIES: Mapping[str, tuple[tuple[str, ...], Mapping[str, int]]] = {
    "vertical_force": (_FORCE, _UP),
    "fore_aft_force": (_FORCE, _FORWARD),
    "medial_force": (_FORCE, _MEDIAL),
    "centre_of_pressure": (_LENGTH, _TOWARD),
    "ankle_position": (_LENGTH, _TOWARD),
    "ankle_moment": (_MOMENT, _ANKLE),
    "knee_moment": (_MOMENT, _KNEE),
    "ankle_angle": (_ANGLE, {"dorsiflexion": 1, "plantarflexion": -1}),
    "shank_angle": (_ANGLE, {"leaning forward": 1, "leaning backward": -1}),
    "foot_angle": (_ANGLE, {"heel up": 1, "toes up": -1}),
}
"""Each quantity with the units and the words for its positive direction that a header may use."""


class PersonSchema(Schema):
    """``[person]``: whose leg was measured; lengths that are left out follow from the height."""

    curves_of: Literal["the wearer", "another person"]
    side: Literal["left", "right"]
    mass_kg: Annotated[float, Field(ge=5.0, le=200.0)]
    height_mm: Annotated[float, Field(ge=800.0, le=2200.0)]
    foot_length_mm: Annotated[float, Field(ge=90.0, le=350.0)] | None = None
    ankle_height_mm: Annotated[float, Field(ge=20.0, le=160.0)] | None = None
    shank_length_mm: Annotated[float, Field(ge=120.0, le=600.0)] | None = None


class SamplingSchema(Schema):
    """``[sampling]``: the column of time, and when stance begins and ends in it."""

    column: str
    unit: Literal["% of gait cycle", "% of stance", "s"]
    contact: float = 0.0
    foot_off: float | None = None
    next_contact: float | None = None
    foot_off_percent: Annotated[float, Field(ge=30.0, le=95.0)] | None = None

    @model_validator(mode="after")
    def _events(self) -> Self:
        if self.unit == "% of stance":
            if {"contact", "foot_off", "next_contact"} & self.model_fields_set:
                raise ValueError("stance runs from 0 to 100 % by its unit: leave out contact, "
                                 "foot_off and next_contact")  # fmt: skip
            return self
        if self.foot_off is None or self.foot_off <= self.contact:
            raise ValueError("give foot_off, later than contact and in the unit of the column")
        if self.foot_off_percent is not None:
            raise ValueError("foot_off_percent belongs to the unit '% of stance'; remove it")
        if self.next_contact is not None and self.unit != "s":
            raise ValueError("next_contact belongs to the unit 's'; remove it")
        if self.next_contact is not None and self.next_contact <= self.foot_off:
            raise ValueError("next_contact must be later than foot_off")
        return self

    def stance_percent(self, time: NDArray[np.float64]) -> NDArray[np.float64]:
        """Time of the column as % of stance, same shape."""
        if self.foot_off is None:
            return time
        return 100.0 * (time - self.contact) / (self.foot_off - self.contact)

    @property
    def stance_share(self) -> float | None:
        """Stance as a share of the gait cycle; None where the header does not tell."""
        if self.foot_off is None:
            return None if self.foot_off_percent is None else self.foot_off_percent / 100.0
        if self.unit == "% of gait cycle":
            return (self.foot_off - self.contact) / 100.0
        if self.next_contact is None:
            return None
        return (self.foot_off - self.contact) / (self.next_contact - self.contact)


class ColumnSchema(Schema):
    """``[columns.QUANTITY]``; ``from`` belongs to the centre of pressure."""

    column: Annotated[str, Field(min_length=1)]
    unit: str
    positive: str
    origin: Literal["heel edge", "ankle axis", "laboratory"] | None = Field(None, alias="from")

    @field_validator("unit")
    @classmethod
    def _one_spelling(cls, value: str) -> str:
        return re.sub(r"^N[ .]?m\b", "N·m", value)


class VerdictSchema(Schema):
    """``[verdict]``: how much harder than these steps others may be."""

    scatter_factor: Annotated[float, Field(ge=1.0, le=5.0)]
    source: str

    @field_validator("source")
    @classmethod
    def _known(cls, value: str) -> str:
        cite(value)
        return value


class MeasuredSchema(Schema):
    """A whole header."""

    kind: Literal["measured gait"]
    name: Name
    title: Annotated[str, Field(min_length=1)]
    file: Annotated[str, Field(min_length=1)]
    source: Annotated[str, Field(min_length=1)]
    person: PersonSchema
    sampling: SamplingSchema
    columns: dict[str, ColumnSchema]
    verdict: VerdictSchema | None = None

    @model_validator(mode="after")
    def _whole(self) -> Self:
        unknown = [f"[columns.{name}] is no quantity; use {_either(tuple(QUANTITIES))}"
                   for name in self.columns if name not in QUANTITIES]
        faults = unknown or [*self._missing(), *self._words(), *self._names()]
        if faults:
            raise ValueError("; ".join(faults))
        return self

    def _missing(self) -> Iterator[str]:
        for quantity in ("vertical_force", "fore_aft_force"):
            if quantity not in self.columns:
                yield f"[columns.{quantity}] is required and missing"
        place = self.columns.get("centre_of_pressure")
        if place is None and "ankle_moment" not in self.columns:
            yield "give [columns.centre_of_pressure] or [columns.ankle_moment]"
        if place is not None and place.origin is None:
            yield ("[columns.centre_of_pressure] has no from; give 'heel edge' (along the sole), "
                   "'ankle axis' (level with the floor) or 'laboratory'")  # fmt: skip
        in_laboratory = place is not None and place.origin == "laboratory"
        if in_laboratory != ("ankle_position" in self.columns):
            yield ("[columns.ankle_position] goes with a centre of pressure from 'laboratory': "
                   "give both or neither")  # fmt: skip

    def _words(self) -> Iterator[str]:
        for quantity, column in self.columns.items():
            units, words = QUANTITIES[quantity]
            if column.unit not in units:
                yield f"columns.{quantity}.unit '{column.unit}' is unknown; use {_either(units)}"
            if column.positive not in words:
                yield (f"columns.{quantity}.positive '{column.positive}' is unknown; use "
                       f"{_either(words)}")  # fmt: skip
            if column.origin is not None and quantity != "centre_of_pressure":
                yield f"columns.{quantity}.from belongs to centre_of_pressure; remove it"

    def _names(self) -> Iterator[str]:
        names = [self.sampling.column, *(column.column for column in self.columns.values())]
        for name in dict.fromkeys(names):
            if names.count(name) > 1:
                yield f"column '{name}' is given for two quantities; each has its own"
            other = "right" if self.person.side == "left" else "left"
            if re.search(rf"(?i)(?<![a-z]){other}(?![a-z])", name):
                yield (f"column '{name}' says {other} and person.side says {self.person.side}; "
                       "take the columns of one side")  # fmt: skip


def _either(words: Mapping[str, int] | tuple[str, ...]) -> str:
    *first, last = (f"'{word}'" for word in words)
    return f"{', '.join(first)} or {last}"


def file_kind(path: Path) -> str | None:
    """What a load file says it is (its key ``kind``); None where it says nothing or is no TOML."""
    try:
        return tomllib.loads(path.read_text(encoding="utf-8")).get("kind")
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError):
        return None  # whoever reads the file tells what is wrong with it


@dataclass(frozen=True, eq=False)
class Recording:
    """What was measured, row by row.

    Attributes:
        path: the header's;  header: its content.
        lines: (n,) line of the table's file that each row stands in.
        time: (n,) in the unit of the sampling column.
        raw: quantity to (n,) values as they stand in the file; NaN where a cell is empty.
    """

    path: Path
    header: MeasuredSchema
    lines: tuple[int, ...]
    time: NDArray[np.float64]
    raw: Mapping[str, NDArray[np.float64]]

    def inside(
        self, quantity: str, *, unit: str | None = None, foot_length: float = 1.0
    ) -> NDArray[np.float64] | None:
        """Values (n,) in inside units and signs; None if the file has no such quantity.

        Args:
            quantity: a key of `QUANTITIES`.
            unit: read the column as if it were in this unit.
            foot_length: mm, for places in foot lengths.
        """
        if quantity not in self.raw:
            return None
        column = self.header.columns[quantity]
        mass = self.header.person.mass_kg
        scale = {
            "N": 1.0 / (mass * STANDARD_GRAVITY), "BW": 1.0, "N/kg": 1.0 / STANDARD_GRAVITY,
            "mm": 1.0, "m": 1000.0, "foot lengths": foot_length,
            "N·m": 1.0 / mass, "N·m/kg": 1.0, "deg": math.radians(1.0), "rad": 1.0,
        }[unit or column.unit]  # fmt: skip
        return self.raw[quantity] * (QUANTITIES[quantity][1][column.positive] * scale)

    def where(self, quantity: str, row: int | None = None) -> str:
        """Place of a value for people: file, column, line and the value as it stands there."""
        column = self.header.columns[quantity]
        text = f"{self.header.file}, column '{column.column}'"
        if row is None:
            return text
        return f"{text}, line {self.lines[row]} ({self.raw[quantity][row]:g} {column.unit})"


def few(problems: list[Problem], keep: int = 3) -> list[Problem]:
    """The first of many problems of one kind, and how many more there are."""
    if len(problems) <= keep + 1:
        return problems
    more = Problem(problems[keep].where, f"and {len(problems) - keep} more of this kind from here")
    return [*problems[:keep], more]


def read_recording(path: str | Path) -> Recording:
    """Read a header and the table it describes.

    Args:
        path: the header; the table lies beside it.

    Raises:
        FileError: header or table is wrong; every mistake of the one or the other is listed.
    """
    header = read_toml(path, MeasuredSchema)
    table = Path(path).parent / header.file
    rows = _read_rows(table)
    names = {quantity: column.column for quantity, column in header.columns.items()}
    clock = header.sampling.column
    problems = list(_heading_problems(rows[0][1], [clock, *names.values()]))
    if problems:
        raise FileError(table, problems)
    time = _numbers(rows, clock, problems, gaps=False)
    raw = {name: _numbers(rows, column, problems, gaps=True) for name, column in names.items()}
    lines = tuple(line for line, _ in rows[1:])
    problems += few(list(_time_problems(time, lines, clock)))
    if problems:
        raise FileError(table, problems)
    return Recording(Path(path), header, lines, time, raw)


def _read_rows(table: Path) -> list[tuple[int, list[str]]]:
    """Heading and rows with their lines; empty lines and comments (#) are passed over."""
    try:
        with table.open(encoding="utf-8-sig", newline="") as file:
            reader = csv.reader(file)
            rows = [(reader.line_num, [cell.strip() for cell in row]) for row in reader]
    except OSError as error:
        what = f"cannot be read ({error.strerror}); put it beside its header, or correct `file`"
        raise FileError(table, [Problem("", what)]) from None
    except UnicodeDecodeError:
        raise FileError(table, [Problem("", "is not UTF-8 text; save it as CSV, UTF-8")]) from None
    except csv.Error as error:
        raise FileError(table, [Problem("", f"is no CSV table: {error}")]) from None
    rows = [(line, row) for line, row in rows if any(row) and not row[0].startswith("#")]
    if len(rows) < 2:
        raise FileError(table, [Problem("", "has no rows; give a heading and a row an instant")])
    width = len(rows[0][1])
    ragged = [
        Problem(f"line {line}", f"has {len(row)} cells and the heading {width}; a comma parts "
                "cells, and decimals take a point")
        for line, row in rows[1:]
        if len(row) != width
    ]  # fmt: skip
    if ragged:
        raise FileError(table, few(ragged))
    return rows


def _heading_problems(heading: list[str], wanted: list[str]) -> Iterator[Problem]:
    for name in dict.fromkeys(wanted):
        count = heading.count(name)
        if count == 0:
            there = ", ".join(f"'{cell}'" for cell in heading)
            yield Problem(f"column '{name}'", f"is missing; the table has {there}")
        elif count > 1:
            yield Problem(f"column '{name}'", f"is there {count} times; rename or remove one")


def _numbers(
    rows: list[tuple[int, list[str]]], name: str, problems: list[Problem], *, gaps: bool
) -> NDArray[np.float64]:
    """The values of a column; an empty cell or NaN is a gap, where gaps may be."""
    place, values, wrong = rows[0][1].index(name), [], []
    for line, row in rows[1:]:
        cell, what = row[place], ""
        try:
            value = float(cell) if cell else math.nan
        except ValueError:
            value = math.nan
            what = f"'{cell}' is not a number; decimals take a point, units stand in the header"
        else:
            if math.isinf(value) or (math.isnan(value) and not gaps):
                what = f"'{cell}' is no finite number; fill it in or remove the row"
        if what:
            wrong.append(Problem(f"line {line}, column '{name}'", what))
        values.append(value)
    problems += few(wrong)
    return np.array(values)


def _time_problems(
    time: NDArray[np.float64], lines: tuple[int, ...], name: str
) -> Iterator[Problem]:
    for row in np.flatnonzero(np.diff(time) <= 0.0):
        yield Problem(
            f"line {lines[row + 1]}, column '{name}'",
            f"{time[row + 1]:g} comes after {time[row]:g}: time must rise from row to row; sort "
            "the rows, and remove repeated ones",
        )

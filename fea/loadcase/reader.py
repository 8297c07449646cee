# SPDX-License-Identifier: MIT
"""Reads a load set from a TOML file; every number in it says where it comes from."""

from collections.abc import Mapping
from pathlib import Path
from typing import Annotated, Any, Literal, Self

from pydantic import AfterValidator, Field, field_validator, model_validator

from fea.errors import FileError, Problem
from fea.inputfile import Schema, read_toml
from fea.loadcase.change import PUSH_RANGES, RANGES, WORDS, Range
from fea.loadcase.instant import (
    CyclesPerDay,
    LoadSet,
    Provenance,
    Purpose,
    Push,
    StanceInstant,
    Status,
    ToeBend,
)
from fea.loadcase.measured import read_measured_gait
from fea.loadcase.measuredfile import KIND as MEASURED_GAIT
from fea.loadcase.measuredfile import file_kind
from fea.shipped import resolve
from fea.sources import cite

# Numbers that need a provenance wherever the file gives them.
_NUMBERS = frozenset({
    "percent", "fz_bw", "fx_bw", "fy_bw", "cop", "moment_nm_per_kg", "pitch_deg", "cop_medial_mm",
    "shank_angle_deg", "free_moment_nm_per_kg", "angle_deg", "held_to", "turned_from",
})



def _within(name: str, ranges: Mapping[str, Range] = RANGES) -> Any:
    """A validator that keeps a number in its range."""
    allowed = ranges[name]

    def check(value: float) -> float:
        if not allowed.allows(value):
            raise ValueError(f"must lie {allowed}")
        return value

    return AfterValidator(check)


Percent = Annotated[float, Field(ge=0.0, le=100.0)]


class ProvenanceSchema(Schema):
    """``{ source = "key or citation", status = "read", note = "..." }``."""

    source: str
    status: Status
    note: str = ""

    @field_validator("source")
    @classmethod
    def _known(cls, value: str) -> str:
        cite(value)
        return value


class InstantSchema(Schema):
    """One ``[[instants]]`` table; the keys are those of `StanceInstant`."""

    name: Annotated[str, Field(min_length=1)]
    percent: Percent | None = None
    fz_bw: Annotated[float, _within("fz_bw")]
    fx_bw: Annotated[float, _within("fx_bw")]
    fy_bw: Annotated[float, _within("fy_bw")] = 0.0
    cop: float | str | None = None
    moment_nm_per_kg: Annotated[float, _within("moment_nm_per_kg")] | None = None
    pitch_deg: Annotated[float, _within("pitch_deg")] = 0.0
    cop_medial_mm: Annotated[float, _within("cop_medial_mm")] = 0.0
    shank_angle_deg: float | str | None = None
    free_moment_nm_per_kg: Annotated[float, _within("free_moment_nm_per_kg")] = 0.0
    provenance: dict[str, ProvenanceSchema] = {}

    @field_validator("cop")
    @classmethod
    def _place(cls, value: float | str | None) -> float | str | None:
        if isinstance(value, str) and value not in WORDS["cop"]:
            raise ValueError(
                "use 'heel-edge', 'plate-end', 'unload-knee', or a number of foot lengths"
            )
        if isinstance(value, float) and not RANGES["cop"].allows(value):
            raise ValueError(f"must lie {RANGES['cop']}")
        return value

    @field_validator("shank_angle_deg")
    @classmethod
    def _lean(cls, value: float | str | None) -> float | str | None:
        if isinstance(value, str) and value != "device":
            raise ValueError("use 'device', or a number of degrees")
        if isinstance(value, float) and not RANGES["shank_angle_deg"].allows(value):
            raise ValueError(f"must lie {RANGES['shank_angle_deg']}")
        return value

    @model_validator(mode="after")
    def _one_place(self) -> Self:
        if (self.cop is None) == (self.moment_nm_per_kg is None):
            raise ValueError(f"'{self.name}': give either cop or moment_nm_per_kg, not both")
        if self.cop == "unload-knee" and self.shank_angle_deg is None:
            raise ValueError(f"'{self.name}': cop = 'unload-knee' needs shank_angle_deg; add it")
        return self


class PushSchema(Schema):
    """One ``[[pushes]]`` table; the keys are those of `Push`."""

    name: Annotated[str, Field(min_length=1)]
    zones: Annotated[list[Annotated[str, Field(min_length=1)]], Field(min_length=1)]
    fx_bw: Annotated[float, _within("fx_bw", PUSH_RANGES)] = 0.0
    fy_bw: Annotated[float, _within("fy_bw", PUSH_RANGES)] = 0.0
    fz_bw: Annotated[float, _within("fz_bw", PUSH_RANGES)] = 0.0
    landmark: str | None = None
    provenance: dict[str, ProvenanceSchema] = {}

    @model_validator(mode="after")
    def _pushes(self) -> Self:
        if not (self.fx_bw or self.fy_bw or self.fz_bw):
            raise ValueError(f"'{self.name}': pushes with no force; give fx_bw, fy_bw or fz_bw")
        if len(set(self.zones)) < len(self.zones):
            raise ValueError(f"'{self.name}': names a zone twice; name each once")
        return self


class BendSchema(Schema):
    """One ``[[bends]]`` table; the keys are those of `ToeBend`."""

    name: Annotated[str, Field(min_length=1)]
    percent: Percent | None = None
    angle_deg: Annotated[float, _within("angle_deg")]
    held_to: Annotated[float, _within("held_to")]
    turned_from: Annotated[float, _within("turned_from")]
    fz_bw: Annotated[float, _within("fz_bw")]
    provenance: dict[str, ProvenanceSchema] = {}

    @model_validator(mode="after")
    def _leaves_a_strip(self) -> Self:
        if not self.held_to < self.turned_from:
            raise ValueError(
                f"'{self.name}': held to {self.held_to:g} and turned from {self.turned_from:g} "
                "foot lengths leaves nothing to bend; put turned_from ahead of held_to"
            )
        return self


class CyclesSchema(Schema):
    """``[cycles_per_day]``: strides of one leg a day."""

    child: Annotated[float, Field(gt=0.0, le=50_000.0)]
    adult: Annotated[float, Field(gt=0.0, le=50_000.0)]
    provenance: dict[str, ProvenanceSchema]

    @model_validator(mode="after")
    def _every_number_has_a_source(self) -> Self:
        missing = [name for name in ("child", "adult") if name not in self.provenance]
        if missing:
            raise ValueError(f"no provenance for {', '.join(missing)}; add source and status")
        return self


class LoadSetSchema(Schema):
    """A whole load set file; `provenance` serves every case that has none of its own."""

    name: Annotated[str, Field(min_length=1)]
    title: str
    purpose: Purpose
    note: str
    note_for_adults: str = ""
    patch_half_length: Annotated[float, _within("patch_half_length")] | None = None
    beyond_plate: Literal["refuse", "plate-end"] = "refuse"
    cycles: Annotated[float, Field(gt=0.0, le=1e9)] | None = None
    held: bool = False
    provenance: dict[str, ProvenanceSchema]
    cycles_per_day: CyclesSchema | None = None
    instants: list[InstantSchema] = []
    pushes: list[PushSchema] = []
    bends: list[BendSchema] = []

    @property
    def cases(self) -> list[InstantSchema | PushSchema | BendSchema]:
        """Every case of the file."""
        return [*self.instants, *self.pushes, *self.bends]

    @property
    def patch(self) -> float:
        """Half length of the load patches; 0 where no case has one."""
        return self.patch_half_length or 0.0

    @model_validator(mode="after")
    def _whole(self) -> Self:
        problems = [*self._gaps(), *self._faults()]
        if problems:
            raise ValueError("; ".join(problems))
        return self

    def _gaps(self) -> list[str]:
        gaps = []
        if not self.cases:
            gaps.append("holds no case; add [[instants]], [[pushes]] or [[bends]]")
        patched = self.instants or any(push.landmark is not None for push in self.pushes)
        if patched and self.patch_half_length is None:
            gaps.append("no patch_half_length; add it, in foot lengths")
        if (self.purpose == "cyclic") != (self.cycles is not None):
            gaps.append("cycles belong to purpose = 'cyclic', and to no other; add or remove them")
        return gaps + [
            f"no provenance for {name}; add source and status"
            for name in ("patch_half_length", "cycles")
            if getattr(self, name) is not None and name not in self.provenance
        ]

    def _faults(self) -> list[str]:
        names = [case.name for case in self.cases]
        faults = [
            f"two cases are called '{name}'; names must differ"
            for name in dict.fromkeys(names)
            if names.count(name) > 1
        ]
        for case in self.cases:
            have = {**self.provenance, **case.provenance}
            faults += [
                f"'{case.name}' has no provenance for {name}; add source and status"
                for name in type(case).model_fields
                if name in _NUMBERS & case.model_fields_set and name not in have
            ]
        return faults


def read_load_set(name_or_path: str | Path) -> LoadSet:
    """Read a load set.

    A file with ``kind = "measured gait"`` is the header of a laboratory's table and goes to
    `fea.loadcase.measured`; every other one is a set of instants.

    Args:
        name_or_path: a shipped name ("walking-envelope", "typical-step", ...) or a TOML file.

    Returns:
        The load set, in multiples of body weight and foot length.

    Raises:
        InputError: no such name or file.
        FileError: the file is wrong; every mistake in it is listed.

    Example:
        >>> read_load_set("walking-envelope").purpose
        'verdict'
    """
    path = resolve("loadcases", name_or_path)
    kind = file_kind(path)
    if kind == MEASURED_GAIT:
        return read_measured_gait(path)
    if kind is not None:
        what = f"{kind!r} is unknown; use '{MEASURED_GAIT}', or leave it out for a set of instants"
        raise FileError(path, [Problem("kind", what)])
    file = read_toml(path, LoadSetSchema)
    cycles = file.cycles_per_day
    return LoadSet(
        name=file.name,
        title=file.title,
        purpose=file.purpose,
        note=" ".join(file.note.split()),
        note_for_adults=" ".join(file.note_for_adults.split()),
        instants=tuple(_instant(file, instant) for instant in file.instants),
        pushes=tuple(_push(file, push) for push in file.pushes),
        bends=tuple(
            ToeBend(**bend.model_dump(exclude={"provenance"}), provenance=_rows(file, bend))
            for bend in file.bends
        ),
        held=file.held,
        cycles=file.cycles,
        cycles_per_day=None if cycles is None else CyclesPerDay(
            child=cycles.child, adult=cycles.adult, provenance=_provenance(cycles.provenance)
        ),
    )


def _instant(file: LoadSetSchema, instant: InstantSchema) -> StanceInstant:
    return StanceInstant(
        **instant.model_dump(exclude={"provenance"}),
        patch_half_length=file.patch,
        beyond_plate=file.beyond_plate,
        provenance=_rows(file, instant),
    )


def _push(file: LoadSetSchema, push: PushSchema) -> Push:
    return Push(
        **push.model_dump(exclude={"provenance", "zones"}),
        patch_half_length=file.patch,
        zones=tuple(push.zones),
        provenance=_rows(file, push),
    )


def _rows(
    file: LoadSetSchema, case: InstantSchema | PushSchema | BendSchema
) -> dict[str, Provenance]:
    return _provenance({**file.provenance, **case.provenance})


def _provenance(rows: dict[str, ProvenanceSchema]) -> dict[str, Provenance]:
    return {name: Provenance(row.source, row.status, row.note) for name, row in rows.items()}

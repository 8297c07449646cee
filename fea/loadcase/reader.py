# SPDX-License-Identifier: MIT
"""Reads a load set from a TOML file; every number in it says where it comes from."""

from pathlib import Path
from typing import Annotated, Literal, Self

from pydantic import Field, field_validator, model_validator

from fea.inputfile import Schema, read_toml
from fea.loadcase.instant import CyclesPerDay, LoadSet, Provenance, StanceInstant, Status
from fea.shipped import resolve
from fea.sources import cite

# Numbers that need a provenance wherever the file gives them.
_NUMBERS = ("percent", "fz_bw", "fx_bw", "fy_bw", "cop", "moment_nm_per_kg", "pitch_deg",
            "cop_medial_mm")

Shear = Annotated[float, Field(ge=-3.0, le=3.0)]


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
    percent: Annotated[float, Field(ge=0.0, le=100.0)] | None = None
    fz_bw: Annotated[float, Field(gt=0.0, le=10.0)]
    fx_bw: Shear
    fy_bw: Shear = 0.0
    cop: float | str | None = None
    moment_nm_per_kg: Annotated[float, Field(ge=-5.0, le=8.0)] | None = None
    pitch_deg: Annotated[float, Field(ge=-60.0, le=60.0)] = 0.0
    cop_medial_mm: Annotated[float, Field(ge=-60.0, le=60.0)] = 0.0
    provenance: dict[str, ProvenanceSchema] = {}

    @field_validator("cop")
    @classmethod
    def _place(cls, value: float | str | None) -> float | str | None:
        if isinstance(value, str) and value not in ("heel-edge", "plate-end"):
            raise ValueError("use 'heel-edge', 'plate-end', or a number of foot lengths")
        if isinstance(value, float) and not -0.2 <= value <= 1.5:
            raise ValueError("lies outside -0.2 to 1.5 foot lengths ahead of the heel edge")
        return value

    @model_validator(mode="after")
    def _one_place(self) -> Self:
        if (self.cop is None) == (self.moment_nm_per_kg is None):
            raise ValueError(f"'{self.name}': give either cop or moment_nm_per_kg, not both")
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
    """A whole load set file; `provenance` serves every instant that has none of its own."""

    name: Annotated[str, Field(min_length=1)]
    title: str
    purpose: Literal["verdict", "step"]
    note: str
    patch_half_length: Annotated[float, Field(gt=0.0, le=0.3)]
    beyond_plate: Literal["refuse", "plate-end"] = "refuse"
    provenance: dict[str, ProvenanceSchema]
    cycles_per_day: CyclesSchema | None = None
    instants: Annotated[list[InstantSchema], Field(min_length=1)]

    @model_validator(mode="after")
    def _whole(self) -> Self:
        problems = list(self._faults())
        if problems:
            raise ValueError("; ".join(problems))
        return self

    def _faults(self) -> list[str]:
        faults = []
        if "patch_half_length" not in self.provenance:
            faults.append("no provenance for patch_half_length; add source and status")
        names = [instant.name for instant in self.instants]
        faults += [
            f"two instants are called '{name}'; names must differ"
            for name in dict.fromkeys(names)
            if names.count(name) > 1
        ]
        for instant in self.instants:
            have = {**self.provenance, **instant.provenance}
            faults += [
                f"'{instant.name}' has no provenance for {name}; add source and status"
                for name in _NUMBERS
                if name in instant.model_fields_set and name not in have
            ]
        return faults


def read_load_set(name_or_path: str | Path) -> LoadSet:
    """Read a load set.

    Args:
        name_or_path: a shipped name ("walking-envelope", "typical-step") or a TOML file.

    Returns:
        The load set, in multiples of body weight and foot length.

    Raises:
        InputError: no such name or file.
        FileError: the file is wrong; every mistake in it is listed.

    Example:
        >>> read_load_set("walking-envelope").purpose
        'verdict'
    """
    file = read_toml(resolve("loadcases", name_or_path), LoadSetSchema)
    cycles = file.cycles_per_day
    return LoadSet(
        name=file.name,
        title=file.title,
        purpose=file.purpose,
        note=" ".join(file.note.split()),
        instants=tuple(_instant(file, instant) for instant in file.instants),
        cycles_per_day=None if cycles is None else CyclesPerDay(
            child=cycles.child, adult=cycles.adult, provenance=_provenance(cycles.provenance)
        ),
    )


def _instant(file: LoadSetSchema, instant: InstantSchema) -> StanceInstant:
    return StanceInstant(
        **instant.model_dump(exclude={"provenance"}),
        patch_half_length=file.patch_half_length,
        beyond_plate=file.beyond_plate,
        provenance=_provenance({**file.provenance, **instant.provenance}),
    )


def _provenance(rows: dict[str, ProvenanceSchema]) -> dict[str, Provenance]:
    return {name: Provenance(row.source, row.status, row.note) for name, row in rows.items()}

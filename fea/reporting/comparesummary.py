# SPDX-License-Identifier: MIT
"""A comparison for programs: compare.json with a documented, versioned schema, and compare.csv."""

import csv
import io
import math
from typing import Any, Literal

from pydantic import Field

from fea.assessment import Assessment
from fea.check.check import Horizon
from fea.check.verdict import Verdict
from fea.inputfile import Schema
from fea.reporting import verdictsummary as told
from fea.reporting.summary import (
    CheckSummary,
    DeviceSummary,
    LoadSetSummary,
    WearerSummary,
    check_summary,
    cited,
    device_summary,
    load_set_summary,
    plain_values,
    wearer_summary,
)
from fea.reporting.words import cautions
from fea.study.compare import Comparison
from fea.study.comparedchecks import Compared, Outcome
from fea.study.comparednumbers import MASS, Numbers
from fea.study.tendency import Overall

PER_DEGREE = math.radians(1.0)
SHOWN: dict[str, tuple[str, str, float]] = {
    MASS: ("mass", "g", 1000.0),
    "rotation": ("ankle_rotation", "deg", 1.0 / PER_DEGREE),
    "soft_rotation": ("ankle_rotation_warm_soft_flesh", "deg", 1.0 / PER_DEGREE),
    "stiffness": ("ankle_stiffness", "N·m/deg", PER_DEGREE / 1000.0),
    "shin_force": ("shin_force", "N", 1.0),
    "pressure": ("skin_pressure", "kPa", 1000.0),
    "deflection": ("max_deflection", "mm", 1.0),
}
"""Attribute of `Numbers` to name, unit and what a value is multiplied with for it."""

CSV_HEADERS = (
    "outcome", "horizon", "topic", "zone", "change_of_utilisation", "unresolved_change",
    "errors_estimated", *(f"{side}_{name}" for side in ("before", "after") for name in (
        "state", "case", "demand", "error", "capacity", "unit", "factor", "required",
        "utilisation")), "because",
)  # fmt: skip


class LifeSpan(Schema):
    """How long the shortest-lived part lasts."""

    zone: str
    state: str
    months: float | None = Field(description="null for a class, and where no damage is computed")


class ComparedDevice(Schema):
    """One of the two devices."""

    device: DeviceSummary
    verdict: Verdict
    verdict_sentence: str
    outlooks: tuple[told.OutlookSummary, ...]
    cell_size_mm: float = Field(description="edge of an equilateral triangle of the mean area")
    pressed_hardest: str = Field(description="part that `skin_pressure` is read at, or empty")
    life: LifeSpan | None


class NumberSummary(Schema):
    """One number of both devices."""

    name: str
    unit: str
    before: float | None
    after: float | None
    unresolved_change: float | None = Field(
        description="up to which change nothing can be told, in `unit`; null where not known"
    )
    resolved: bool | None = Field(description="null where nobody knows")


class ComparedCheck(Schema):
    """One requirement, as judged on both devices or on one of them."""

    horizon: Horizon
    topic: str
    zone: str = Field(description="“device” for buckling, which belongs to the whole")
    outcome: Outcome
    because: str = Field(description="why one side has no such check; else empty")
    before: CheckSummary | None
    after: CheckSummary | None
    change_of_utilisation: float | None = Field(
        description="of the share of what is allowed that is used, after minus before, without "
        "the errors of the meshes"
    )
    unresolved_change: float | None = Field(
        description="up to which change of it nothing can be told"
    )
    errors_estimated: bool = Field(
        description="whether the error of each mesh was estimated; else it is assumed"
    )
    change_on_coarser_cells: float | None = Field(
        description="the same change there, as a share of before; null where it was not read"
    )
    peak_moved: bool | None = Field(
        description="whether a peak lies elsewhere on coarser cells; null where it was not read"
    )


class ComparedGap(Schema):
    """Something that at least one of the devices was not checked for; never a pass."""

    topic: str
    zone: str
    horizon: Horizon | None
    not_checked_before_because: str
    not_checked_now_because: str


class CompareSummary(Schema):
    """Everything that was compared."""

    schema_version: Literal["1.0"] = "1.0"
    overall: Overall
    sentence: str
    points: tuple[str, ...] = Field(description="what stands behind the sentence")
    before: ComparedDevice
    after: ComparedDevice
    wearer: WearerSummary
    load_set: LoadSetSummary
    fall_set: LoadSetSummary | None
    step_set: LoadSetSummary | None
    mass_change_g: float
    stiffness_case: str = Field(description="instant in which the ankle's stiffness is read")
    coarser_cell_size_mm: float | None = Field(
        description="cells on which every change was read again; null where none was"
    )
    numbers: tuple[NumberSummary, ...]
    checks: tuple[ComparedCheck, ...] = Field(
        description="those of both devices first, the hardest first"
    )
    gaps: tuple[ComparedGap, ...]
    cautions: tuple[str, ...]
    sources: dict[str, str]
    provenance: dict[str, Any] = Field(description="of before and after")


def summarise_comparison(result: Comparison) -> CompareSummary:
    """The content of compare.json."""
    before, after = result.before, result.after
    return CompareSummary(
        overall=result.tendency.overall,
        sentence=result.sentence,
        points=result.points,
        before=_device(before, result.numbers[0]),
        after=_device(after, result.numbers[1]),
        wearer=wearer_summary(after.wearer),
        load_set=load_set_summary(after.load_set),
        fall_set=load_set_summary(after.fall_set) if after.fall_set else None,
        step_set=load_set_summary(after.step_set) if after.step_set else None,
        mass_change_g=1000.0 * result.mass_change,
        stiffness_case=result.case,
        coarser_cell_size_mm=result.coarser_size,
        numbers=number_summaries(result),
        checks=tuple(_check(row) for row in result.rows),
        gaps=tuple(
            ComparedGap(topic=gap.topic, zone=gap.zone, horizon=gap.horizon,
                        not_checked_before_because=gap.before, not_checked_now_because=gap.after)
            for gap in result.gaps
        ),
        cautions=cautions(after.load_set),
        sources={**cited(before), **cited(after)},
        provenance={"before": plain_values(before.provenance),
                    "after": plain_values(after.provenance)},
    )  # fmt: skip


def number_summaries(result: Comparison) -> tuple[NumberSummary, ...]:
    """The numbers that depend on the mesh, in the units that people use."""
    found = []
    for change in result.changes:
        name, unit, factor = SHOWN[change.name]
        values = (change.before, change.after, change.unresolved)
        before, after, bound = (None if value is None else factor * value for value in values)
        found.append(NumberSummary(name=name, unit=unit, before=before, after=after,
                                   unresolved_change=bound, resolved=change.told))  # fmt: skip
    return tuple(found)


def comparison_csv(result: Comparison) -> str:
    """One line for each check, with the numbers of both sides."""
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(CSV_HEADERS)
    for row in map(_check, result.rows):
        writer.writerow([
            row.outcome, row.horizon, row.topic, row.zone, row.change_of_utilisation,
            row.unresolved_change, "yes" if row.errors_estimated else "no",
            *_csv_side(row.before), *_csv_side(row.after), row.because,
        ])  # fmt: skip
    return stream.getvalue()


def _csv_side(check: CheckSummary | None) -> list[object]:
    if check is None:
        return ["not checked", *[""] * 8]
    return ["met" if check.met else "not met", check.case, check.demand, check.error,
            check.capacity, check.unit, check.factor, check.required, check.utilisation]


def _device(result: Assessment, numbers: Numbers) -> ComparedDevice:
    months = numbers.life if numbers.life is not None and math.isfinite(numbers.life) else None
    life = LifeSpan(zone=numbers.life_zone, state=numbers.life_state, months=months)
    return ComparedDevice(
        device=device_summary(result), verdict=result.verdict,
        verdict_sentence=result.verdict_sentence, outlooks=told.outlook_summaries(result),
        cell_size_mm=numbers.cell_size, pressed_hardest=numbers.pressed,
        life=life if numbers.life_zone else None,
    )  # fmt: skip


def _check(row: Compared) -> ComparedCheck:
    coarse = row.coarser
    again = None
    if coarse is not None and coarse.before > 0.0:
        again = coarse.after / coarse.before - 1.0
    return ComparedCheck(
        horizon=row.horizon, topic=row.topic, zone=row.zone, outcome=row.outcome,
        because=row.because,
        before=None if row.before is None else check_summary(row.before),
        after=None if row.after is None else check_summary(row.after),
        change_of_utilisation=row.change, unresolved_change=row.unresolved,
        errors_estimated=row.estimated, change_on_coarser_cells=again,
        peak_moved=None if coarse is None else coarse.moved,
    )  # fmt: skip

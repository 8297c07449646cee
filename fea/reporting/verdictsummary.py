# SPDX-License-Identifier: MIT
"""What the summary says of the verdict: three answers, what governs, the bench, what was asked."""

import math
from typing import Literal

from pydantic import Field

from fea.assessment import Assessment
from fea.check.check import Horizon
from fea.check.requirements import Requirements
from fea.check.verdict import State, governing_three, open_count, outlook_words, outlooks
from fea.inputfile import Schema
from fea.reporting.answers import place_of
from fea.reporting.nextsteps import work_of
from fea.study.advice import Advice

Vector = tuple[float, float, float]


class OutlookSummary(Schema):
    """The answer to one of the three questions."""

    horizon: Horizon
    state: State = Field(description="met only when something was checked and nothing left open")
    words: str = Field(description="a part of a sentence")
    checks: int
    failed: int
    gaps: int = Field(description="of `not_checked`, how many leave this question open")


class GoverningSummary(Schema):
    """One of the worst three checks; its numbers stand in `checks`."""

    horizon: Horizon
    topic: str
    zone: str
    case: str
    utilisation: float
    met: bool
    place: str = Field(description="where, in words")
    place_mm: Vector | None
    from_memory: tuple[str, ...] = Field(description="numbers from memory that it rests on")


class MeasureSummary(Schema):
    """Where a wall is to be measured after forming."""

    zone: str
    place: str
    place_mm: Vector
    why: Literal["hardest worked", "thinnest", "middle"]
    wall_mm: float = Field(description="as assumed")
    sheet_mm: float = Field(description="before forming")
    least_wall_mm: float | None = Field(
        description="estimate of the thinnest wall that keeps every required factor; null where "
        "none is made, and where a thicker wall does not help"
    )
    utilisation: float | None


class ClearSummary(Schema):
    """How much of a wall must not be cut."""

    zone: str
    share_not_to_drill: float = Field(description="of the area")
    rim_not_to_trim_mm: float
    utilisation: float | None


class WatchSummary(Schema):
    """Where to look at each visit."""

    zone: str
    kind: str = Field(description="kind of material, fastening or skin")
    place: str
    place_mm: Vector
    utilisation: float | None


class BenchWorkSummary(Schema):
    """What a bench person does next."""

    measure: tuple[MeasureSummary, ...]
    keep_clear: tuple[ClearSummary, ...]
    watch: tuple[WatchSummary, ...]


class LifeSummary(Schema):
    """How long one zone lasts, at its governing point."""

    zone: str
    cycle: str = Field(description="loads that come again and again: step, or a load set")
    place_mm: Vector
    stress: str = Field(description="which stress, in words")
    between: tuple[str, str] = Field(description="instants between which it swings")
    amplitude_mpa: float
    mean_mpa: float
    cycles_asked: float
    factor: float = Field(description="on all stresses, that it bears over that life")
    required: float
    state: str = Field(description="outlived, not outlived, or a class of thermoplastics")
    months: float | None = Field(
        description="that nearly every piece lasts, all factors counted; null for a class, and "
        "where no damage is computed"
    )
    months_middle: float | None = Field(description="that half of the pieces last; null likewise")
    months_tested: float | None = Field(
        description="that published tests reach; null where they reach all that is asked for"
    )


class RequirementsSummary(Schema):
    """What was asked of the device; the partial factors are in the report."""

    months: float | None
    strides_per_day: float
    stair_strides_per_day: float
    stumbles_per_day: float
    standing_hours_per_day: float
    numbers_from_memory: Literal["allow", "forbid"]


def outlook_summaries(result: Assessment) -> tuple[OutlookSummary, ...]:
    """The three answers, in order."""
    every = outlooks(result.checks, result.not_checked)
    return tuple(
        OutlookSummary(
            horizon=one.horizon, state=one.state, words=words, checks=len(one.checks),
            failed=len(one.failed), gaps=open_count(one.gaps),
        )
        for one, words in zip(every, outlook_words(every, result.where), strict=True)
    )  # fmt: skip


def governing_summaries(result: Assessment) -> tuple[GoverningSummary, ...]:
    """The worst three checks."""
    return tuple(
        GoverningSummary(
            horizon=check.horizon, topic=check.topic, zone=check.zone, case=check.case,
            utilisation=check.utilisation, met=check.met, place=place_of(result, check),
            place_mm=check.place, from_memory=check.from_memory,
        )
        for check in governing_three(result.checks)
    )  # fmt: skip


def bench_work_summary(result: Assessment, advice: Advice | None) -> BenchWorkSummary:
    """The three tasks."""
    work, words = work_of(result, advice), result.where.words
    return BenchWorkSummary(
        measure=tuple(
            MeasureSummary(
                zone=one.zone, place=words(one.place), place_mm=one.place, why=one.why,
                wall_mm=one.wall, sheet_mm=one.sheet, least_wall_mm=_finite(one.least),
                utilisation=one.utilisation,
            )
            for one in work.measure
        ),
        keep_clear=tuple(
            ClearSummary(
                zone=one.zone, share_not_to_drill=one.drill, rim_not_to_trim_mm=one.trim,
                utilisation=one.utilisation,
            )
            for one in work.clear
        ),
        watch=tuple(
            WatchSummary(
                zone=one.zone, kind=one.kind, place=words(one.place), place_mm=one.place,
                utilisation=one.utilisation,
            )
            for one in work.watch
        ),
    )  # fmt: skip


def life_summaries(result: Assessment) -> tuple[LifeSummary, ...]:
    """How long each zone lasts, the shortest first."""
    return tuple(
        LifeSummary(
            zone=row.zone, cycle=row.cycle, place_mm=row.place, stress=row.what,
            between=(row.first, row.second),
            amplitude_mpa=row.amplitude, mean_mpa=row.mean, cycles_asked=row.asked,
            factor=row.factor, required=row.required, state=row.state,
            months=_finite(row.months), months_middle=_finite(row.months_middle),
            months_tested=row.months_tested,
        )
        for row in result.life
    )  # fmt: skip


def _finite(value: float | None) -> float | None:
    return None if value is None or not math.isfinite(value) else value


def requirements_summary(asked: Requirements) -> RequirementsSummary:
    """What was asked."""
    service = asked.service
    return RequirementsSummary(
        months=service.months,
        strides_per_day=service.strides_per_day,
        stair_strides_per_day=service.stair_strides_per_day,
        stumbles_per_day=service.stumbles_per_day,
        standing_hours_per_day=service.standing_hours_per_day,
        numbers_from_memory="allow" if asked.allow_memory else "forbid",
    )

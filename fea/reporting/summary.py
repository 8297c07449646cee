# SPDX-License-Identifier: MIT
"""The summary for programs: one documented, versioned schema, as JSON and as CSV."""

import math
from typing import Any, Literal

from pydantic import Field

from fea.assessment import Assessment
from fea.check.check import Check, Horizon
from fea.check.requirements import GIVEN
from fea.check.verdict import grouped
from fea.inputfile import Schema
from fea.judging import AppliedResult
from fea.loadcase.instant import LoadSet
from fea.reporting import verdictsummary as told
from fea.reporting.advising import AdviceSummary, summarise_advice
from fea.reporting.extremesummary import (
    BarSummary,
    BucklingSummary,
    ShellSummary,
    bar_summary,
    buckle_summary,
    shell_summary,
)
from fea.reporting.margin import MarginSummary, summarise_margin
from fea.reporting.refining import STUDY_SOURCES, RefinementSummary, summarise_refinement
from fea.reporting.skinsummary import TouchSummary, touch_summary
from fea.reporting.stepsummary import (
    FlagSummary,
    KneeSummary,
    PeakSummary,
    flag_summary,
    knee_summary,
    peak_summary,
)
from fea.reporting.words import cautions
from fea.sources import cite
from fea.stance import CaseResult, peaks
from fea.study.advice import Advice
from fea.study.margin import Margin
from fea.study.refine import Refinement
from fea.wearer import Wearer

Vector = tuple[float, float, float]


class CheckSummary(Schema):
    """One requirement that was judged."""

    horizon: Horizon = Field(description="the question that the check answers")
    topic: str = Field(description="what is judged, such as strength or ankle stiffness")
    zone: str = Field(description="zone of the device, or empty for the whole device")
    case: str = Field(description="load case that governs")
    place_mm: Vector | None = Field(description="x forward, y to the wearer's left, z up")
    demand: float = Field(description="what the load asks for, in `unit`, `error` included")
    error: float | None = Field(
        description="estimated discretisation error that `demand` contains; null where there is no "
        "estimate, or no such error, as of bars between their nodes"
    )
    capacity: float = Field(description="what the device can give, in `unit`")
    unit: str
    factor: float | None = Field(description="capacity / demand; null where demand is zero")
    required: float = Field(description="factor that must be reached")
    utilisation: float = Field(description="demand * required / capacity; above 1 is not met")
    met: bool
    basis: str = Field(description="how demand and capacity were found")
    sources: tuple[str, ...] = Field(description="keys of `sources`, or citations written out")
    note: str


class NotCheckedSummary(Schema):
    """One thing that could not be judged, never a pass: each topic and reason stands once."""

    topic: str
    because: str
    zones: tuple[str, ...] = Field(description="where")
    horizons: tuple[Horizon, ...] = Field(description="questions left open")


class CaseSummary(Schema):
    """One load case."""

    name: str
    description: str
    percent_of_cycle: float | None
    force_n: Vector = Field(description="ground reaction on the sole, device frame")
    cop_mm: Vector | None = Field(description="centre of pressure, device frame")
    external_dorsiflexing_moment_nm: float = Field(description="by the ground, about the ankle")
    pitch_deg: float = Field(description="of the foot against the floor, heel up")
    carried_by_device_nm: float = Field(description="of the ankle moment")
    carried_by_calf_nm: float
    carried_by_passive_ankle_nm: float
    knee: KneeSummary | None = Field(description="null where the shank angle is not known")
    shin_force_n: float = Field(description="by the device on the shank, backward, without straps")
    ankle_dorsiflexion_deg: float = Field(description="rotation of the shank against the foot")
    max_deflection_mm: float
    strength_utilisation: dict[str, float] = Field(description="by zone; above 1 is not met")


class AppliedSummary(Schema):
    """One load case that is no instant of stance: a push on the device, or a toe bend."""

    name: str
    description: str
    percent_of_cycle: float | None
    ankle_dorsiflexion_deg: float = Field(description="rotation of the foot against the shank")
    max_deflection_mm: float
    strength_utilisation: dict[str, float] = Field(description="by zone; above 1 is not met")


class MeasureSummary(Schema):
    """One measure of the wearer."""

    value: float
    unit: str
    estimated: bool
    source: str
    note: str


class WearerSummary(Schema):
    """For whom the device was judged."""

    name: str
    side: Literal["left", "right"]
    mass_kg: float
    height_mm: float
    measures: dict[str, MeasureSummary]


class DeviceSummary(Schema):
    """What was judged."""

    name: str
    title: str
    side: Literal["left", "right"]
    mass_kg: float
    origin: str
    notes: tuple[str, ...]


class LoadSetSummary(Schema):
    """Under which loads it was judged."""

    name: str
    title: str


class Summary(Schema):
    """Everything that was decided, without the fields."""

    schema_version: Literal["1.7"] = "1.7"
    verdict: Literal["met", "not met", "not fully checked"]
    verdict_sentence: str
    outlooks: tuple[told.OutlookSummary, ...] = Field(description="the answer to each question")
    governing: tuple[told.GoverningSummary, ...] = Field(description="the worst three checks")
    advice: AdviceSummary | None = Field(description="what to change first; null without it")
    bench_work: told.BenchWorkSummary
    requirements: told.RequirementsSummary
    life: tuple[told.LifeSummary, ...] = Field(description="of each zone, the shortest first")
    device: DeviceSummary
    wearer: WearerSummary
    load_set: LoadSetSummary
    fall_set: LoadSetSummary | None = Field(description="of the first fall; null without one")
    checks: tuple[CheckSummary, ...]
    not_checked: tuple[NotCheckedSummary, ...] = Field(
        description="as counted in `verdict_sentence`"
    )
    cases: tuple[CaseSummary, ...] = Field(description="cases that the verdict rests on")
    applied: tuple[AppliedSummary, ...] = Field(
        description="cases that the verdict rests on too and that are no instant of stance"
    )
    step_set: LoadSetSummary | None
    step: tuple[CaseSummary, ...] = Field(description="a step through stance, for charts and knee")
    peaks: tuple[PeakSummary, ...] = Field(description="of each zone over `cases` and `applied`")
    step_peaks: tuple[PeakSummary, ...] = Field(description="of each zone over the step")
    screening: tuple[FlagSummary, ...] = Field(description="unknown facts included")
    shells: tuple[ShellSummary, ...]
    bars: tuple[BarSummary, ...]
    buckling: tuple[BucklingSummary, ...]
    touch: TouchSummary
    relative_energy_error: dict[str, float] = Field(
        description="by load case: energy norm of the error of the shells' cell means over that "
        "of the solution"
    )
    refinement: RefinementSummary | None = Field(
        description="study on finer meshes; null where none was made"
    )
    margin: MarginSummary | None = Field(
        description="largest body mass and sensitivity; null where not asked for"
    )
    assumptions: tuple[str, ...]
    cautions: tuple[str, ...]
    sources: dict[str, str] = Field(description="source key to citation")
    provenance: dict[str, Any] = Field(description="what is needed to make this result again")


def summarise(
    result: Assessment, refinement: Refinement | None = None, margin: Margin | None = None,
    advice: Advice | None = None,
) -> Summary:
    """The summary of an assessment, and of the studies that were made of it."""
    return Summary(
        verdict=result.verdict,
        verdict_sentence=result.verdict_sentence,
        outlooks=told.outlook_summaries(result),
        governing=told.governing_summaries(result),
        advice=summarise_advice(advice) if advice else None,
        bench_work=told.bench_work_summary(result, advice),
        requirements=told.requirements_summary(result.requirements),
        life=told.life_summaries(result),
        device=device_summary(result),
        wearer=wearer_summary(result.wearer),
        load_set=load_set_summary(result.load_set),
        fall_set=load_set_summary(result.fall_set) if result.fall_set else None,
        checks=tuple(check_summary(check) for check in result.checks),
        not_checked=_not_checked(result),
        cases=tuple(_case(case) for case in result.cases),
        applied=tuple(_applied(case) for case in result.applied),
        step_set=load_set_summary(result.step_set) if result.step_set else None,
        step=tuple(_case(case) for case in result.step),
        peaks=tuple(peak_summary(peak) for peak in peaks(result.every_case)),
        step_peaks=tuple(peak_summary(peak) for peak in peaks(result.step)),
        screening=tuple(flag_summary(flag) for flag in result.wearer.clinical.flags),
        shells=tuple(shell_summary(item) for item in result.zones),
        bars=tuple(bar_summary(item) for item in result.bars),
        buckling=tuple(buckle_summary(item) for item in result.buckles),
        touch=touch_summary(result),
        relative_energy_error=dict(result.energy_error),
        refinement=summarise_refinement(refinement) if refinement else None,
        margin=summarise_margin(margin) if margin else None,
        assumptions=result.assumptions,
        cautions=cautions(result.load_set),
        sources=cited(result, refinement),
        provenance=plain_values(result.provenance),
    )


def _not_checked(result: Assessment) -> tuple[NotCheckedSummary, ...]:
    return tuple(
        NotCheckedSummary(topic=gap.topic, because=gap.because, zones=gap.zones,
                          horizons=gap.horizons)
        for gap in grouped(result.not_checked)
    )  # fmt: skip


def summary_json(
    result: Assessment, refinement: Refinement | None = None, margin: Margin | None = None,
    advice: Advice | None = None,
) -> str:
    """The summary as JSON text."""
    return summarise(result, refinement, margin, advice).model_dump_json(indent=2) + "\n"


def cited(result: Assessment, refinement: Refinement | None = None) -> dict[str, str]:
    """Source key to citation, sorted, of all that the report rests on."""
    keys = {key for check in result.checks for key in check.sources}
    keys |= {item.source for item in result.wearer.measures.values() if item.estimated}
    keys |= {key for flag in result.wearer.clinical.flags for key in flag.sources}
    for load_set in filter(None, (result.load_set, result.fall_set, result.step_set)):
        keys |= {item.source for case in load_set.cases for item in case.provenance.values()}
    keys |= set(STUDY_SOURCES if refinement else ()) | {"kirsch-1898"}  # of where not to drill
    asked = result.requirements.service.origins.values()
    keys |= {item.source for item in asked} - {GIVEN}
    return {key: cite(key) for key in sorted(keys)}


def plain_values(value: Any) -> Any:
    """Mappings, sequences and array scalars as what JSON knows."""
    if hasattr(value, "items"):
        return {str(key): plain_values(item) for key, item in value.items()}
    if hasattr(value, "tolist"):
        return plain_values(value.tolist())
    if isinstance(value, (list, tuple)):
        return [plain_values(item) for item in value]
    if isinstance(value, float) and not math.isfinite(value):
        return None
    return value if isinstance(value, (str, int, float, bool, type(None))) else str(value)


def check_summary(check: Check) -> CheckSummary:
    """One check for programs."""
    return CheckSummary(
        horizon=check.horizon,
        topic=check.topic, zone=check.zone, case=check.case, place_mm=_vector(check.place),
        demand=check.demand, error=check.error, capacity=check.capacity, unit=check.unit,
        factor=check.factor if math.isfinite(check.factor) else None, required=check.required,
        utilisation=check.utilisation, met=check.met, basis=check.basis,
        sources=tuple(check.sources), note=check.remarks,
    )


def device_summary(result: Assessment) -> DeviceSummary:
    """What was judged."""
    device = result.device
    return DeviceSummary(
        name=device.name, title=device.title, side=device.side, mass_kg=result.device_mass_kg,
        origin=device.origin, notes=device.notes,
    )


def wearer_summary(wearer: Wearer) -> WearerSummary:
    """For whom."""
    return WearerSummary(
        name=wearer.name, side=wearer.side, mass_kg=wearer.mass_kg, height_mm=wearer.height_mm,
        measures={name: _measure(item) for name, item in wearer.measures.items()},
    )


def load_set_summary(load_set: LoadSet) -> LoadSetSummary:
    """Under which loads."""
    return LoadSetSummary(name=load_set.name, title=load_set.title)


def _case(case: CaseResult) -> CaseSummary:
    return CaseSummary(
        name=case.name, description=case.title, percent_of_cycle=case.percent,
        force_n=_vector(case.force), cop_mm=_vector(case.cop),
        external_dorsiflexing_moment_nm=case.dorsiflexing_moment / 1000.0,
        pitch_deg=math.degrees(case.pitch),
        carried_by_device_nm=case.ankle.by_device / 1000.0,
        carried_by_calf_nm=case.ankle.by_calf / 1000.0,
        carried_by_passive_ankle_nm=case.ankle.by_ankle / 1000.0,
        knee=knee_summary(case.knee) if case.knee else None, shin_force_n=case.shin_force,
        ankle_dorsiflexion_deg=math.degrees(case.ankle_rotation),
        max_deflection_mm=case.max_deflection, strength_utilisation=dict(case.utilisation),
    )


def _applied(case: AppliedResult) -> AppliedSummary:
    return AppliedSummary(
        name=case.name, description=case.title, percent_of_cycle=case.percent,
        ankle_dorsiflexion_deg=math.degrees(case.ankle_rotation),
        max_deflection_mm=case.max_deflection, strength_utilisation=dict(case.utilisation),
    )


def _measure(item: Any) -> MeasureSummary:
    return MeasureSummary(value=item.value, unit=item.unit, estimated=item.estimated,
                          source=item.source, note=item.note)


def _vector(values: Any) -> Any:
    return None if values is None else tuple(float(value) for value in values)

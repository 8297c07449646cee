# SPDX-License-Identifier: MIT
"""The chance of failure in files: one page for people, JSON and CSV for programs."""

import csv
import io
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from pydantic import Field

from fea.check.check import Check, Horizon
from fea.check.requirements import Origin
from fea.check.verdict import HORIZONS, WHEN, grouped
from fea.check.wording import factor_texts, percent_text
from fea.inputfile import Schema
from fea.outputfile import write_together
from fea.reporting.advising import FEW, check_words
from fea.reporting.answers import gaps_table
from fea.reporting.evidence import Part
from fea.reporting.page import filled, provenance_table
from fea.reporting.summary import (
    DeviceSummary,
    WearerSummary,
    cited,
    device_summary,
    wearer_summary,
)
from fea.reporting.table import Table, table
from fea.reporting.words import cautions, counted, listed, plain, standing
from fea.sources import cite
from fea.study.chance import NOT_ESTIMATED, Chance, Chances, chance_text, most_by, sampled_text
from fea.study.sampling import CONFIDENCE

SOURCES = ("mckay-1979", "shigley-2011", "stein-1987", "student-1908")
NAMES = {
    "body_weight": "body weight", "load": "load", "wall": "wall", "modulus": "modulus",
    "strength": "strength",
}  # fmt: skip
HOW = (
    "To first order: each quantity scatters lognormally about the number that was judged, and the "
    "logarithm of a factor follows from it by the sensitivities of the check, so that factor and "
    "limit interfere in closed form (shigley-2011). Walls that run into each other where a check "
    "governs scatter as one, other walls and each material by themselves.",
    "Sampled: the case of the check is solved anew for walls and moduli drawn from a Latin "
    "hypercube (mckay-1979, stein-1987), and all places of the zone are judged. The interval is "
    "Student’s for a mean (student-1908), of the samples alone. Where it leaves out what the first "
    "order says, trust the samples: another place governs as walls vary.",
    "These are chances under the loads that were judged, of the device as it was judged, and for "
    "the scatter that is stated: they hold nothing of the doubts of the model, of slips, and of "
    "loads beyond the load set. A chance is not a promise. Strength scatters about the number that "
    "the check counted on, which is often a low end, and “required” holds partial factors that "
    "cover part of the same scatter: to fall below it is no failure yet; to fall below 1 is.",
)


class ScatterSummary(Schema):
    """How much one quantity scatters."""

    quantity: str
    variation: float = Field(description="standard deviation over mean")
    source: str
    status: str
    note: str


class SampledSummary(Schema):
    """What sampling says."""

    below_1: float
    below_1_interval: tuple[float, float] = Field(description="of `confidence`")
    below_required: float
    below_required_interval: tuple[float, float]
    samples: int


class ChanceSummary(Schema):
    """The chance that one requirement fails."""

    horizon: Horizon
    topic: str
    zone: str
    case: str
    factor: float
    required: float
    below_1: float = Field(description="chance that the factor falls below 1, to first order")
    below_required: float = Field(description="that it falls below the required one")
    deviation: float = Field(description="standard deviation of the logarithm of the factor")
    shares: dict[str, float] = Field(description="of the variance, by quantity")
    sampled: SampledSummary | None
    not_sampled: str = Field(description="why it could not be; empty where it was not asked for")


class NoChanceSummary(Schema):
    """A requirement whose chance is not estimated; that is not a chance of nil."""

    topic: str
    zones: tuple[str, ...]
    horizons: tuple[Horizon, ...]
    because: str
    checked: bool = Field(description="whether there is at least a check of it")


class AnySummary(Schema):
    """Least and greatest chance that any estimated requirement of one question fails."""

    horizon: Horizon = Field(description="of a first fall, for the case that it comes")
    below_1: tuple[float, float]
    below_required: tuple[float, float]
    requirements: int


class ChanceFile(Schema):
    """Everything in chance.json."""

    schema_version: Literal["1.0"] = "1.0"
    device: DeviceSummary
    wearer: WearerSummary
    load_set: str
    scatter: tuple[ScatterSummary, ...]
    confidence: float = Field(description="of the intervals")
    seed: int
    any: tuple[AnySummary, ...] = Field(description="of each question that has chances")
    chances: tuple[ChanceSummary, ...] = Field(description="the likeliest first")
    not_estimated: tuple[NoChanceSummary, ...]
    sources: dict[str, str]


@dataclass(frozen=True, eq=False)
class ChanceReport:
    """What is written.

    Attributes:
        found: the chances;  origins: of each scatter;  seed: of the samples.
    """

    found: Chances
    origins: Mapping[str, Origin]
    seed: int


@dataclass(frozen=True)
class ChancePage:
    """What the template shows."""

    title: str
    facts: tuple[tuple[str, str], ...]
    sentences: tuple[str, ...]
    verdict: str
    parts: tuple[Part, ...]
    assumptions: tuple[str, ...]
    cautions: tuple[str, ...]
    sources: tuple[tuple[str, str], ...]
    provenance: Table
    made_notes: tuple[str, ...]
    kind: str = "Floor-reaction orthosis: chance of failure"
    contents: tuple[tuple[str, str], ...] = (
        ("chances", "In numbers"), ("assumptions", "Assumptions"), ("cautions", "Cautions"),
        ("sources", "Sources"), ("made", "How this was made"),
    )  # fmt: skip


@dataclass(frozen=True)
class ChancePaths:
    """Where the files lie."""

    html: Path
    json: Path
    csv: Path


def write_chances(result: ChanceReport, out: str | Path) -> ChancePaths:
    """Write chance.html (one file, opens without a network), chance.json and chance.csv.

    Args:
        result: what is written;  out: folder, made if missing.

    Raises:
        FileError: the folder or a file cannot be written; all files are written whole, or none.
    """
    contents = {
        "html": filled("chance.html", chance_page(result), {}),
        "json": summarise_chances(result).model_dump_json(indent=2) + "\n",
        "csv": chances_csv(result),
    }
    return ChancePaths(*write_together(out, "chance", contents))


def summarise_chances(result: ChanceReport) -> ChanceFile:
    """The chances for programs."""
    found, judged = result.found, result.found.result
    return ChanceFile(
        device=device_summary(judged), wearer=wearer_summary(judged.wearer),
        load_set=judged.load_set.title,
        scatter=tuple(
            ScatterSummary(quantity=NAMES[name], variation=getattr(found.scatter, name),
                           source=origin.source, status=origin.status, note=origin.note)
            for name, origin in result.origins.items()
        ),
        confidence=CONFIDENCE, seed=result.seed, any=tuple(_any(found)),
        chances=tuple(map(_chance, found.chances)),
        not_estimated=_not_estimated(found), sources={key: cite(key) for key in SOURCES},
    )  # fmt: skip


def _any(found: Chances) -> Iterator[AnySummary]:
    for horizon in HORIZONS:
        one = found.any_of(horizon)
        if one is not None:
            yield AnySummary(horizon=horizon, below_1=one.breaks, below_required=one.misses,
                             requirements=one.count)  # fmt: skip


def _chance(one: Chance) -> ChanceSummary:
    check, sampled = one.check, one.sampled
    return ChanceSummary(
        horizon=check.horizon, topic=check.topic, zone=check.zone, case=check.case,
        factor=check.factor, required=check.required, below_1=one.breaks,
        below_required=one.misses, deviation=one.deviation, shares=dict(one.shares),
        sampled=None if sampled is None else SampledSummary(
            below_1=sampled.breaks, below_1_interval=sampled.breaks_band,
            below_required=sampled.misses, below_required_interval=sampled.misses_band,
            samples=sampled.count,
        ),
        not_sampled=one.unsampled,
    )  # fmt: skip


def _not_estimated(found: Chances) -> tuple[NoChanceSummary, ...]:
    checks = [
        NoChanceSummary(topic=check.topic, zones=(check.zone,), horizons=(check.horizon,),
                        because=why, checked=True)
        for check, why in found.missing
    ]  # fmt: skip
    gaps = [
        NoChanceSummary(topic=gap.topic, zones=gap.zones, horizons=gap.horizons,
                        because=gap.because, checked=False)
        for gap in grouped(found.result.not_checked)
    ]  # fmt: skip
    return (*checks, *gaps)


def chances_csv(result: ChanceReport) -> str:
    """One line for each requirement; what is not estimated has no number."""
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow([
        "state", "horizon", "topic", "zone", "case", "factor", "required", "below_1",
        "below_required", "sampled_below_1", "sampled_below_1_low", "sampled_below_1_high",
        "sampled_below_required", "sampled_below_required_low", "sampled_below_required_high",
        "samples", "because",
    ])  # fmt: skip
    for one in map(_chance, result.found.chances):
        sampled: list[object] = [""] * 7
        if one.sampled is not None:
            each = one.sampled
            sampled = [each.below_1, *each.below_1_interval, each.below_required,
                       *each.below_required_interval, each.samples]  # fmt: skip
        writer.writerow(["estimated", one.horizon, one.topic, one.zone, one.case, one.factor,
                         one.required, one.below_1, one.below_required, *sampled,
                         one.not_sampled])  # fmt: skip
    for gap in _not_estimated(result.found):
        writer.writerow([NOT_ESTIMATED, "; ".join(gap.horizons), gap.topic, "; ".join(gap.zones),
                         *[""] * 12, gap.because])  # fmt: skip
    return stream.getvalue()


def scatter_table(result: ChanceReport) -> Table:
    """How much each quantity scatters, and from where that is known."""
    rows = [
        (NAMES[name], f"{100.0 * getattr(result.found.scatter, name):.3g} %",
         standing(origin.status), origin.source, origin.note or None)
        for name, origin in result.origins.items()
    ]  # fmt: skip
    return table("How each quantity scatters: standard deviation over mean.",
                 ["quantity", ">scatter", "standing", "source", "note"], rows)  # fmt: skip


def chance_page(result: ChanceReport) -> ChancePage:
    """Everything on the page."""
    judged = result.found.result
    wearer = judged.wearer
    parts = [
        Part("Each requirement", tables=(_chances_table(result.found),)),
        Part("Not estimated", (
            "What stands here has no chance in the table above. That is not a small chance: "
            "nothing is known of it.",), tables=(_missing_table(result.found),
                                                 gaps_table(judged))),
        Part("What scatters", tables=(scatter_table(result),)),
        Part("How it was found", HOW),
    ]  # fmt: skip
    return ChancePage(
        title=judged.device.title.strip() or judged.device.name,
        facts=(
            ("Wearer", f"{wearer.mass_kg:g} kg, {wearer.height_mm:g} mm tall"),
            ("Device", f"{judged.device.name}, {judged.device.side} leg"),
            ("Loads", judged.load_set.title),
        ),
        sentences=chance_sentences(result.found), verdict=judged.verdict_sentence,
        parts=tuple(parts),
        assumptions=judged.assumptions,
        cautions=cautions(judged.load_set),
        sources=tuple({**cited(judged), **{key: cite(key) for key in SOURCES}}.items()),
        provenance=provenance_table(judged),
        made_notes=(f"Samples were drawn with the seed {result.seed}.",),
    )  # fmt: skip


def chance_sentences(found: Chances) -> tuple[str, ...]:
    """The chance that any requirement of a question fails, and what none is estimated of."""
    each = list(_any(found))
    lines = [
        f"{WHEN[one.horizon].capitalize()}{', if it comes' * (one.horizon == 'first fall')}, some "
        f"factor below 1: {_range_text(one.below_1)}; some factor below what is required: "
        f"{_range_text(one.below_required)}; of {counted(one.requirements, 'requirement')}."
        for one in each
    ]
    if any(one.requirements > 1 for one in each):
        lines.append("The lower chance holds if all of them fail together, the higher if only ever "
                     "one at a time.")  # fmt: skip
    failed = [check for check, _ in found.missing if not check.met]
    named = f", {len(failed)} of them not met as judged ({_named(failed)})" if failed else ""
    gaps = counted(len(grouped(found.result.not_checked)), "thing")
    lines.append(f"{NOT_ESTIMATED.capitalize()}, and not safe for that: "
                 f"{counted(len(found.missing), 'check')}{named}, and {gaps} that could not be "
                 "checked.")  # fmt: skip
    return tuple(lines)


def _range_text(chances: tuple[float, float]) -> str:
    return " to ".join(dict.fromkeys(map(chance_text, chances)))


def _named(checks: Sequence[Check]) -> str:
    names = [f"{check_words(one)} {percent_text(one.utilisation)}" for one in checks[:FEW]]
    more = len(checks) - len(names)
    return listed(names) + (f", and {more} more" if more else "")


def _chances_table(found: Chances) -> Table:
    rows = [
        (check_words(one.check),
         " / ".join(factor_texts(one.check.factor, one.check.required)), chance_text(one.breaks),
         chance_text(one.misses), sampled_text(one), most_by(one))
        for one in found.chances
    ]  # fmt: skip
    low = [k for k, one in enumerate(found.chances) if not one.check.met]
    return table("Chance that the factor falls below 1, and below what is required; behind a "
                 f"sampled chance its interval of {100.0 * CONFIDENCE:.0f} %. Bold: not met as "
                 "judged.",
                 ["requirement", ">factor / required", "below 1", "below required",
                  "below required, sampled", "scatters most by"], rows, strong=low)  # fmt: skip


def _missing_table(found: Chances) -> Table:
    whys: dict[tuple[str, str], list[str]] = {}
    for check, why in found.missing:
        zones = whys.setdefault((check.topic, why), [])
        if plain(check.zone) not in zones:
            zones.append(plain(check.zone))
    rows = [(topic, listed(zones), why) for (topic, why), zones in whys.items()]
    return table("Checked, but without a chance.", ["topic", "where", "because"], rows)

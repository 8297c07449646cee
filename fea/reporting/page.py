# SPDX-License-Identifier: MIT
"""The page for people: one HTML file without network, script or further files."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined

from fea.assessment import Assessment
from fea.check.check import LOCAL_PEAK, Check
from fea.check.wording import factor_texts, percent_text, quantity_text
from fea.reporting.evidence import Part, evidence
from fea.reporting.figures import Figures
from fea.reporting.margin import margin_figure, margin_part
from fea.reporting.refining import refinement_figure, refinement_part
from fea.reporting.step import screening_table, step_parts
from fea.reporting.summary import cited
from fea.reporting.table import Table, table
from fea.reporting.words import (
    MARKS,
    VERDICT_MARKS,
    VERDICT_WORDS,
    cautions,
    counted,
    listed,
    place_text,
    plain,
)
from fea.study.margin import Margin
from fea.study.refine import Refinement

TEMPLATES = Path(__file__).with_name("templates")


@dataclass(frozen=True)
class Page:
    """What the template shows, in reading order; every number is rounded already."""

    title: str
    facts: tuple[tuple[str, str], ...]
    verdict_mark: str
    verdict_words: str
    verdict_sentence: str
    plainly: tuple[str, ...]
    step: tuple[Part, ...]
    checks_note: str
    checks: Table
    not_checked: Table
    screening: Table
    evidence: tuple[Part, ...]
    assumptions: tuple[str, ...]
    cautions: tuple[str, ...]
    sources: tuple[tuple[str, str], ...]
    provenance: Table
    made_notes: tuple[str, ...]
    step_title: str = "Through the step"

    @property
    def contents(self) -> tuple[tuple[str, str], ...]:
        """Key and title of each section."""
        return (
            ("picture", "Where it works hardest"), ("movement", "How far it moves"),
            ("step", self.step_title), ("checks", "Checks"),
            ("prescriber", "For the prescriber"), ("evidence", "Evidence"),
            ("assumptions", "Assumptions"), ("cautions", "Cautions"), ("sources", "Sources"),
            ("made", "How this report was made"),
        )


def page_html(
    result: Assessment,
    drawn: Figures,
    refinement: Refinement | None = None,
    margin: Margin | None = None,
) -> str:
    """The report as HTML text."""
    environment = Environment(
        loader=FileSystemLoader(TEMPLATES), autoescape=True, undefined=StrictUndefined,
        trim_blocks=True, lstrip_blocks=True, keep_trailing_newline=True,
    )
    style = (TEMPLATES / "report.css").read_text(encoding="utf-8").strip()
    template = environment.get_template("report.html")
    charts = [refinement_figure(refinement) if refinement else None,
              margin_figure(margin) if margin else None]
    figures = {**drawn.figures, **{chart.key: chart for chart in charts if chart}}
    page = build_page(result, drawn.note, refinement, margin)
    return template.render(page=page, figures=figures, style=style)


def build_page(
    result: Assessment,
    drawing_note: str = "",
    refinement: Refinement | None = None,
    margin: Margin | None = None,
) -> Page:
    """Everything on the page but the figures."""
    return Page(
        title=result.device.title,
        facts=_facts(result),
        verdict_mark=VERDICT_MARKS[result.verdict],
        verdict_words=VERDICT_WORDS[result.verdict],
        verdict_sentence=result.verdict_sentence,
        plainly=plainly(result),
        step=step_parts(result),
        checks_note=(
            "Demand: the upper end of what is asked; of it, error: the part that is the estimated "
            "error of the mesh. "
            "Factor: what the device can bear over what is asked of it; it must reach the required "
            "factor. Utilisation: the share of what is allowed that is used; above 100 % is too "
            "much. Factors are rounded down and utilisations up. The hardest case of each "
            "requirement is shown."),
        checks=_checks_table(result),
        not_checked=_not_checked_table(result),
        screening=screening_table(result),
        evidence=_with_studies(evidence(result), refinement, margin),
        assumptions=result.assumptions,
        cautions=cautions(result.load_set),
        sources=tuple(cited(result, refinement).items()),
        provenance=table("What is needed to make this report again.", ["item", "value"],
                         _flat({key: value for key, value in result.provenance.items()
                                if key != "gates"})),
        made_notes=(drawing_note,) if drawing_note else (),
        step_title="Through the step" if result.step else "Case by case",
    )


def _with_studies(
    parts: tuple[Part, ...], refinement: Refinement | None, margin: Margin | None
) -> tuple[Part, ...]:
    """The evidence: the largest body mass, the mesh, its study, and the rest."""
    mass = [margin_part(margin)] if margin else []
    study = [refinement_part(refinement)] if refinement else []
    return (*mass, *parts[:1], *study, *parts[1:])


def plainly(result: Assessment) -> tuple[str, ...]:
    """The verdict taken apart in short sentences: how many, which ones, what comes next."""
    met = [check for check in result.checks if check.met]
    failed = sorted((c for c in result.checks if not c.met), key=lambda c: -c.utilisation)
    judged = ", ".join([f"{len(met)} met", *([f"{len(failed)} not met"] if failed else [])])
    lines = [f"{counted(len(result.checks), 'requirement')} judged: {judged}. "
             f"{len(result.not_checked) or 'None'} could not be judged."]
    lines += [f"Not met: {check_sentence(check, result.device.side)}" for check in failed[:3]]
    if len(failed) > 3:
        more = len(failed) - 3
        lines.append(f"{more} more {'is' if more == 1 else 'are'} not met; see Checks.")
    if not failed and met:
        nearest = max(met, key=lambda check: check.utilisation)
        lines.append(f"Nearest to its limit: {check_sentence(nearest, result.device.side)}")
    return tuple(lines)


def check_sentence(check: Check, side: str) -> str:
    """One check in a sentence."""
    factor, required = factor_texts(check.factor, check.required)
    where = f", {place_text(check.place, side)}" if check.place is not None else ""
    what = plain(check.topic)
    if check.zone not in ("", "device"):
        what += f" of the {plain(check.zone)}"
    return (f"{what} has a factor of {factor} where {required} is "
            f"required (case {check.case}{where}).")


def _facts(result: Assessment) -> tuple[tuple[str, str], ...]:
    wearer, device = result.wearer, result.device
    name = f"{wearer.name}, " if wearer.name else ""
    deflection = max((case.max_deflection for case in result.every_case), default=0.0)
    return (
        ("Wearer", f"{name}{wearer.mass_kg:g} kg, {wearer.height_mm:g} mm tall"),
        ("Device", f"{device.name}, {device.side} leg, {1000.0 * result.device_mass_kg:.0f} g"),
        ("Loads", result.load_set.title),
        ("Largest turn of the ankle", _turn_words(result)),
        ("Largest deflection", f"{deflection:.1f} mm"),
    )


def _turn_words(result: Assessment) -> str:
    turning = result.turning
    if not turning.case:
        return "not looked at: no case turns it"
    usual = f"{math.degrees(abs(turning.usual)):.1f}°"
    if turning.soft is None:
        return usual
    return f"{usual} as new and cool, {math.degrees(abs(turning.soft)):.1f}° warm on soft flesh"


def _checks_table(result: Assessment) -> Table:
    checks = sorted(result.checks, key=lambda check: -check.utilisation)
    left_out: dict[str, list[str]] = {}
    for item in result.not_checked:
        if item.topic == LOCAL_PEAK:
            left_out.setdefault(item.zone, []).append(item.because)
    rows, details = [], []
    for check in checks:
        factor, required = factor_texts(check.factor, check.required)
        rows.append((
            _requirement(check.topic, check.zone), MARKS[check.met],
            _amount(check.demand, check.unit),
            None if check.error is None else _amount(check.error, check.unit),
            _amount(check.capacity, check.unit),
            factor, required,
            percent_text(check.utilisation)))
        reservations = "; ".join(filter(None, [check.remarks, *left_out.get(check.zone, [])]))
        words = [f"Case: {check.case}", check.basis[:1].upper() + check.basis[1:],
                 f"Reservations: {reservations}" if reservations else "",
                 f"Source: {', '.join(check.sources)}" if check.sources else ""]
        details.append(". ".join(word.rstrip(".") for word in words if word) + ".")
    return table(
        "Every requirement that was judged, hardest first.",
        ["requirement", "result", ">demand", ">of it, error", ">capacity", ">factor", ">required",
         ">utilisation"],
        rows, strong=[k for k, check in enumerate(checks) if not check.met], details=details)


def _not_checked_table(result: Assessment) -> Table:
    """What could not be judged; zones with the same topic and reason share a row."""
    zones: dict[tuple[str, str], list[str]] = {}
    for item in result.not_checked:
        zones.setdefault((item.topic, item.because), []).append(plain(item.zone))
    rows = [(plain(topic), because, listed(names)) for (topic, because), names in zones.items()]
    return table("Requirements that could not be judged.", ["requirement", "reason", "of"], rows)


def _amount(value: float, unit: str) -> str:
    return quantity_text(value) if unit == "1" else f"{quantity_text(value)} {unit}"


def _requirement(topic: str, zone: str) -> str:
    return plain(topic) if zone in ("", "device") else f"{plain(topic)}, {plain(zone)}"


def _flat(values: Mapping[str, object], prefix: str = "") -> list[tuple[str, object]]:
    """Nested provenance as rows; nested keys are joined by a comma."""
    rows: list[tuple[str, object]] = []
    for key, value in values.items():
        name = f"{prefix}{plain(str(key))}"
        if isinstance(value, Mapping):
            rows += _flat(value, f"{name}, ")
        else:
            rows.append((name, f"{value:.4g}" if isinstance(value, float) else value))
    return rows

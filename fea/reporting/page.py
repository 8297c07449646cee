# SPDX-License-Identifier: MIT
"""The page for people: one HTML file without network, script or further files."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined

from fea.assessment import Assessment
from fea.reporting.answers import (
    Answer,
    Card,
    answers,
    check_tables,
    gaps_table,
    governing_cards,
)
from fea.reporting.evidence import Part, evidence
from fea.reporting.figures import Figures
from fea.reporting.hardest import hardest_parts
from fea.reporting.lifetable import life_parts
from fea.reporting.margin import margin_figure, margin_part
from fea.reporting.nextsteps import next_steps
from fea.reporting.refining import refinement_figure, refinement_part
from fea.reporting.sketch import Figure
from fea.reporting.step import screening_table, step_parts
from fea.reporting.summary import cited
from fea.reporting.table import Table, table
from fea.reporting.words import VERDICT_MARKS, VERDICT_WORDS, cautions, plain
from fea.study.advice import Advice
from fea.study.margin import Margin
from fea.study.refine import Refinement

CHECKS_NOTE = (
    "Demand: the upper end of what is asked; of it, error: the part that is the estimated error of "
    "the mesh. Factor: what the device can bear over what is asked of it; it must reach the "
    "required factor. Utilisation: the share of what is allowed that is used; above 100 % is too "
    "much. Factors are rounded down and utilisations up. The hardest case of each requirement is "
    "shown.")
TEMPLATES = Path(__file__).with_name("templates")


@dataclass(frozen=True)
class Page:
    """What the template shows, in reading order; every number is rounded already."""

    kind: str
    title: str
    facts: tuple[tuple[str, str], ...]
    verdict_mark: str
    verdict_words: str
    verdict_sentence: str
    answers: tuple[Answer, ...]
    governing: tuple[Card, ...]
    hardest: tuple[Part, ...]
    next_steps: tuple[Part, ...]
    step: tuple[Part, ...]
    checks_note: str
    checks: tuple[Table, ...]
    life: tuple[Part, ...]
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
            ("governing", "What governs"), ("not-checked", "Not checked"),
            ("next", "What to do next"), ("checks", "All checks"),
            ("picture", "Where it works hardest"), ("movement", "How far it moves"),
            ("step", self.step_title), ("prescriber", "For the prescriber"),
            ("evidence", "Evidence"), ("assumptions", "Assumptions"), ("cautions", "Cautions"),
            ("sources", "Sources"), ("made", "How this report was made"),
        )


def page_html(
    result: Assessment,
    drawn: Figures,
    refinement: Refinement | None = None,
    margin: Margin | None = None,
) -> str:
    """The report as HTML text."""
    page = build_page(result, drawn.note, refinement, margin)
    return render_page(page, drawn, refinement, margin)


def render_page(
    page: Page,
    drawn: Figures,
    refinement: Refinement | None = None,
    margin: Margin | None = None,
) -> str:
    """A page as HTML text."""
    charts = [refinement_figure(refinement) if refinement else None,
              margin_figure(margin) if margin else None]
    figures = {**drawn.figures, **{chart.key: chart for chart in charts if chart}}
    return filled("report.html", page, figures)


def filled(template: str, page: object, figures: Mapping[str, Figure]) -> str:
    """A template with its content, its figures and the style of all pages, as HTML text."""
    environment = Environment(
        loader=FileSystemLoader(TEMPLATES), autoescape=True, undefined=StrictUndefined,
        trim_blocks=True, lstrip_blocks=True, keep_trailing_newline=True,
    )
    style = (TEMPLATES / "report.css").read_text(encoding="utf-8").strip()
    return environment.get_template(template).render(page=page, figures=figures, style=style)


def build_page(
    result: Assessment,
    drawing_note: str = "",
    refinement: Refinement | None = None,
    margin: Margin | None = None,
    advice: Advice | None = None,
) -> Page:
    """Everything on the page but the figures."""
    return Page(
        kind="Floor-reaction orthosis: check of strength, life and stiffness",
        title=result.device.title.strip() or result.device.name,
        facts=_facts(result),
        verdict_mark=VERDICT_MARKS[result.verdict],
        verdict_words=VERDICT_WORDS[result.verdict],
        verdict_sentence=result.verdict_sentence,
        answers=answers(result),
        governing=governing_cards(result),
        hardest=hardest_parts(result),
        next_steps=next_steps(result, advice),
        step=step_parts(result),
        checks_note=CHECKS_NOTE,
        checks=check_tables(result),
        life=life_parts(result),
        not_checked=gaps_table(result),
        screening=screening_table(result),
        evidence=_with_studies(evidence(result), refinement, margin),
        assumptions=result.assumptions,
        cautions=cautions(result.load_set),
        sources=tuple(cited(result, refinement).items()),
        provenance=provenance_table(result),
        made_notes=(drawing_note,) if drawing_note else (),
        step_title="Through the step" if result.step else "Case by case",
    )


def provenance_table(result: Assessment) -> Table:
    """What a result was made from and with."""
    made = {key: value for key, value in result.provenance.items() if key != "gates"}
    return table("What is needed to make this report again.", ["item", "value"], flat(made))


def _with_studies(
    parts: tuple[Part, ...], refinement: Refinement | None, margin: Margin | None
) -> tuple[Part, ...]:
    """The evidence: the largest body mass, the mesh, its study, and the rest."""
    mass = [margin_part(margin)] if margin else []
    study = [refinement_part(refinement)] if refinement else []
    return (*mass, *parts[:1], *study, *parts[1:])


def _facts(result: Assessment) -> tuple[tuple[str, str], ...]:
    wearer, device = result.wearer, result.device
    name = f"{wearer.name}, " if wearer.name else ""
    deflection = max((case.max_deflection for case in result.every_case), default=0.0)
    return (
        ("Wearer", f"{name}{wearer.mass_kg:g} kg, {wearer.height_mm:g} mm tall"),
        ("Device", f"{device.name}, {device.side} leg, {1000.0 * result.device_mass_kg:.0f} g"),
        ("Loads", result.load_set.title),
        ("Largest turn of the ankle in a day", _turn_words(result)),
        ("Largest deflection", f"{deflection:.1f} mm"),
    )


def _turn_words(result: Assessment) -> str:
    turning = result.turning
    if not turning.case:
        return "not looked at: no case turns it"
    usual = f"{math.degrees(abs(turning.usual)):.1f}°"
    if turning.soft is None:
        return f"{usual} as new and cool, not solved warm; no clinical limit was read"
    warm = f"{math.degrees(abs(turning.soft)):.1f}° warm on soft flesh"
    return f"{usual} as new and cool, {warm}; no clinical limit was read"


def flat(values: Mapping[str, object], prefix: str = "") -> list[tuple[str, object]]:
    """Nested provenance as rows; nested keys are joined by a comma."""
    rows: list[tuple[str, object]] = []
    for key, value in values.items():
        name = f"{prefix}{plain(str(key))}"
        if isinstance(value, Mapping):
            rows += flat(value, f"{name}, ")
        else:
            rows.append((name, f"{value:.4g}" if isinstance(value, float) else value))
    return rows

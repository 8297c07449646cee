# SPDX-License-Identifier: MIT
"""A comparison in files: one page for people, JSON and CSV for programs."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from fea.check.verdict import outlook_words, outlooks
from fea.outputfile import write_together
from fea.reporting.answers import QUESTIONS
from fea.reporting.comparefigures import draw_comparison
from fea.reporting.comparesummary import comparison_csv, summarise_comparison
from fea.reporting.comparetables import (
    check_tables,
    gaps_table,
    judged_lines,
    numbers_table,
    one_sided_table,
    parts_table,
)
from fea.reporting.page import filled, flat
from fea.reporting.summary import cited
from fea.reporting.table import Table, table
from fea.reporting.words import STATE_MARKS, STATE_WORDS, cautions
from fea.study.compare import Comparison

CHECKS_NOTE = (
    "Before and now: demand of capacity; the demand is the upper end of what is asked, with the "
    "error of the mesh in it. Factor: reached / required. Change: of the share of what is allowed "
    "that is used, in percent of what it was, without the errors of the meshes; behind ± stands up "
    "to which change nothing can be told. “No difference” is none that the model can resolve.")


@dataclass(frozen=True)
class Question:
    """One of the three questions, and what each device answers."""

    question: str
    before_mark: str
    before: str
    after_mark: str
    after: str
    words: str


@dataclass(frozen=True)
class ComparePage:
    """What the template shows, in reading order; every number is rounded already."""

    kind: str
    before: str
    after: str
    facts: tuple[tuple[str, str], ...]
    opening: str
    sentence: str
    points: tuple[str, ...]
    answers: tuple[Question, ...]
    numbers: Table
    checks_note: str
    checks: tuple[Table, ...]
    one_sided: Table
    not_checked: Table
    parts: Table
    judged: tuple[str, ...]
    assumptions: tuple[str, ...]
    cautions: tuple[str, ...]
    sources: tuple[tuple[str, str], ...]
    provenance: Table
    made_notes: tuple[str, ...]
    contents: tuple[tuple[str, str], ...] = (
        ("numbers", "In numbers"), ("picture", "Where it works hardest"), ("checks", "All checks"),
        ("not-checked", "Not checked"), ("parts", "What changed"),
        ("judged", "How a change is told"), ("assumptions", "Assumptions"),
        ("cautions", "Cautions"), ("sources", "Sources"), ("made", "How this was made"),
    )  # fmt: skip


@dataclass(frozen=True)
class ComparePaths:
    """Where the files of a comparison lie."""

    html: Path
    json: Path
    csv: Path


def write_comparison(result: Comparison, out: str | Path) -> ComparePaths:
    """Write compare.html (one file, opens without a network), compare.json and compare.csv.

    Args:
        result: of `fea.compare`.
        out: folder, made if missing; a former comparison in it is replaced, other files stay.

    Returns:
        The paths; the schema of compare.json is in reports/compare-schema.json.

    Raises:
        FileError: the folder or a file cannot be written; all files are written whole, or none.
    """
    contents = {
        "html": comparison_html(result),
        "json": summarise_comparison(result).model_dump_json(indent=2) + "\n",
        "csv": comparison_csv(result),
    }
    return ComparePaths(*write_together(out, "compare", contents))


def comparison_html(result: Comparison) -> str:
    """The page as HTML text, pictures included."""
    drawn = draw_comparison(result)
    return filled("compare.html", build_compare_page(result, drawn.note), drawn.figures)


def build_compare_page(result: Comparison, drawing_note: str = "") -> ComparePage:
    """Everything on the page but the figures."""
    before, after = result.before, result.after
    return ComparePage(
        kind="Floor-reaction orthosis: comparison of two devices",
        before=before.device.title,
        after=_heading(before.device.title, after.device.title),
        facts=_facts(result),
        opening=result.opening,
        sentence=_capital(result.sentence.removeprefix(f"{result.opening}: ")),
        points=result.points,
        answers=_answers(result),
        numbers=numbers_table(result),
        checks_note=CHECKS_NOTE,
        checks=check_tables(result),
        one_sided=one_sided_table(result),
        not_checked=gaps_table(result),
        parts=parts_table(result),
        judged=judged_lines(result),
        assumptions=tuple(dict.fromkeys([*before.assumptions, *after.assumptions])),
        cautions=cautions(after.load_set),
        sources=tuple({**cited(before), **cited(after)}.items()),
        provenance=_provenance(result),
        made_notes=(drawing_note,) if drawing_note else (),
    )


def _heading(before: str, after: str) -> str:
    """The title of the second device; of a changed one only what was changed."""
    changed = after.removeprefix(f"{before}; ")
    return _capital(changed) if changed else after


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _facts(result: Comparison) -> tuple[tuple[str, str], ...]:
    before, after = result.before, result.after
    wearer = after.wearer
    name = f"{wearer.name}, " if wearer.name else ""
    grams = [f"{1000.0 * each.mass:.0f} g" for each in result.numbers]
    return (
        ("Wearer", f"{name}{wearer.mass_kg:g} kg, {wearer.height_mm:g} mm tall, {wearer.side} leg"),
        ("Loads", after.load_set.title),
        ("Before", f"{before.device.name}, {grams[0]}"),
        ("Now", f"{after.device.name}, {grams[1]}"),
    )


def _answers(result: Comparison) -> tuple[Question, ...]:
    before, after = (outlooks(each.checks, each.not_checked)
                     for each in (result.before, result.after))  # fmt: skip
    words = outlook_words(after, result.after.where)
    return tuple(
        Question(QUESTIONS[other.horizon], STATE_MARKS[one.state], STATE_WORDS[one.state],
                 STATE_MARKS[other.state], STATE_WORDS[other.state], f"Now: {text}.")
        for one, other, text in zip(before, after, words, strict=True)
    )  # fmt: skip


def _provenance(result: Comparison) -> Table:
    """What both were made from, side by side."""
    sides: list[Mapping[str, object]] = [
        dict(flat({key: value for key, value in each.provenance.items() if key != "gates"}))
        for each in (result.before, result.after)
    ]
    rows = [(name, *(side.get(name) for side in sides)) for name in {**sides[0], **sides[1]}]
    return table("What is needed to make this comparison again.", ["item", "before", "now"], rows)

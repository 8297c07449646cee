# SPDX-License-Identifier: MIT
"""The short report as a tagged PDF, where the extra `pdf` is installed.

The same input gives the same bytes: no date, no fonts but those that the compiler brings along.
"""

import importlib
import importlib.util
import json
import shutil
import tempfile
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from fea.errors import StanchionError
from fea.reporting.answers import Card
from fea.reporting.evidence import Part
from fea.reporting.figures import Figures
from fea.reporting.page import Page
from fea.reporting.sketch import Figure
from fea.reporting.table import Table

TEMPLATE = Path(__file__).with_name("templates") / "report.typ"
HOW_TO_GET = (
    'No report.pdf was written: it needs the extra "pdf" (pip install "stanchion[pdf]").'
)
SHORT = 12  # characters of a cell that is not broken, such as a number with its unit
MORE = "The page report.html beside this file holds the evidence: mesh, gates, loads, materials."


class PdfError(StanchionError):
    """The report cannot be set as a PDF; the message says why, in one sentence for the page."""


def can_write_pdf() -> bool:
    """Whether the extra that writes PDF is installed."""
    return importlib.util.find_spec("typst") is not None


def pdf_bytes(page: Page, figures: Figures) -> bytes:
    """The short report.

    Args:
        page: as for HTML;  figures: drawn for it.

    Raises:
        ModuleNotFoundError: the extra is not installed, see `can_write_pdf`.
        PdfError: it cannot be set, such as a name in a script that the fonts do not have.
    """
    typst: Any = importlib.import_module("typst")
    with tempfile.TemporaryDirectory(prefix="stanchion-") as name:
        folder = Path(name)
        for figure in figures.figures.values():
            (folder / _file(figure)).write_bytes(figure.content)
        data = report_data(page, figures.figures)
        (folder / "data.json").write_text(json.dumps(data, ensure_ascii=False), encoding="utf-8")
        shutil.copyfile(TEMPLATE, folder / "report.typ")
        try:
            made = typst.compile(
                folder / "report.typ", root=folder, format="pdf", ignore_system_fonts=True,
                pdf_standards=["ua-1"],
            )  # fmt: skip
        except typst.TypstError as error:
            raise PdfError(
                f"No report.pdf was written; report.html holds all of it. {error}."
            ) from error
    assert isinstance(made, bytes)
    return made


def report_data(page: Page, figures: Mapping[str, Figure]) -> dict[str, Any]:
    """All that the template shows."""
    sources = dict(page.sources)
    return {
        "kind": page.kind,
        "title": page.title,
        "footer": f"{page.title}: {page.verdict_words}",
        "facts": page.facts,
        "verdict": {"mark": page.verdict_mark, "words": page.verdict_words,
                    "sentence": page.verdict_sentence},
        "answers": [vars(answer) for answer in page.answers],
        "governing": [
            {"heading": f"{k}. {card.heading}", "facts": _facts(card),
             "picture": _picture(figures[card.figure])}
            for k, card in enumerate(page.governing, start=1)
        ],
        "not_checked": _table(page.not_checked),
        "next_steps": [_part(part, figures) for part in page.next_steps],
        "checks_note": page.checks_note,
        "checks": [_table(one) for one in page.checks],
        "cautions": page.cautions,
        "sources": [
            (key, sources[key])
            for key in dict.fromkeys(key for card in page.governing for key in card.sources)
        ],
        "provenance": _table(_lasting(page.provenance)),
        "more": MORE,
    }  # fmt: skip


def _facts(card: Card) -> list[tuple[str, str]]:
    return [
        ("Result", card.result), ("Where", card.place), *card.facts,
        ("Reservations", card.doubts or "none"), ("Sources", ", ".join(card.sources)),
    ]  # fmt: skip


def _part(part: Part, figures: Mapping[str, Figure]) -> dict[str, Any]:
    return {
        "title": part.title,
        "lines": part.lines,
        "pictures": [_picture(figures[key]) for key in part.figures],
        "tables": [_table(one) for one in part.tables],
    }


def _picture(figure: Figure) -> dict[str, str]:
    return {"file": _file(figure), "alt": figure.alt, "caption": figure.caption}


def _file(figure: Figure) -> str:
    return f"{figure.key}.{'svg' if 'svg' in figure.media else 'png'}"


def _lasting(provenance: Table) -> Table:
    """Provenance without how long the run took, which differs each time."""
    return replace(
        provenance, rows=tuple(row for row in provenance.rows if row[0] != "seconds")
    )


def _table(one: Table) -> dict[str, Any]:
    """A table, its columns as wide as their words ask for."""
    cells = zip(*(one.rows or [one.headers]), strict=True)
    return {
        "caption": one.caption,
        "headers": [title for title, _ in one.columns],
        "right": [right for _, right in one.columns],
        "rows": one.rows,
        "strong": sorted(one.strong),
        "widths": [
            _width(title, column)
            for (title, _), column in zip(one.columns, cells, strict=True)
        ],
    }


def _width(title: str, cells: Sequence[str]) -> float:
    """Share of a column: room for its longest word or number, more for long cells, up to an end."""
    words = [word for text in (title, *cells) for word in text.split(" ")]  # others do not break
    whole = [text for text in cells if len(text) <= SHORT]
    widest = max(map(len, [*words, *whole]), default=0)
    mean = sum(map(len, cells)) / max(len(cells), 1)
    return max(widest + 1.0, 0.5 * len(title), min(0.8 * mean, 48.0))

# SPDX-License-Identifier: MIT
"""Write a report: all files are made in a draft folder and moved into place at the end."""

import contextlib
import logging
import os
import re
import shutil
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

from fea.assessment import Assessment
from fea.errors import FileError, InputError, Problem
from fea.reporting.fields import save_fields
from fea.reporting.figures import Figures, draw_figures
from fea.reporting.page import Page, build_page, render_page
from fea.reporting.pdf import HOW_TO_GET, PdfError, can_write_pdf, pdf_bytes
from fea.reporting.step import step_csv
from fea.reporting.summary import summary_json
from fea.reporting.summarycsv import summary_csv
from fea.study.advice import Advice, advice
from fea.study.margin import Margin
from fea.study.refine import Refinement

logger = logging.getLogger(__name__)

STARTED = time.time()  # drafts from before this process are leftovers, later ones another run's
DRAFT = ".report-"
PDF = "report.pdf"
DRAFT_NAME = re.compile(re.escape(DRAFT) + "[a-z0-9_]{8}")


@dataclass(frozen=True)
class ReportPaths:
    """Where the files of a report lie; no `pdf` where it could not be written."""

    html: Path
    json: Path
    csv: Path
    step: Path
    fields: Path
    pdf: Path | None


def report(
    result: Assessment,
    out: str | Path,
    *,
    refinement: Refinement | None = None,
    margin: Margin | None = None,
    progress: Callable[[str], None] = lambda message: None,
) -> ReportPaths:
    """Write the report of an assessment, with what to change first.

    Args:
        result: the assessment.
        out: folder, made if missing; a former report in it is replaced, other files stay.
        refinement: study of the same assessment on finer meshes, if one was made.
        margin: its largest body mass and sensitivity, if they were asked for.
        progress: called with a few words as the work goes on.

    Returns:
        The paths of `report.html` (one file, opens without a network), `report.pdf` (the same in
        short, tagged; with the extra `pdf`, and where its fonts have all
        letters, or else the page says why it is missing), `summary.json` (schema in
        reports/summary-schema.json), `summary.csv`, `step.csv` (the step, one line an instant) and
        `fields.vtu`.

    Raises:
        FileError: the folder or a file cannot be written. Nothing is left half-written: the
            files of a former report stay until all new ones are complete.
    """
    folder = Path(out)
    changes = advice(result, progress=progress)
    _remove_leftovers(folder)  # before the own draft, which coarse file clocks may date too early
    draft = _make_draft(folder)
    try:
        _write_all(result, draft, refinement, margin, changes)
        for made, place in zip(_files(draft), _files(folder), strict=True):
            if made.exists():
                os.replace(made, place)
            else:  # a former one would be of another device
                place.unlink(missing_ok=True)
    except OSError as error:
        problem = Problem("", f"cannot be written to ({error.strerror})")
        raise FileError(folder, [problem]) from error
    finally:
        shutil.rmtree(draft, ignore_errors=True)
    return _paths(folder)


def check_folder(out: str | Path) -> None:
    """Refuse a folder that no report can be written to, before the work for one is done.

    Args:
        out: folder of the report; it is left as it was, and not made.

    Raises:
        InputError: the name is empty.
        FileError: the folder cannot be made or written to, such as a file or a place below one.
    """
    if not str(out).strip():
        raise InputError("the folder for the report has an empty name; name one, such as out/first")
    folder = Path(out)
    made: list[Path] = []
    with contextlib.suppress(OSError):  # what cannot even be asked for is refused when it is made
        made = [place for place in (folder, *folder.parents) if not place.exists()]
    try:
        _make_draft(folder).rmdir()
    finally:
        for place in made:
            with contextlib.suppress(OSError):
                place.rmdir()


def _make_draft(folder: Path) -> Path:
    try:
        folder.mkdir(parents=True, exist_ok=True)
        return Path(tempfile.mkdtemp(prefix=DRAFT, dir=folder))
    except OSError as error:
        in_the_way = isinstance(error, FileExistsError | NotADirectoryError)
        why = "a file stands in its way" if in_the_way else error.strerror
        raise FileError(folder, [Problem("", f"cannot be made ({why}); choose another folder for "
                                         "the report")]) from None


def _remove_leftovers(folder: Path) -> None:
    """Remove drafts that a killed run left: by name, by age, and holding nothing but a report."""
    ours = {path.name for path in _files(folder)}
    with contextlib.suppress(OSError):  # one that cannot be removed does no harm
        for place in folder.glob(f"{DRAFT}*"):
            old = DRAFT_NAME.fullmatch(place.name) and place.stat().st_mtime < STARTED
            if old and not place.is_symlink() and {file.name for file in place.iterdir()} <= ours:
                shutil.rmtree(place)


def _write_all(
    result: Assessment, folder: Path, refinement: Refinement | None, margin: Margin | None,
    changes: Advice,
) -> None:
    figures = draw_figures(result, changes)
    page = build_page(result, figures.note, refinement, margin, changes)
    if missing := _write_pdf(folder / PDF, page, figures):
        page = replace(page, made_notes=(*page.made_notes, missing))
    paths = _paths(folder)
    paths.html.write_text(render_page(page, figures, refinement, margin), encoding="utf-8")
    paths.json.write_text(summary_json(result, refinement, margin, changes), encoding="utf-8")
    paths.csv.write_text(summary_csv(result, refinement, margin), encoding="utf-8")
    paths.step.write_text(step_csv(result), encoding="utf-8")
    save_fields(paths.fields, result)


def _write_pdf(path: Path, page: Page, figures: Figures) -> str:
    """Write the PDF, without which a report is still whole; gives why it is missing, else ""."""
    if not can_write_pdf():
        return HOW_TO_GET
    try:
        path.write_bytes(pdf_bytes(page, figures))
    except PdfError as error:
        logger.warning("%s", error)
        return str(error)
    return ""


def _paths(folder: Path) -> ReportPaths:
    return ReportPaths(folder / "report.html", folder / "summary.json", folder / "summary.csv",
                       folder / "step.csv", folder / "fields.vtu",
                       folder / PDF if (folder / PDF).exists() else None)


def _files(folder: Path) -> tuple[Path, ...]:
    """All files that a report may have."""
    paths = _paths(folder)
    return (paths.json, paths.csv, paths.step, paths.fields, folder / PDF, paths.html)

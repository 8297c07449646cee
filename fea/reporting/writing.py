# SPDX-License-Identifier: MIT
"""Write a report: all files are made in a draft folder and moved into place at the end."""

import os
import shutil
import tempfile
from dataclasses import dataclass
from pathlib import Path

from fea.assessment import Assessment
from fea.errors import FileError, Problem
from fea.reporting.fields import save_fields
from fea.reporting.figures import draw_figures
from fea.reporting.page import page_html
from fea.reporting.summary import summary_csv, summary_json


@dataclass(frozen=True)
class ReportPaths:
    """Where the files of a report lie."""

    html: Path
    json: Path
    csv: Path
    fields: Path


def report(result: Assessment, out: str | Path) -> ReportPaths:
    """Write the report of an assessment.

    Args:
        result: the assessment.
        out: folder, made if missing; a former report in it is replaced, other files stay.

    Returns:
        The paths of `report.html` (one file, opens without a network), `summary.json` (schema in
        reports/summary-schema.json), `summary.csv` and `fields.vtu`.

    Raises:
        FileError: the folder or a file cannot be written. Nothing is left half-written: the
            files of a former report stay until all new ones are complete.
    """
    folder = Path(out)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        draft = Path(tempfile.mkdtemp(prefix=".report-", dir=folder))
    except OSError as error:
        raise FileError(folder, [Problem("", f"cannot be made ({error.strerror}); choose "
                                         "another folder for the report")]) from None
    try:
        _write_all(result, _paths(draft))
        for made, place in zip(_files(draft), _files(folder), strict=True):
            os.replace(made, place)
    except OSError as error:
        problem = Problem("", f"cannot be written to ({error.strerror})")
        raise FileError(folder, [problem]) from error
    finally:
        shutil.rmtree(draft, ignore_errors=True)
    return _paths(folder)


def _write_all(result: Assessment, paths: ReportPaths) -> None:
    paths.html.write_text(page_html(result, draw_figures(result)), encoding="utf-8")
    paths.json.write_text(summary_json(result), encoding="utf-8")
    paths.csv.write_text(summary_csv(result), encoding="utf-8")
    save_fields(paths.fields, result)


def _paths(folder: Path) -> ReportPaths:
    return ReportPaths(folder / "report.html", folder / "summary.json", folder / "summary.csv",
                       folder / "fields.vtu")


def _files(folder: Path) -> tuple[Path, ...]:
    paths = _paths(folder)
    return (paths.json, paths.csv, paths.fields, paths.html)

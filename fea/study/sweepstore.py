# SPDX-License-Identifier: MIT
"""Where the rows of a sweep are kept while it runs, and the tables that are made of them.

The journal is a text file: a first line that says of which plan it is, then one line for each
design, written and synced as soon as it is judged. A process that is killed leaves at most half a
line, which is dropped. Tables are made of the journal and can be made again.
"""

import csv
import importlib
import io
import json
import os
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from types import ModuleType

from fea.errors import FileError, InputError, MissingExtraError, Problem
from fea.outputfile import replacing
from fea.study.sweepplan import Plan
from fea.study.sweeprow import Cell, Row

JOURNAL, CSV, PARQUET = "sweep.jsonl", "sweep.csv", "sweep.parquet"

_KIND = "stanchion sweep"


@dataclass(frozen=True)
class Journal:
    """The rows of one plan in one file. Make it with `Journal.of`."""

    path: Path

    @classmethod
    def of(cls, folder: str | Path, plan: Plan) -> "Journal":
        """The journal of a plan in a folder, begun or gone on with.

        Raises:
            InputError: the folder holds the journal of another plan.
            FileError: it cannot be written, or is no journal.
        """
        path = Path(folder) / JOURNAL
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            if path.exists() and path.stat().st_size:
                _drop_half_line(path)
        except OSError as error:
            raise FileError(path, [Problem("", f"cannot be used ({error.strerror}); choose another "
                                           "folder")]) from None  # fmt: skip
        journal = cls(path)
        if not path.exists() or not path.stat().st_size:
            journal._write({"kind": _KIND, "plan": plan.key, "title": plan.title})
            return journal
        head = journal._lines()[0]
        if head.get("kind") != _KIND:
            what = "is not the journal of a sweep; choose another folder"
            raise FileError(path, [Problem("line 1", what)])
        if head.get("plan") != plan.key:
            kept = len(journal.rows())
            raise InputError(
                f"{path} holds {kept} designs of another plan: since then the plan, a file that it "
                "names or the program has changed. Choose another folder (--out), or delete "
                f"{JOURNAL} to begin anew"
            )
        return journal

    def rows(self) -> dict[int, Row]:
        """Number of a design, from 1, to its row, of all that are finished."""
        return {int(str(row["design"])): row for row in self._lines()[1:]}

    def append(self, row: Row) -> None:
        """Keep a row, whatever happens to the process afterwards."""
        self._write(row)

    def _lines(self) -> list[dict[str, Cell]]:
        lines = []
        for number, text in enumerate(self.path.read_text(encoding="utf-8").splitlines(), 1):
            try:
                lines.append(json.loads(text))
            except json.JSONDecodeError:
                raise FileError(self.path, [Problem(f"line {number}", "cannot be read; remove it, "
                                                    "and its design is judged again")]) from None
        return lines

    def _write(self, value: Mapping[str, Cell]) -> None:
        with self.path.open("a", encoding="utf-8") as stream:
            stream.write(json.dumps(value) + "\n")
            stream.flush()
            os.fsync(stream.fileno())


def _drop_half_line(path: Path) -> None:
    """Cut off what a killed process left behind the last whole line."""
    content = path.read_bytes()
    whole = content.rfind(b"\n") + 1
    if whole < len(content):
        with path.open("r+b") as stream:
            stream.truncate(whole)


def csv_text(columns: Sequence[str], rows: Sequence[Row]) -> str:
    """A table of rows as CSV; a cell that a row has not is empty.

    Example:
        >>> csv_text(["design", "mass_kg"], [{"design": 1, "mass_kg": 0.5}, {"design": 2}])
        'design,mass_kg\\n1,0.5\\n2,\\n'
    """
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(columns)
    writer.writerows([row.get(column) for column in columns] for row in rows)
    return stream.getvalue()


def write_csv(path: Path, columns: Sequence[str], rows: Sequence[Row]) -> None:
    """Write a table as CSV, whole or not at all."""
    with replacing(path) as draft:
        draft.write_text(csv_text(columns, rows), encoding="utf-8")


def write_parquet(path: Path, columns: Sequence[str], rows: Sequence[Row]) -> None:
    """Write a table as parquet, whole or not at all; needs the extra `tables`."""
    frame = frame_of(columns, rows)
    _extra("pyarrow")
    with replacing(path) as draft:
        frame.to_parquet(draft)  # type: ignore[attr-defined]


def frame_of(columns: Sequence[str], rows: Sequence[Row]) -> object:
    """A table as a pandas data frame; needs the extra `tables`."""
    return _extra("pandas").DataFrame([[row.get(c) for c in columns] for row in rows],
                                      columns=list(columns))  # fmt: skip


def require_tables() -> None:
    """Raise `MissingExtraError` where parquet cannot be written."""
    _extra("pandas")
    _extra("pyarrow")


def _extra(name: str) -> ModuleType:
    try:
        return importlib.import_module(name)
    except ImportError:
        raise MissingExtraError(
            f'{name} is not installed; pip install "stanchion[tables]", or take the CSV'
        ) from None

# SPDX-License-Identifier: MIT
"""Where the rows of a sweep are kept while it runs, and the tables that are made of them.

The journal is a text file: a first line that says of which plan it is, then one line for each
design, written and synced as soon as it is judged. A process that is killed leaves at most half a
line, which is dropped. Tables are made of the journal and can be made again. Only one sweep at a
time works in a folder: the system itself lets go of the journal when a process ends, killed or not.
"""

import csv
import importlib
import io
import json
import logging
import os
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from types import ModuleType
from typing import BinaryIO

try:
    import fcntl
except ImportError:  # not on Windows, where nobody is kept from a folder in use
    fcntl = None  # type: ignore[assignment]

from fea.errors import FileError, InputError, MissingExtraError, Problem
from fea.outputfile import replacing
from fea.study.sweepplan import Plan
from fea.study.sweeprow import Cell, Row

JOURNAL, CSV, PARQUET = "sweep.jsonl", "sweep.csv", "sweep.parquet"

_KIND = "stanchion sweep"

_LOG = logging.getLogger(__name__)


@dataclass(frozen=True)
class Journal:
    """The rows of one plan in one file. Make it with `Journal.open`."""

    path: Path

    @classmethod
    @contextmanager
    def open(cls, folder: str | Path, plan: Plan) -> Iterator["Journal"]:
        """The journal of a plan in a folder, begun or gone on with, and kept from other sweeps.

        Raises:
            InputError: the folder holds the journal of another plan, or another sweep works in it.
            FileError: it cannot be written, or is no journal.
        """
        path = Path(folder) / JOURNAL
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            stream = path.open("a+b")
        except OSError as error:
            raise FileError(path, [Problem("", f"cannot be used ({error.strerror}); choose another "
                                           "folder")]) from None  # fmt: skip
        with stream:
            _take(stream, path)
            _drop_half_line(stream)
            yield cls(path)._of(plan)

    def _of(self, plan: Plan) -> "Journal":
        """Itself, headed, if it is the journal of a plan."""
        if not self.path.stat().st_size:
            self._write({"kind": _KIND, "plan": plan.key, "title": plan.title})
            return self
        head = self._lines()[0]
        if head.get("kind") != _KIND:
            what = "is not the journal of a sweep; choose another folder"
            raise FileError(self.path, [Problem("line 1", what)])
        if head.get("plan") != plan.key:
            kept = len(self.rows())
            raise InputError(
                f"{self.path} holds {kept} designs of another plan: since then the plan, a file "
                "that it names or the program has changed. Choose another folder (--out), or "
                f"delete {JOURNAL} to begin anew"
            )
        return self

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


def _take(stream: BinaryIO, path: Path) -> None:
    """Keep other sweeps from a journal until it is closed."""
    if fcntl is None:
        return
    try:
        fcntl.flock(stream, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        raise InputError(f"another sweep works in {path.parent} now; wait for its end, or choose "
                         "another folder (--out)") from None  # fmt: skip
    except OSError as error:  # some network drives keep nobody out
        _LOG.warning("%s cannot be kept from other sweeps (%s)", path.parent, error.strerror)


def _drop_half_line(stream: BinaryIO) -> None:
    """Cut off what a killed process left behind the last whole line."""
    stream.seek(0)
    stream.truncate(stream.read().rfind(b"\n") + 1)


def csv_text(columns: Sequence[str], rows: Sequence[Row]) -> str:
    """A table of rows as CSV; a cell that a row has not is empty.

    Example:
        >>> csv_text(["design", "mass_g"], [{"design": 1, "mass_g": 500.0}, {"design": 2}])
        'design,mass_g\\n1,500.0\\n2,\\n'
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
    cells = {column: _one_kind([row.get(column) for row in rows]) for column in columns}
    return _extra("pandas").DataFrame(cells, columns=list(columns))


def _one_kind(cells: Sequence[Cell]) -> Sequence[Cell]:
    """A column with words in it has all of its numbers as words: a table has one kind a column.

    Example:
        >>> _one_kind([4.0, "thick", None])
        ['4.0', 'thick', None]
    """
    if not any(isinstance(cell, str) for cell in cells):
        return cells
    return [cell if cell is None else str(cell) for cell in cells]


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

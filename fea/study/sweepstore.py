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
from fea.study.sweeprow import FAILED, JUDGED, Cell, Row

JOURNAL, CSV, PARQUET = "sweep.jsonl", "sweep.csv", "sweep.parquet"

_KIND = "stanchion sweep"
_HEAD = json.dumps({"kind": _KIND}).rstrip("}").encode()  # how each journal begins
_NEEDS = {JUDGED: "verdict", FAILED: "reason"}  # cells that a row must have in each state

_LOG = logging.getLogger(__name__)


@dataclass(frozen=True)
class Journal:
    """The rows of one plan in one file. Make it with `Journal.open`."""

    path: Path
    plan: Plan

    @classmethod
    @contextmanager
    def open(cls, folder: str | Path, plan: Plan) -> Iterator["Journal"]:
        """The journal of a plan in a folder, begun or gone on with, and kept from other sweeps.

        Raises:
            InputError: the folder holds the journal of another plan, or another sweep works in it.
            FileError: it cannot be written, or is no journal, which stays as it is.
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
            stream.seek(0)
            content = stream.read()
            whole = content.rfind(b"\n") + 1
            journal = cls(path, plan)
            if whole or not _HEAD.startswith(content[: len(_HEAD)]):
                journal._require_ours(content[:whole].split(b"\n")[:-1])
            stream.truncate(whole)  # what a killed process left behind the last whole line
            if not whole:
                journal._write({"kind": _KIND, "plan": plan.key, "title": plan.title})
            yield journal

    def _require_ours(self, lines: Sequence[bytes]) -> None:
        head = _parsed(lines[0]) if lines else None
        if head is None or head.get("kind") != _KIND:
            raise FileError(self.path, [Problem("", "is not the journal of a sweep; choose another "
                                                "folder (--out)")])  # fmt: skip
        if head.get("plan") != self.plan.key:
            raise InputError(
                f"{self.path} holds {len(lines) - 1} designs of another plan: since then the plan, "
                "a file that it names or the program has changed. Choose another folder (--out), "
                f"or delete {JOURNAL} to begin anew"
            )

    def rows(self) -> dict[int, Row]:
        """Number of a design, from 1, to its row, of all that are finished.

        Raises:
            FileError: lines that are no rows of this plan; all of them are listed.
        """
        found: dict[int, Row] = {}
        problems = []
        for line, content in enumerate(self.path.read_bytes().split(b"\n")[1:-1], 2):
            row = _parsed(content)
            if wrong := self._wrong(row):
                problems.append(Problem(f"line {line}", f"{wrong}; remove the line, and its design "
                                        "is judged again"))  # fmt: skip
            else:
                assert row is not None
                found[int(str(row["design"]))] = row
        if problems:
            raise FileError(self.path, problems)
        return found

    def _wrong(self, row: Row | None) -> str:
        """Why something is no row of this plan; empty where it is one."""
        if row is None:
            return "cannot be read as a row"
        number, most = row.get("design"), len(self.plan.designs)
        if isinstance(number, bool) or not isinstance(number, int) or not 1 <= number <= most:
            told = "no number of a design" if number is None else f"design = {number!r}"
            return f"has {told}; the plan has designs 1 to {most}"
        needed = _NEEDS.get(str(row.get("state")))
        if needed is None or not isinstance(row.get(needed), str):
            return "does not say what came of the design"
        return ""

    def append(self, row: Row) -> None:
        """Keep a row, whatever happens to the process afterwards."""
        self._write(row)

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


def _parsed(line: bytes) -> dict[str, Cell] | None:
    """The content of a line; None where it is no table of cells."""
    try:
        content = json.loads(line.decode("utf-8"))
    except (ValueError, RecursionError):
        return None
    if not isinstance(content, dict):
        return None
    plain = all(isinstance(cell, (str, int, float, bool, type(None))) for cell in content.values())
    return content if plain else None


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

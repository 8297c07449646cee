# SPDX-License-Identifier: MIT
"""The content of a device file with other values, each named by a dotted key.

A key leads through the tables of the file: ``walls.ankle.sheet_mm``. An entry of a list is meant by
its number, counted from 0, or by its name: ``ribs.0.height_mm``, ``straps.calf strap.width_mm``. A
value is what the file would hold there, or ``{ times = 1.2 }`` or ``{ add = 2.0 }`` for a number
that is there already. The file's own schema checks the outcome, so every rule stands in one place.
"""

from collections.abc import Mapping, Sequence
from difflib import SequenceMatcher
from typing import Any, TypeVar

from fea.errors import FileError, Problem
from fea.inputfile import Schema, check_schema

SchemaT = TypeVar("SchemaT", bound=Schema)

Rows = Mapping[str, Sequence[Mapping[str, object]]]
"""Entries to append, by the key of their list."""

_STEPS = ("times", "add")
_INSTEAD = {
    "bars": "; a bar is riveted on with [[bars]]",
    "device": "; leave 'device.' out",
    "zones": "; walls are changed zone by zone with [[zones]]",
}
"""What to do in place of a key that many think of and this file does not have."""


class _WrongKeyError(Exception):
    """A key that leads nowhere, or a number that is not there."""


def changed_content(
    content: SchemaT, name: str, values: Mapping[str, object], added: Rows | None = None
) -> SchemaT:
    """A file's content with other values and more entries in its lists.

    Args:
        content: of the file.
        name: of the device, for messages.
        values: by dotted key.
        added: entries appended to lists of the file, after the values were set.

    Raises:
        FileError: every key that leads nowhere, or what the schema refuses.

    Example:
        >>> class Rib(Schema):
        ...     height_mm: float
        >>> class File(Schema):
        ...     gap_mm: float = 5.0
        ...     ribs: tuple[Rib, ...] = ()
        >>> changed_content(File(), "shell", {"gap_mm": {"add": 1.5}},
        ...                 {"ribs": [{"height_mm": 8.0}]})
        File(gap_mm=6.5, ribs=(Rib(height_mm=8.0),))
        >>> changed_content(File(), "shell", {"gap": 6.0})
        Traceback (most recent call last):
        fea.errors.FileError: shell: gap: there is no 'gap'; the file has here gap_mm, ribs
    """
    given = _opened(content.model_dump(exclude_unset=True, by_alias=True))
    every = _opened(content.model_dump(by_alias=True))
    problems = []
    for key, value in values.items():
        try:
            _set(given, every, key, value)
        except _WrongKeyError as error:
            problems.append(Problem(key, str(error)))
    for key, rows in (added or {}).items():
        if not isinstance(every.get(key), list):
            problems.append(Problem(f"add.{key}", _no_list(key, every)))
            continue
        given[key] = [*given.get(key, ()), *map(dict, rows)]
    if problems:
        raise FileError(name, problems)
    try:
        return check_schema(name, given, type(content))
    except FileError as error:
        raise FileError(name, [_kept(problem, values) for problem in error.problems]) from None


def _kept(problem: Problem, values: Mapping[str, object]) -> Problem:
    """A refusal of a table of which one key was set, with what that leaves in place."""
    if not any(key.startswith(f"{problem.where}.") for key in values if problem.where):
        return problem
    return Problem(problem.where, (
        f"{problem.what}; what else the file has there stays: set the table as a whole, as in "
        f'"{problem.where}" = {{ ... }}, or change walls by [[zones]]'))


def value_at(content: Schema, key: str) -> object:
    """What a file's content holds at a dotted key, defaults included.

    Raises:
        FileError: the key leads nowhere.
    """
    found = _opened(content.model_dump(by_alias=True))
    try:
        for part in key.split("."):
            found = found[_place(found, part)]
    except _WrongKeyError as error:
        raise FileError(type(content).__name__, [Problem(key, str(error))]) from None
    return found


def _opened(value: Any) -> Any:
    """The same with lists in place of tuples, so that entries can be set."""
    if isinstance(value, Mapping):
        return {key: _opened(item) for key, item in value.items()}
    if isinstance(value, (tuple, list)):
        return [_opened(item) for item in value]
    return value


def _set(given: Any, every: Any, key: str, value: object) -> None:
    *groups, last = key.split(".")
    for group in groups:
        step = _place(every, group)
        if isinstance(given, dict) and given.get(step) is None:
            given[step] = {}  # a table that was left out, or holds nothing but defaults
        given, every = given[step], every[step]
    if every is None:  # a table that is not there yet: the schema knows its keys
        given[last] = _new(None, value)
        return
    step = _place(every, last)
    given[step] = _new(every[step], value)


def _place(table: object, part: str) -> str | int:
    """Where a part of a key leads within a table or a list."""
    if isinstance(table, list):
        names = [row.get("name") if isinstance(row, dict) else None for row in table]
        if part in names:
            return names.index(part)
        if part.isdigit() and int(part) < len(table):
            return int(part)
        named = [str(name) for name in names if name is not None]
        known = ", ".join(named) or f"entries 0 to {len(table) - 1}" if table else "no entry"
        raise _WrongKeyError(f"there is no entry '{part}'; the list has {known}")
    if isinstance(table, dict) and part in table:
        return part
    if isinstance(table, dict):
        nearest = sorted(table, key=lambda key: -SequenceMatcher(None, part, key).ratio())
        cure = _INSTEAD.get(part, "")
        raise _WrongKeyError(f"there is no '{part}'; the file has here "
                             f"{', '.join(nearest) or 'nothing'}{cure}")
    raise _WrongKeyError(f"'{part}' cannot be a key here, where the file has {table!r}")


def _new(old: object, value: object) -> object:
    """The value asked for, of what is there."""
    if not (isinstance(value, Mapping) and len(value) == 1 and next(iter(value)) in _STEPS):
        return value
    ((step, by),) = value.items()
    if not isinstance(by, (int, float)) or isinstance(by, bool):
        raise _WrongKeyError(f"{step} = {by!r} is no number")
    if isinstance(old, list) and old:
        return [_new(item, value) for item in old]
    if not isinstance(old, (int, float)) or isinstance(old, bool):
        what = "nothing is set there" if old is None else f"it holds {old!r}"
        raise _WrongKeyError(f"has no number to {'multiply' if step == 'times' else 'add to'}: "
                             f"{what}; give the value itself")
    return old * by if step == "times" else old + by


def _no_list(key: str, every: Mapping[str, object]) -> str:
    lists = ", ".join(name for name, value in every.items() if isinstance(value, list)) or "none"
    if key == "bars" and key in every:
        return ("the bars of this device are there already; exchange them by setting bars.KEY, or "
                "rivet another on with [[bars]]")
    if key == "bars":
        return ("the file of this device has no bars; rivet one on with [[bars]] of the change; "
                f"rows can be added to {lists}")
    return f"the file has no list '{key}' that takes more entries; it has {lists}"

# SPDX-License-Identifier: MIT
"""The door for TOML input files: read, check against a schema, report every mistake at once."""

import re
import tomllib
from collections.abc import Mapping, Sequence
from contextlib import suppress
from difflib import SequenceMatcher
from pathlib import Path
from types import MappingProxyType
from typing import Annotated, TypeVar, get_args

from pydantic import AfterValidator, BaseModel, ConfigDict, StringConstraints, ValidationError
from pydantic_core import ErrorDetails

from fea.errors import FileError, Problem


class Schema(BaseModel):
    """Base of every input-file schema: unknown keys are mistakes, values are frozen."""

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)


SchemaT = TypeVar("SchemaT", bound=Schema)


def _plain_name(name: str) -> str:
    if not re.fullmatch(r"[A-Za-z0-9][A-Za-z0-9._-]*", name):
        raise ValueError(
            "names the report's folder: use letters, digits, '.', '_' and '-', and begin with a "
            "letter or digit"
        )
    return name


Name = Annotated[str, AfterValidator(_plain_name)]
"""A name that is safe as the name of a folder."""

Title = Annotated[str, StringConstraints(strip_whitespace=True, min_length=1)]
"""One line for people; it heads the report."""

PLAIN_WORDS: Mapping[str, str] = MappingProxyType({
    "bool_parsing": "must be true or false",
    "bool_type": "must be true or false",
    "dict_type": "must be a table: head it with [{where}]",
    "finite_number": "must be a finite number",
    "float_parsing": "must be a number",
    "float_type": "must be a number",
    "greater_than": "must be more than {gt:g}",
    "greater_than_equal": "must be at least {ge:g}",
    "int_from_float": "must be a whole number",
    "int_parsing": "must be a whole number",
    "int_parsing_size": "must be a whole number of fewer digits",
    "int_type": "must be a whole number",
    "less_than": "must be less than {lt:g}",
    "less_than_equal": "must be at most {le:g}",
    "list_type": "must be a list in square brackets",
    "literal_error": "must be {expected}",
    "missing": "this key is required and missing",
    "model_type": "must be a table of keys, as in [{where}] or {{ key = value }}",
    "string_too_short": "must not be empty",
    "string_type": "must be text in quotes",
    "too_long": "must hold no more than {max_length} values, and holds {actual_length}",
    "too_short": "must not be an empty list",
    "tuple_type": "must be a list in square brackets",
    "value_error": "{error}",
})
"""What each kind of mistake is called; a test holds the kinds against all schemas."""

LONGEST = 60
"""Signs of a value that a message repeats."""

_OTHERWISE = "cannot be used here; write it as in the README or in a shipped file"


def refuse(faults: Mapping[str, bool]) -> None:
    """Raise ValueError with all faults that are there, for a validator.

    Example:
        >>> refuse({"is too thin": True, "is too long": False, "has no name": True})
        Traceback (most recent call last):
        ValueError: is too thin; has no name
    """
    if found := [words for words, there in faults.items() if there]:
        raise ValueError("; ".join(found))


def read_toml(path: str | Path, schema: type[SchemaT]) -> SchemaT:
    """Read a TOML file and check it against ``schema``.

    Args:
        path: the file.
        schema: a subclass of `Schema`; keys carry their unit as a suffix.

    Returns:
        The checked content.

    Raises:
        FileError: the file is missing, not TOML, or breaks the schema; every problem is listed
            with its dotted place in the file.
    """
    try:
        data = tomllib.loads(Path(path).read_text(encoding="utf-8"))
    except OSError as error:
        raise FileError(path, [Problem("", f"cannot be read ({error.strerror})")]) from None
    except UnicodeDecodeError:
        raise FileError(path, [Problem("", "is not UTF-8 text; is it a TOML file?")]) from None
    except ValueError as error:  # of TOML, or a number of thousands of digits
        what = f"is not valid TOML: {error}; write key = value, with text in quotes"
        raise FileError(path, [Problem("", what)]) from None
    return check_schema(path, data, schema)


def check_schema(path: str | Path, data: object, schema: type[SchemaT]) -> SchemaT:
    """Check already parsed ``data`` (read from ``path``) against ``schema``; raises `FileError`."""
    try:
        return schema.model_validate(data)
    except ValidationError as error:
        details = error.errors()
    found: dict[str, dict[str, str]] = {}
    for detail in details:
        where, what, got = _problem(detail, data, schema)
        found.setdefault(where, {})[what] = got
    raise FileError(path, [
        Problem(where, ", or ".join(what) + list(what.values())[-1])
        for where, what in found.items()
    ])  # fmt: skip


def _problem(detail: ErrorDetails, data: object, schema: type[Schema]) -> tuple[str, str, str]:
    """Place and words of one mistake, and the value where it helps."""
    kind, loc = detail["type"], detail["loc"]
    parts = _place(loc, data)
    if kind == "extra_forbidden":
        known = ", ".join(_known_keys(parts, schema))
        what = f"unknown key; correct it, or remove it; known here: {known}"
        return ".".join(parts), what, ""
    if kind == "missing" and isinstance(loc[-1], str):
        return ".".join([*parts, loc[-1]]), PLAIN_WORDS[kind], ""
    where, value = ".".join(parts), detail["input"]
    if kind == "missing":
        return where, "holds too few values", _got(value)
    if kind in ("list_type", "tuple_type") and isinstance(value, dict):
        return where, f"must be a list of tables: head each with [[{where}]]", ""
    what = PLAIN_WORDS.get(kind, _OTHERWISE).format(**detail.get("ctx", {}), where=where)
    return where, what, _got(value)


def _place(loc: Sequence[str | int], data: object) -> list[str]:
    """The part of a place that is in the file, without our names for alternatives."""
    parts: list[str] = []
    for part in loc:
        if not isinstance(data, (dict, list)):
            break
        with suppress(KeyError, IndexError, TypeError):
            data = data[part]  # type: ignore[index]
            parts.append(str(part))
    return parts


def _got(value: object) -> str:
    """The value of a mistake as the file writes it; nothing for a table."""
    if isinstance(value, dict):
        return ""
    text = str(value).lower() if isinstance(value, bool) else repr(value)
    if not isinstance(value, (bool, str, int, float, list)):
        text = str(value)
    return f" (got {text if len(text) <= LONGEST else text[:LONGEST] + '…'})"


def _known_keys(parts: Sequence[str], schema: type[BaseModel]) -> list[str]:
    """The keys that a file may have where it has the one at ``parts``, the most alike first."""
    tables = [schema]
    for part in parts[:-1]:  # a number in a list, a name of the user's own and a tag lead nowhere
        fields = [field for table in tables for name, field in table.model_fields.items()
                  if part in (field.alias or name, name)]
        tables = [each for field in fields for each in _tables(field.annotation)] or tables
    known = dict.fromkeys(
        field.alias or name for table in tables for name, field in table.model_fields.items()
    )
    return sorted(known, key=lambda key: -SequenceMatcher(None, parts[-1], key).ratio())


def _tables(annotation: object) -> list[type[BaseModel]]:
    """The schemas within an annotation, such as a mapping of them."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return [annotation]
    return [each for part in get_args(annotation) for each in _tables(part)]

# SPDX-License-Identifier: MIT
"""The door for TOML input files: read, check against a schema, report every mistake at once."""

import re
import tomllib
from collections.abc import Sequence
from difflib import SequenceMatcher
from pathlib import Path
from typing import Annotated, TypeVar, get_args

from pydantic import AfterValidator, BaseModel, ConfigDict, ValidationError

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

_PLAIN_WORDS = {
    "missing": "this key is required and missing",
}


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
    except tomllib.TOMLDecodeError as error:
        raise FileError(path, [Problem("", f"is not valid TOML: {error}")]) from None
    return check_schema(path, data, schema)


def check_schema(path: str | Path, data: object, schema: type[SchemaT]) -> SchemaT:
    """Check already parsed ``data`` (read from ``path``) against ``schema``; raises `FileError`."""
    try:
        return schema.model_validate(data)
    except ValidationError as error:
        raise FileError(path, [_problem(detail, schema) for detail in error.errors()]) from None


def _problem(detail: object, schema: type[Schema]) -> Problem:
    kind, message = detail["type"], detail["msg"]  # type: ignore[index]
    parts = [str(part) for part in detail["loc"]]  # type: ignore[index]
    where = ".".join(parts)
    if kind == "extra_forbidden":
        known = ", ".join(_known_keys(parts, schema))
        return Problem(where, f"unknown key; correct it, or remove it; known here: {known}")
    what = _PLAIN_WORDS.get(kind, message.removeprefix("Value error, "))
    value = detail.get("input")  # type: ignore[attr-defined]
    if kind not in _PLAIN_WORDS and isinstance(value, (str, int, float, bool)):
        what = f"{what} (got {value!r})"
    return Problem(where, what)


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

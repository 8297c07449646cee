# SPDX-License-Identifier: MIT
"""The door for TOML input files: read, check against a schema, report every mistake at once."""

import re
import tomllib
from pathlib import Path
from typing import Annotated, TypeVar

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
    "extra_forbidden": "unknown key; check its spelling, or remove it",
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
        raise FileError(path, [_problem(detail) for detail in error.errors()]) from None


def _problem(detail: object) -> Problem:
    kind, message = detail["type"], detail["msg"]  # type: ignore[index]
    where = ".".join(str(part) for part in detail["loc"])  # type: ignore[index]
    what = _PLAIN_WORDS.get(kind, message.removeprefix("Value error, "))
    value = detail.get("input")  # type: ignore[attr-defined]
    if kind not in _PLAIN_WORDS and isinstance(value, (str, int, float, bool)):
        what = f"{what} (got {value!r})"
    return Problem(where, what)

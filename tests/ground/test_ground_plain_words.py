# SPDX-License-Identifier: MIT
"""Every mistake of form that a file can make is told in words of ours, with place and value."""

import importlib
import pkgutil
from typing import Annotated, Literal

import pytest
from pydantic import Field

import fea
from fea.errors import FileError
from fea.inputfile import PLAIN_WORDS, Schema, check_schema, read_toml

KINDS = {  # what each part of a schema can complain of, when TOML is read into it
    "any": (), "default": (), "definitions": (), "definition-ref": (), "nullable": (), "union": (),
    "function-before": ("value_error",), "function-after": ("value_error",), "no-info": (),
    "with-info": (), "model-field": (), "model-fields": ("missing",), "model": ("model_type",),
    "bool": ("bool_type", "bool_parsing"), "dict": ("dict_type",),
    "float": ("float_type", "float_parsing", "finite_number"),
    "int": ("int_type", "int_parsing", "int_parsing_size", "int_from_float"),
    "list": ("list_type",), "literal": ("literal_error",), "str": ("string_type",),
    "tuple": ("tuple_type", "too_long", "missing"),
}
LIMITS = {
    "gt": "greater_than", "ge": "greater_than_equal", "lt": "less_than", "le": "less_than_equal",
    "min_length": "too_short", "pattern": "string_pattern_mismatch", "multiple_of": "multiple_of",
    "max_length": "too_long",
}


def schemas(base=Schema):
    for each in base.__subclasses__():
        yield each
        yield from schemas(each)


def complaints(part):
    """The kinds of mistakes of a core schema and all within it."""
    if isinstance(part, dict):
        kind = part.get("type")
        if isinstance(kind, str):
            yield from KINDS[kind]
            for limit in LIMITS.keys() & part.keys():
                short = kind == "str" and limit == "min_length"
                yield "string_too_short" if short else LIMITS[limit]
        inner = [value for key, value in part.items() if key not in ("metadata", "serialization")]
        part = inner
    if isinstance(part, (list, tuple)):
        for each in part:
            yield from complaints(each)


def test_the_table_covers_every_kind_that_a_schema_of_ours_can_raise():
    for module in pkgutil.walk_packages(fea.__path__, "fea."):
        if not module.name.startswith(("fea.drawing", "fea.reporting")):
            importlib.import_module(module.name)
    ours = [each for each in schemas() if each.__module__.startswith("fea.")]
    assert len(ours) > 40
    found = {kind for each in ours for kind in complaints(each.__pydantic_core_schema__)}
    assert found <= PLAIN_WORDS.keys()
    assert {"float_parsing", "greater_than", "tuple_type", "string_too_short"} <= found


class Part(Schema):
    x_mm: float


class File(Schema):
    wall_mm: Annotated[float, Field(gt=0.0, le=25.0)] = 1.0
    share: Annotated[float, Field(ge=0.0, lt=1.0)] = 0.5
    count: int = 1
    rest: bool = True
    name: Annotated[str, Field(min_length=1)] = "a"
    at: tuple[float, float, float] = (0.0, 0.0, 0.0)
    lean: float | str | None = None
    unit: Literal["mm", "in"] = "mm"
    part: Part | None = None
    parts: dict[str, Part] = {}
    holes: tuple[Part, ...] = ()
    names: Annotated[list[str], Field(min_length=1)] = ["a"]


@pytest.mark.parametrize(("text", "told"), [
    ("wall_mm = 'thick'", "wall_mm: must be a number (got 'thick')"),
    ("wall_mm = 2026-01-01", "wall_mm: must be a number (got 2026-01-01)"),
    ("wall_mm = nan", "wall_mm: must be a finite number (got nan)"),
    ("wall_mm = 0", "wall_mm: must be more than 0 (got 0)"),
    ("wall_mm = 26.5", "wall_mm: must be at most 25 (got 26.5)"),
    ("share = -0.1", "share: must be at least 0 (got -0.1)"),
    ("share = 1.0", "share: must be less than 1 (got 1.0)"),
    ("count = 1.5", "count: must be a whole number (got 1.5)"),
    ("count = 'two'", "count: must be a whole number (got 'two')"),
    ("count = [1]", "count: must be a whole number (got [1])"),
    ("rest = 7", "rest: must be true or false (got 7)"),
    ("rest = 'perhaps'", "rest: must be true or false (got 'perhaps')"),
    ("rest = 1.5", "rest: must be true or false (got 1.5)"),
    ("name = true", "name: must be text in quotes (got true)"),
    ("name = ''", "name: must not be empty (got '')"),
    ("at = [1, 2]", "at: holds too few values (got [1, 2])"),
    ("at = [1]", "at: holds too few values (got [1])"),
    ("at = [1, 2, 3, 4]", "at: must hold no more than 3 values, and holds 4 (got [1, 2, 3, 4])"),
    ("at = 3", "at: must be a list in square brackets (got 3)"),
    ("at = [1, 'a', 3]", "at.1: must be a number (got 'a')"),
    ("lean = [1]", "lean: must be a number, or must be text in quotes (got [1])"),
    ("unit = 'yard'", "unit: must be 'mm' or 'in' (got 'yard')"),
    ("part = 3", "part: must be a table of keys, as in [part] or { key = value } (got 3)"),
    ("part = {}", "part.x_mm: this key is required and missing"),
    ("parts = 3", "parts: must be a table: head it with [parts] (got 3)"),
    ("[holes]\nx_mm = 1", "holes: must be a list of tables: head each with [[holes]]"),
    ("[[holes]]\nx_mm = 1\n[[holes]]", "holes.1.x_mm: this key is required and missing"),
    ("names = 'a'", "names: must be a list in square brackets (got 'a')"),
    ("names = []", "names: must not be an empty list (got [])"),
    (f"count = '{'9' * 5000}'", "count: must be a whole number of fewer digits (got '999"),
])
def test_a_mistake_of_form_is_one_plain_sentence(tmp_path, text, told):
    path = tmp_path / "file.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(FileError) as refused:
        read_toml(path, File)
    (problem,) = refused.value.problems
    assert str(problem) == told or (told[-1] == "9" and str(problem).startswith(told))


def test_a_number_of_thousands_of_digits_is_refused_like_any_mistake(tmp_path):
    path = tmp_path / "file.toml"
    path.write_text(f"count = {'9' * 5000}", encoding="utf-8")
    with pytest.raises(FileError, match="is not valid TOML"):
        read_toml(path, File)


def test_a_kind_that_nobody_foresaw_brings_no_foreign_words():
    class Odd(Schema):
        code: Annotated[str, Field(pattern="^[a-z]+$")] = "a"

    with pytest.raises(FileError) as refused:
        check_schema("f.toml", {"code": "7"}, Odd)
    assert str(refused.value) == (
        "f.toml: code: cannot be used here; write it as in the README or in a "
        "shipped file (got '7')")

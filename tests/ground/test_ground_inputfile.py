# SPDX-License-Identifier: MIT
"""What an input file is told about a key that it may not have."""

import pytest
from pydantic import Field

from fea.errors import FileError
from fea.inputfile import Schema, check_schema


class Wall(Schema):
    sheet_mm: float
    material: str = ""


class Curve(Schema):
    origin: str | None = Field(None, alias="from")


class File(Schema):
    name: str = ""
    walls: dict[str, Wall] = {}
    straps: tuple[Wall, ...] = ()
    curve: Curve | None = None


@pytest.mark.parametrize(("data", "where", "keys"), [
    ({"nam": "x"}, "nam", "name, walls, straps, curve"),
    ({"walls": {"heel": {"sheet_mm": 1.0, "materal": "steel"}}}, "walls.heel.materal",
     "material, sheet_mm"),
    ({"walls": {"name": {"sheet_mm": 1.0, "shet_mm": 2.0}}}, "walls.name.shet_mm",
     "sheet_mm, material"),  # a name of the user's own that is a key elsewhere
    ({"straps": [{"sheet_mm": 1.0}, {"sheet_mm": 1.0, "sheet": 2.0}]}, "straps.1.sheet",
     "sheet_mm, material"),
    ({"curve": {"form": "heel"}}, "curve.form", "from"),  # as the file spells it
])
def test_an_unknown_key_is_told_which_there_are_the_most_alike_first(data, where, keys):
    with pytest.raises(FileError) as refused:
        check_schema("some.toml", data, File)
    (problem,) = refused.value.problems
    assert str(problem) == (
        f"{where}: unknown key; correct it, or remove it; known here: {keys}")

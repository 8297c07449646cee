# SPDX-License-Identifier: MIT
"""The file of a change: what is set and added in a device's file, and what becomes of its walls.

A change names keys of a device's file, zones and landmarks, so one file applies to every device
that has them. Parts by zone, box or plane are meant in the device frame, in mm.
"""

from collections.abc import Mapping
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import ConfigDict, Field, model_validator

from fea.device.dotted import changed_content
from fea.device.meshfile import Layup, Positive, WallMm, material_problems
from fea.device.selection import Box, Plane, Point
from fea.errors import FileError, Problem
from fea.inputfile import Schema, read_toml
from fea.material.library import LibraryMaterial, read_library
from fea.shipped import resolve

Text = Annotated[str, Field(min_length=1)]


class PartTable(Schema):
    """Keys that say which cells of the walls are meant; all that are given must hold for a cell."""

    zones: tuple[str, ...] = ()
    boxes: tuple[Box, ...] = ()
    planes: tuple[Plane, ...] = ()


class ZoneChange(PartTable):
    """Another wall: of whole zones, or of a part of them, which becomes a zone of its own.

    Keys: `thickness_mm` as built; `thickness_times` of what is there; `material` and `layup` in
    place of what is there; `name` of the part, where boxes or planes cut one out.
    """

    name: Text | None = None
    material: str | None = None
    thickness_mm: WallMm | None = None
    thickness_times: Positive | None = None
    layup: Layup | None = None
    direction: Point | None = None

    @model_validator(mode="after")
    def _says_what(self) -> "ZoneChange":
        if not (self.zones or self.boxes or self.planes):
            raise ValueError("must say which part it changes: zones, boxes or planes")
        if (self.boxes or self.planes) and self.name is None:
            raise ValueError("needs a name for the part that boxes or planes cut out")
        sizes = [self.thickness_mm, self.thickness_times, self.layup]
        if sizes.count(None) < 2:
            raise ValueError("takes one of thickness_mm, thickness_times and layup")
        if self.material is None and sizes.count(None) == 3:
            raise ValueError("changes nothing: give material, thickness_mm, thickness_times or "
                             "layup")
        return self


class Overlay(PartTable):
    """A strip or patch that is bonded on.

    Keys: `face` the "outer" one, away from the limb, or the "inner" one. It runs "up" or "forward"
    (`along`), `from` one landmark `to` another, each moved on by `from_mm` and `to_mm`; without
    landmarks these are heights above the floor, or distances ahead of the ankle's axis; without
    either it runs to the end of the zones. `width_mm` of a strip, along the middle of each part
    that the zones form together, moved across by `aside_mm`, forward or to the left; without a
    width it covers them. `layup` of plies from the inner to the outer face, or `thickness_mm` of a
    sheet; 0° lies along the strip, on a wall of plies along their 0°.
    """

    name: Text
    face: Literal["outer", "inner"]
    material: str
    along: Literal["up", "forward"] = "up"
    from_: str | None = Field(None, alias="from")
    to: str | None = None
    from_mm: float | None = None
    to_mm: float | None = None
    width_mm: Annotated[float, Field(gt=1.0, le=400.0)] | None = None
    aside_mm: float = 0.0
    layup: Layup | None = None
    thickness_mm: WallMm | None = None

    @model_validator(mode="after")
    def _is_an_overlay(self) -> "Overlay":
        if not (self.zones or self.boxes or self.planes):
            raise ValueError("must say what it covers: zones, boxes or planes")
        if (self.layup is None) == (self.thickness_mm is None):
            raise ValueError("needs exactly one of layup and thickness_mm")
        if self.aside_mm and self.width_mm is None:
            raise ValueError("aside_mm moves a strip: give width_mm")
        return self


class Change(Schema):
    """A change of a device; every part may be left out.

    Attributes:
        title: one line for people.
        values: of the device's file, by dotted key (`set` in a file; see `fea.device.dotted`).
        added: entries for lists of the device's file (`add` in a file), such as ribs.
        zones: other walls;  overlays: what is bonded on, in that order.

    Example:
        >>> strip = Overlay(name="strip", zones=("heel",), face="outer", width_mm=25.0,
        ...                 material="polypropylene-homopolymer", thickness_mm=3.0)
        >>> change = Change(title="A strip behind the heel", overlays=(strip,))
        >>> change.changed({"overlays.strip.width_mm": {"add": 5.0}}).overlays[0].width_mm
        30.0
    """

    model_config = ConfigDict(populate_by_name=True)

    title: Text
    values: dict[str, Any] = Field(default={}, alias="set")
    added: dict[str, tuple[dict[str, Any], ...]] = Field(default={}, alias="add")
    zones: tuple[ZoneChange, ...] = ()
    overlays: tuple[Overlay, ...] = ()

    @model_validator(mode="after")
    def _says_something(self) -> "Change":
        if not (self.values or self.added or self.zones or self.overlays):
            raise ValueError("changes nothing: give [set], [[add.LIST]], [[zones]] or [[overlays]]")
        for key, value in self.values.items():
            if "." not in key and isinstance(value, Mapping) and not {"times", "add"} & set(value):
                raise ValueError(f"[set] {key}: write the way to a value as one key in quotes, as "
                                 f'in "{key}.{next(iter(value), "KEY")}" = ...')
        names = [each.name for each in self.overlays]
        if len(set(names)) < len(names):
            raise ValueError("two overlays have the same name; give each its own")
        return self

    def changed(self, values: Mapping[str, object]) -> "Change":
        """The change with other values of its own, such as {"overlays.strip.width_mm": 30.0}.

        Raises:
            FileError: keys that lead nowhere, or values that a change may not have.
        """
        return changed_content(self, self.title, values)

    def problems(self, library: Mapping[str, LibraryMaterial]) -> list[Problem]:
        """Materials that are unknown, or do not suit a sheet or a layup."""
        found: list[Problem] = []
        for number, strip in enumerate(self.overlays):
            found += material_problems(f"overlays.{number}", strip.material, library,
                                       layup=strip.layup is not None)  # fmt: skip
        for number, part in enumerate(self.zones):
            if part.material is None:
                continue
            # whether a ply suits a wall that keeps its layup is seen at the device
            keeps = part.layup is None and part.material in library
            if not keeps:
                found += material_problems(f"zones.{number}", part.material, library, layup=True)
        return found


def read_change(
    name_or_path: str | Path, library: Mapping[str, LibraryMaterial] | None = None
) -> Change:
    """Read a change.

    Args:
        name_or_path: name of a shipped change, or path of a file (TOML).
        library: materials by name; None for the shipped ones.

    Raises:
        InputError: there is no such file or shipped name.
        FileError: the file is unusable; every problem is listed.
    """
    path = resolve("changes", name_or_path)
    change = read_toml(path, Change)
    if problems := change.problems(read_library() if library is None else library):
        raise FileError(path, problems)
    return change

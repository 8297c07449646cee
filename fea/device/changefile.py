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
from fea.device.meshfile import BarMm, Layup, Positive, WallMm, material_problems
from fea.device.selection import Box, Plane, Point
from fea.device.strapping import hole_refusals
from fea.errors import FileError, Problem
from fea.inputfile import Schema, read_toml, refuse
from fea.material.library import LibraryMaterial, read_library
from fea.shipped import resolve

Text = Annotated[str, Field(min_length=1)]

_LISTS = ("ribs", "holes", "straps")  # of device files, to which a change adds


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


class Run(PartTable):
    """What runs along the middle of each part that zones form together.

    Keys: it runs "up" or "forward" (`along`), `from` one landmark `to` another, each moved on by
    `from_mm` and `to_mm`; without landmarks these are heights above the floor, or distances ahead
    of the ankle's axis; without either it runs to the end of the zones. `aside_mm` moves it across,
    forward or to the left.
    """

    name: Text
    along: Literal["up", "forward"] = "up"
    from_: str | None = Field(None, alias="from")
    to: str | None = None
    from_mm: float | None = None
    to_mm: float | None = None
    aside_mm: float = 0.0

    @model_validator(mode="after")
    def _says_where(self) -> "Run":
        if not (self.zones or self.boxes or self.planes):
            raise ValueError("must say on what it lies: zones, boxes or planes")
        return self


class Overlay(Run):
    """A strip or patch that is bonded on.

    Keys: those of `Run`, and `face` the "outer" one, away from the limb, or the "inner" one.
    `width_mm` of a strip; without a width it covers the zones. `layup` of plies from the inner to
    the outer face, or `thickness_mm` of a sheet; 0° lies along the strip, on a wall of plies along
    their 0°.
    """

    face: Literal["outer", "inner"]
    material: str
    width_mm: Annotated[float, Field(gt=1.0, le=400.0)] | None = None
    layup: Layup | None = None
    thickness_mm: WallMm | None = None

    @model_validator(mode="after")
    def _is_an_overlay(self) -> "Overlay":
        if (self.layup is None) == (self.thickness_mm is None):
            raise ValueError("needs exactly one of layup and thickness_mm")
        if self.aside_mm and self.width_mm is None:
            raise ValueError("aside_mm moves a strip: give width_mm")
        return self


class BarRivets(Schema):
    """Rivets or screws of a bar that is added, evenly spaced between its ends.

    Keys: `count`, or the `spacing_mm` that they keep or fall short of; `end_distance_mm` from the
    ends of the bar to the middles of the outermost; `diameter_mm` of a thread is that of its core,
    and `hole_diameter_mm` what is drilled for it.
    """

    count: Annotated[int, Field(ge=2, le=40)] | None = None
    spacing_mm: Positive | None = None
    diameter_mm: Positive
    hole_diameter_mm: Positive | None = None
    washer_diameter_mm: Positive
    end_distance_mm: Positive
    material: str | None = None

    @model_validator(mode="after")
    def _fit_together(self) -> "BarRivets":
        refuse({
            **hole_refusals(self.diameter_mm, self.hole_diameter_mm),
            "takes one of count and spacing_mm": (self.count is None) == (self.spacing_mm is None),
            "washer_diameter_mm must exceed diameter_mm and hole_diameter_mm":
                self.washer_diameter_mm <= (self.hole_diameter_mm or self.diameter_mm),
        })  # fmt: skip
        return self


class AddedBar(Run):
    """A flat bar that is riveted on the outer face, bent to follow the wall.

    Keys: those of `Run`, upwards only; `width_mm` across the wall and `thickness_mm` off it.
    """

    along: Literal["up"] = "up"
    face: Literal["outer", "inner"] = "outer"
    material: str
    width_mm: BarMm
    thickness_mm: BarMm
    rivets: BarRivets

    @model_validator(mode="after")
    def _is_a_flat_bar(self) -> "AddedBar":
        hole = self.rivets.hole_diameter_mm or self.rivets.diameter_mm
        refuse({
            'a bar on the "inner" face would press on the skin, which cannot be judged: rivet it '
            'on the outer face': self.face == "inner",
            f"rivet holes of {hole:g} mm leave nothing of a bar {self.width_mm:g} mm wide":
                hole >= self.width_mm,
            "the rivets' holes reach over the ends of the bar: end_distance_mm must exceed half a "
            "hole": self.rivets.end_distance_mm <= 0.5 * hole,
        })  # fmt: skip
        return self


class Change(Schema):
    """A change of a device; every part may be left out.

    Attributes:
        title: one line for people.
        values: of the device's file, by dotted key (`set` in a file; see `fea.device.dotted`).
        added: entries for lists of the device's file (`add` in a file), such as ribs.
        zones: other walls;  overlays: what is bonded on;  bars: riveted on, in that order.

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
    bars: tuple[AddedBar, ...] = ()

    @model_validator(mode="before")
    @classmethod
    def _is_a_change(cls, data: Any) -> Any:
        for key, kind in (("construction", "device"), ("mass_kg", "wearer")):
            if isinstance(data, Mapping) and key in data:
                raise ValueError(f"this is the file of a {kind}, not of a change")
        for key in _LISTS:
            if isinstance(data, Mapping) and key in data:
                raise ValueError(f"{key} are a list of the device's file: write [[add.{key}]] to "
                                 f'add one, or "{key}.0.KEY" = ... under [set] to change one')
        return data

    @model_validator(mode="after")
    def _says_something(self) -> "Change":
        if not (self.values or self.added or self.zones or self.overlays or self.bars):
            raise ValueError("changes nothing: give [set], [[add.LIST]], [[zones]], [[overlays]] "
                             "or [[bars]]")
        for key, value in self.values.items():
            if "." not in key and isinstance(value, Mapping) and not {"times", "add"} & set(value):
                raise ValueError(f"[set] {key}: write the way to a value as one key in quotes, as "
                                 f"in {_way(key, value)}")
        names = [each.name for each in (*self.overlays, *self.bars)]
        for name in names:
            if names.count(name) > 1:
                raise ValueError(f"two overlays or bars are called '{name}'; name each")
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
        for number, bar in enumerate(self.bars):
            found += material_problems(f"bars.{number}", bar.material, library)
            if bar.rivets.material is not None:
                found += material_problems(f"bars.{number}.rivets", bar.rivets.material, library)
        for number, part in enumerate(self.zones):
            if part.material is None:
                continue
            # whether a ply suits a wall that keeps its layup is seen at the device
            keeps = part.layup is None and part.material in library
            if not keeps:
                found += material_problems(f"zones.{number}", part.material, library, layup=True)
        return found


def _way(key: str, value: object) -> str:
    """A table as the dotted key of its first value.

    Example:
        >>> _way("walls", {"ankle": {"sheet_mm": 4.0}})
        '"walls.ankle.sheet_mm" = 4.0'
    """
    if isinstance(value, Mapping) and value:
        first, inner = next(iter(value.items()))
        return _way(f"{key}.{first}", inner)
    return f'"{key}" = {value!r}'


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

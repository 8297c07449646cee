# SPDX-License-Identifier: MIT
"""The device file of a surface mesh: what the mesh file cannot say, and its schema.

Coordinates (landmarks, boxes, distances of planes, fastenings, `frame_origin`), a thickness field
and a direction field are in the mesh's own unit and axes; walls, bars and sole are in mm, as their
keys say; `direction` and `up` are in the device frame (x forward, y left, z up).
"""

from collections.abc import Callable, Mapping, Sequence
from difflib import get_close_matches
from pathlib import Path
from typing import Annotated, Literal

import numpy as np
from numpy.typing import NDArray
from pydantic import AfterValidator, ConfigDict, Field, model_validator

from fea.device.device import Sole
from fea.device.drilling import HoleTable, hole_names
from fea.device.selection import Point, Selection
from fea.device.strapping import StrapTable, hole_refusals, strap_zone_problems
from fea.errors import FileError, Problem
from fea.inputfile import Name, Schema, Title, read_toml, refuse
from fea.material.library import LibraryMaterial

Positive = Annotated[float, Field(gt=0.0)]

THINNEST, THICKEST = 0.3, 25.0
"""Thickness (mm) of a sheet or shell beyond which its unit is doubted. Source: assumed."""

SLIMMEST, STOUTEST = 1.0, 40.0
"""Width and depth (mm) of a bar beyond which its unit is doubted. Source: assumed."""


def _between(low: float, high: float, what: str) -> Callable[[float], float]:
    def check(value: float) -> float:
        if not low <= value <= high:
            raise ValueError(f"{what} of {value:g} mm lies outside {low:g} to {high:g} mm; is the "
                             "unit mm?")
        return value

    return check


check_wall = _between(THINNEST, THICKEST, "a wall")
"""Returns a wall thickness in mm; raises ValueError for one that no wall has."""

WallMm = Annotated[float, AfterValidator(check_wall)]
BarMm = Annotated[float, AfterValidator(_between(SLIMMEST, STOUTEST, "a bar"))]
Axis = Literal["x", "y", "z", "-x", "-y", "-z"]

UNITS_MM: Mapping[str, float] = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4}
REQUIRED_LANDMARKS = ("ankle_axis", "heel", "plate_end")


class Layup(Schema):
    """A ply stack from the inner face (bottom) to the outer face (top)."""

    angles_deg: tuple[float, ...]
    thicknesses_mm: Positive | tuple[Positive, ...]

    @model_validator(mode="after")
    def _is_a_wall(self) -> "Layup":
        plies = self.thicknesses_mm
        check_wall(sum(plies) if isinstance(plies, tuple) else plies * len(self.angles_deg))
        return self


class ZoneTable(Selection):
    """A shell zone: which cells, and what its wall is made of."""

    material: str
    thickness_mm: WallMm | None = None
    thickness_field: str | None = None
    layup: Layup | None = None
    direction: Point | None = None
    direction_field: str | None = None
    offset_mm: float = 0.0
    thinning: Annotated[float, Field(gt=0.0, le=1.0)] = 1.0

    @model_validator(mode="after")
    def _one_thickness(self) -> "ZoneTable":
        given = (self.thickness_mm, self.thickness_field, self.layup)
        refuse({
            "needs exactly one of thickness_mm, thickness_field and layup":
                sum(value is not None for value in given) != 1,
            "takes direction or direction_field, not both":
                self.direction is not None and self.direction_field is not None,
        })  # fmt: skip
        return self


class BarTable(Selection):
    """A bar: which line cells, and its rectangular section."""

    material: str
    width_mm: BarMm
    depth_mm: BarMm
    up: Point

    @model_validator(mode="after")
    def _has_direction(self) -> "BarTable":
        if not np.any(self.up):
            raise ValueError("up has no direction; give the vector along the bar's width")
        return self


class FasteningTable(Schema):
    """A rivet or screw between a bar and shells; `diameter_mm` of a thread is that of its core."""

    at: Point
    bar: str
    zones: tuple[str, ...] = Field(min_length=1)
    diameter_mm: Positive
    hole_diameter_mm: Positive | None = None
    washer_diameter_mm: Positive
    reach_mm: Positive = 15.0
    material: str | None = None

    @model_validator(mode="after")
    def _goes_through(self) -> "FasteningTable":
        refuse(hole_refusals(self.diameter_mm, self.hole_diameter_mm))
        return self


class SoleTable(Schema):
    """What lies under the plate, and how the device stands."""

    height_mm: Annotated[float, Field(ge=0.0)]
    heel_sole_difference_mm: float = 0.0
    ankle_set_deg: Annotated[float, Field(ge=-30.0, le=30.0)] = 0.0

    def sole(self) -> Sole:
        """The same as a value of the device."""
        return Sole(self.height_mm, self.heel_sole_difference_mm, self.ankle_set_deg)


class MeshDeviceFile(Schema):
    """Everything a device file with ``construction = "mesh"`` may hold."""

    construction: Literal["mesh"]
    name: Name
    title: Title
    origin: str
    licence: str = ""
    side: Literal["left", "right"]
    mesh: str
    unit: Literal["mm", "cm", "m", "in"]
    axes: tuple[Axis, Axis, Axis] = ("x", "y", "z")
    frame_origin: Point = (0.0, 0.0, 0.0)
    merge_mm: Positive | None = None
    plate_zones: tuple[str, ...] = Field(min_length=1)
    foot_zones: tuple[str, ...] = Field(min_length=1)
    shank_zones: tuple[str, ...] = Field(min_length=1)
    sole: SoleTable
    landmarks: dict[str, Point]
    zones: dict[str, ZoneTable] = Field(min_length=1)
    bars: dict[str, BarTable] = {}
    fastenings: dict[str, FasteningTable] = {}
    straps: tuple[StrapTable, ...] = ()
    holes: tuple[HoleTable, ...] = ()

    @model_validator(mode="after")
    def _right_handed(self) -> "MeshDeviceFile":
        if round(float(np.linalg.det(self.rotation))) != 1:
            raise ValueError(
                f"axes = {list(self.axes)} must name the mesh axes that point forward, left and "
                "up: three different ones that form a right-handed frame"
            )
        return self

    @property
    def ply_notes(self) -> tuple[str, ...]:
        """What is taken for plies of which the file does not say how they lie."""
        silent = [name for name, table in self.zones.items()
                  if table.layup and table.direction is None and table.direction_field is None]
        if not silent:
            return ()
        return (f"Where 0° of the plies lies is not said of {', '.join(silent)}: it is taken "
                "upwards, and forwards where the wall lies flat; give direction or "
                "direction_field.",)

    @property
    def rotation(self) -> NDArray[np.float64]:
        """(3, 3) matrix from mesh axes to the device frame."""
        rows = np.zeros((3, 3))
        for row, axis in enumerate(self.axes):
            rows[row, "xyz".index(axis[-1])] = -1.0 if axis.startswith("-") else 1.0
        return rows

    def turned(self, points: object) -> NDArray[np.float64]:
        """Points (..., 3) of the mesh along the device's axes, still in the mesh's unit."""
        return (np.asarray(points, dtype=float) - self.frame_origin) @ self.rotation.T


def name_problems(
    content: MeshDeviceFile, library: Mapping[str, LibraryMaterial]
) -> list[Problem]:
    """Names in the file that lead nowhere: zones, bars, materials, landmarks."""
    problems = [
        Problem("landmarks", f"'{name}' is missing; give its point in the mesh's unit and axes")
        for name in REQUIRED_LANDMARKS
        if name not in content.landmarks
    ]
    for key in ("plate_zones", "foot_zones", "shank_zones"):
        problems += _unknown(key, getattr(content, key), content.zones, "zone")
    for name, fastening in content.fastenings.items():
        where = f"fastenings.{name}"
        problems += _unknown(f"{where}.zones", fastening.zones, content.zones, "zone")
        problems += _unknown(f"{where}.bar", [fastening.bar], content.bars, "bar")
        if fastening.material is not None:
            problems += material_problems(where, fastening.material, library)
    for name in content.zones.keys() & content.bars.keys():
        problems.append(Problem(f"bars.{name}", "has the name of a zone; rename one of them"))
    for name, zone in content.zones.items():
        has_layup = zone.layup is not None
        problems += material_problems(f"zones.{name}", zone.material, library, layup=has_layup)
    for name, bar in content.bars.items():
        problems += material_problems(f"bars.{name}", bar.material, library)
    taken = {*content.zones, *content.bars}
    problems += strap_zone_problems(content.straps, content.zones)
    problems += hole_names(content.holes, content.zones, content.landmarks, taken)
    return problems + strap_problems(content.straps, library)


def strap_problems(
    straps: Sequence[StrapTable], library: Mapping[str, LibraryMaterial]
) -> list[Problem]:
    """Materials of rivets of straps that are unknown or do not suit."""
    return [
        problem
        for number, strap in enumerate(straps)
        if strap.rivets is not None
        for problem in material_problems(
            f"straps.{number}.rivets", strap.rivets.material, library)
    ]


def material_problems(
    where: str, name: str, library: Mapping[str, LibraryMaterial], *, layup: bool | None = None
) -> list[Problem]:
    """An unknown material, or one whose kind does not suit.

    Args:
        where: the table in the file.  name: of the material.  library: materials by name.
        layup: whether the wall has a ply stack; None where there can be none, as in a bar.
    """
    if name not in library:
        near = get_close_matches(name, library, n=3)
        hint = "did you mean" if near else "the library has"
        listed = ", ".join(near or library)
        return [Problem(f"{where}.material", f"unknown material '{name}'; {hint} {listed}")]
    is_ply = library[name].kind == "laminate"
    if is_ply and not layup:
        cure = "choose another" if layup is None else "give the zone a layup"
        return [Problem(f"{where}.material", f"'{name}' is a single ply; {cure}")]
    if layup and not is_ply:
        return [Problem(f"{where}.layup", (
            f"needs a ply material; '{name}' is one solid: give thickness_mm instead"))]
    return []


class _Made(Schema):
    """The material of a table, whatever else it holds."""

    model_config = ConfigDict(extra="ignore")

    material: object = None


class _Materials(Schema):
    """The materials of a file, whatever else is wrong in it."""

    model_config = ConfigDict(extra="ignore")

    zones: dict[str, _Made] = {}
    bars: dict[str, _Made] = {}


def unknown_materials(path: Path, library: Mapping[str, LibraryMaterial]) -> list[Problem]:
    """Unknown materials of a file that breaks its schema, as far as its tables can be read."""
    try:
        content = read_toml(path, _Materials)
    except FileError:
        return []  # the schema has told already
    return [
        problem
        for group, tables in (("zones", content.zones), ("bars", content.bars))
        for name, table in tables.items()
        if isinstance(table.material, str) and table.material not in library
        for problem in material_problems(f"{group}.{name}", table.material, library)
    ]


def mesh_path(path: Path, content: MeshDeviceFile) -> Path:
    """The mesh file, named relative to the device file."""
    return path.parent / content.mesh


def _unknown(
    where: str, names: object, known: Mapping[str, object], what: str
) -> list[Problem]:
    listed = ", ".join(known) or "none"
    return [
        Problem(where, f"unknown {what} '{name}'; the file defines {listed}")
        for name in names  # type: ignore[attr-defined]
        if name not in known
    ]

# SPDX-License-Identifier: MIT
"""What may be chosen for each wall and bar of a device: sheets that exist, and whole plies."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import Annotated, Any, get_args

from pydantic import Field, model_validator

from fea.device.bars import FOOT_SHELL, FRONT_SHELL, PARTS, BarsRecipe
from fea.device.changefile import Change
from fea.device.device import Device, DeviceFile
from fea.device.meshfile import Layup, MeshDeviceFile
from fea.device.moulded import TABLE_OF, MouldedRecipe
from fea.errors import FileError, InputError, Problem
from fea.inputfile import Schema, read_toml
from fea.material.library import Kind, LibraryMaterial
from fea.study.parameter import Design, Value

_OWN = Path(__file__).with_name("stock.toml")

Positive = Annotated[float, Field(gt=0.0)]


class PlyCount(Schema):
    """From how many plies to how many, and by how many a stack grows."""

    least: Annotated[int, Field(ge=1)]
    most: Annotated[int, Field(le=200)]
    step: Annotated[int, Field(ge=1)] = 1


class StockTable(Schema):
    """What exists of one kind of material, with its source."""

    thickness_mm: tuple[Positive, ...] = ()
    plies: PlyCount | None = None
    source: str
    status: str
    note: str = ""

    @model_validator(mode="after")
    def _has_sizes(self) -> "StockTable":
        if bool(self.thickness_mm) == (self.plies is not None):
            raise ValueError("needs thickness_mm or plies, not both")
        if list(self.thickness_mm) != sorted(set(self.thickness_mm)):
            raise ValueError("thickness_mm must rise from the thinnest to the thickest")
        return self


class StripTable(Schema):
    """Widths that strips to be bonded on are cut to, with their source."""

    width_mm: Annotated[tuple[Positive, ...], Field(min_length=1)]
    source: str
    status: str
    note: str = ""

    @model_validator(mode="after")
    def _rises(self) -> "StripTable":
        if list(self.width_mm) != sorted(set(self.width_mm)):
            raise ValueError("width_mm must rise from the narrowest to the widest")
        return self


class Stock(Schema):
    """Everything that a file of stock may hold."""

    thermoplastic: StockTable | None = None
    metal: StockTable | None = None
    printed: StockTable | None = None
    laminate: StockTable | None = None
    strips: StripTable | None = None

    def of(self, kind: Kind) -> StockTable | None:
        """What exists of a kind of material."""
        found: StockTable | None = getattr(self, kind)
        return found


assert set(Stock.model_fields) == {*get_args(Kind), "strips"}


def read_stock(path: str | Path | None = None) -> Stock:
    """Read what exists: a file of the user's own, or the shipped one.

    Example:
        >>> read_stock().thermoplastic.thickness_mm[2:5]
        (4.0, 5.0, 6.0)
    """
    stock = read_toml(_OWN if path is None else path, Stock)
    for kind in get_args(Kind):
        table = stock.of(kind)
        if table is not None and (kind == "laminate") == (table.plies is None):
            what = "plies" if kind == "laminate" else "thickness_mm"
            raise FileError(path or _OWN, [Problem(kind, f"needs {what}")])
    return stock


@dataclass(frozen=True)
class Choice:
    """A part of a device that has one size.

    Attributes:
        name: for people.
        paths: dotted, to what is set, see `fea.study.parameter`.
        zones: walls and bars of the fitted device that it makes; of an overlay the parts that it
            covers.
        values: that may be set, from thin to thick;  sizes: thickness of each, or width, mm.
        now: number of the value that is there; None where that is none of them.
        size_now: thickness or width that is there, mm.
        unit: of the size in words, such as "mm" or "plies of 0.24 mm".
    """

    name: str
    paths: tuple[str, ...]
    zones: tuple[str, ...]
    values: tuple[Value, ...]
    sizes: tuple[float, ...]
    size_now: float
    unit: str = "mm"

    @cached_property
    def now(self) -> int | None:
        """Number of the value that is there; None where that is none of them."""
        alike = [k for k, size in enumerate(self.sizes) if abs(size - self.size_now) < 1e-9]
        return alike[0] if alike else None

    @property
    def nearest(self) -> int:
        """Number of the thinnest value that is no thinner than what is there, or the thickest."""
        enough = [k for k, size in enumerate(self.sizes) if size >= self.size_now - 1e-9]
        return enough[0] if enough else len(self.sizes) - 1

    def words(self, number: int) -> str:
        """A value in words."""
        value = self.values[number]
        if isinstance(value, Mapping):
            count = len(value["angles_deg"])
            return f"{count} plies" if count > 1 else "1 ply"
        return f"{self.sizes[number]:g} {self.unit}"

    @property
    def is_bonded(self) -> bool:
        """Whether it is something of an overlay."""
        return self.paths[0].startswith("overlay.")


def choices(design: Design, fitted: Device, stock: Stock) -> tuple[Choice, ...]:
    """All parts of a design of which there is something to choose.

    Args:
        design: recipe or mesh, and the change in force with its overlays.
        fitted: the device that it makes, for the names of its walls.
        stock: what exists.

    Raises:
        InputError: there is nothing to choose.
    """
    found = list(_of_device(design, stock))
    settled: set[str] = set()
    if design.change is not None:
        found += _of_overlays(design.change, design.library, fitted, stock)
        settled = _settled(design.change)
    open_ = [
        replace(each, zones=tuple(
            zone for zone in each.zones
            if zone not in settled and (zone in fitted.bars or fitted.parts(zone))
        ))
        for each in found
    ]  # fmt: skip
    kept = [each for each in open_ if each.zones]
    if not kept:
        raise InputError(
            f"device '{design.device.name}' has no wall whose sheet or plies could be chosen: give "
            "its walls sheet_mm, thickness_mm or layup, not what was measured cell by cell"
        )
    return tuple(kept)


def together(parts: Sequence[Choice]) -> tuple[Choice, ...]:
    """Walls and bars that are of one size now and have the same choices, as one part."""
    groups: dict[Any, list[Choice]] = {}
    for part in parts:
        alone = part.paths if part.is_bonded else ()
        groups.setdefault((part.size_now, part.sizes, repr(part.values), alone), []).append(part)
    return tuple(
        Choice(
            " and ".join(each.name for each in group),
            tuple(path for each in group for path in each.paths),
            tuple(zone for each in group for zone in each.zones),
            group[0].values, group[0].sizes, group[0].size_now, group[0].unit,
        )
        for group in groups.values()
    )  # fmt: skip


def _of_device(design: Design, stock: Stock) -> Iterator[Choice]:
    device, library = design.device, design.library
    if isinstance(device, MouldedRecipe):
        for key, table in device.content.walls:
            zones = tuple(zone for zone, of in TABLE_OF.items() if of == key)
            if table.upper_sheet_mm is None and table.measured_mm is None:
                yield from _choice(f"device.walls.{key}", key.replace("_", " "), zones, "sheet_mm",
                                   library[table.material], table.sheet_mm, table.layup, stock)
    elif isinstance(device, BarsRecipe):
        content = device.content
        for key, zones, name in (("foot_section", FOOT_SHELL, "thickness_mm"),
                                 ("front_piece", FRONT_SHELL, "thickness_mm"),
                                 ("bars", tuple(f"{one} bar" for one in PARTS), "depth_mm")):
            part = getattr(content, key)
            yield from _choice(f"device.{key}", key.replace("_", " "), zones, name,
                               library[part.material], getattr(part, name), None, stock)
    else:
        yield from _of_mesh(device.file, library, stock)


def _of_mesh(
    file: DeviceFile | None, library: Mapping[str, LibraryMaterial], stock: Stock
) -> Iterator[Choice]:
    if file is None or not isinstance(file.content, MeshDeviceFile):
        return
    for zone, table in file.content.zones.items():
        if table.thickness_field is None:
            yield from _choice(f"device.zones.{zone}", zone, (zone,), "thickness_mm",
                               library[table.material], table.thickness_mm, table.layup, stock)
    for zone, bar in file.content.bars.items():
        yield from _choice(f"device.bars.{zone}", zone, (zone,), "depth_mm",
                           library[bar.material], bar.depth_mm, None, stock)


def _of_overlays(
    change: Change, library: Mapping[str, LibraryMaterial], fitted: Device, stock: Stock
) -> Iterator[Choice]:
    for overlay in change.overlays:
        path, name = f"overlay.{overlay.name}", overlay.name
        zones = tuple(zone for zone in fitted.walls if zone.startswith(f"{name} on "))
        yield from _choice(path, name, zones, "thickness_mm", library[overlay.material],
                           overlay.thickness_mm, overlay.layup, _of_few_plies(stock))
        if overlay.width_mm is not None and stock.strips is not None:
            widths = stock.strips.width_mm
            yield Choice(f"{name}, width", (f"{path}.width_mm",), zones, widths, widths,
                         overlay.width_mm)


def _of_few_plies(stock: Stock) -> Stock:
    """The same, where a single ply may be bonded on, which is no wall by itself."""
    table = stock.laminate
    if table is None or table.plies is None:
        return stock
    plies = table.plies.model_copy(update={"least": 1})
    return stock.model_copy(
        update={"laminate": table.model_copy(update={"plies": plies})}
    )


def _settled(change: Change) -> set[str]:
    """Zones whose wall the change says for good."""
    whole = (part for part in change.zones if not (part.boxes or part.planes))
    return {zone for part in whole for zone in part.zones}


def _choice(
    path: str, name: str, zones: tuple[str, ...], key: str, material: LibraryMaterial,
    size: float | None, layup: Layup | None, stock: Stock,
) -> Iterator[Choice]:
    """One choice, or none where nothing is known to exist of such a material."""
    table = stock.of(material.kind)
    if table is None:
        return
    if size is not None and table.thickness_mm:
        yield Choice(name, (f"{path}.{key}",), zones, table.thickness_mm, table.thickness_mm, size)
    elif layup is not None and table.plies is not None:
        yield from _stacks(path, name, zones, layup, table.plies)


def _stacks(
    path: str, name: str, zones: tuple[str, ...], layup: Layup, plies: PlyCount
) -> Iterator[Choice]:
    given = layup.thicknesses_mm
    if isinstance(given, tuple):
        if len(set(given)) != 1:
            return  # plies of different thickness: which is taken out is not ours to say
        given = given[0]
    count = len(layup.angles_deg)
    counts = [n for n in range(plies.least, plies.most + 1) if (n - count) % plies.step == 0]
    if counts:
        values = tuple(
            {"angles_deg": list(stacked(layup.angles_deg, n)), "thicknesses_mm": given}
            for n in counts
        )
        yield Choice(name, (f"{path}.layup",), zones, values, tuple(n * given for n in counts),
                     count * given, f"plies of {given:g} mm")  # fmt: skip


def stacked(angles: Sequence[float], count: int) -> tuple[float, ...]:
    """A stack with so many plies, put in or taken out in its middle.

    Example:
        >>> stacked([0, 45, 90, 90, 45, 0], 4), stacked([0, 45, 45, 0], 8), stacked([0, 90, 0], 5)
        ((0, 45, 45, 0), (0, 45, 0, 45, 45, 0, 45, 0), (0, 90, 0, 90, 0))
    """
    half = (len(angles) + 1) // 2
    below, above = list(angles[:half]), list(reversed(angles[half:])) or list(angles[:1])
    if list(angles) == list(reversed(angles)):
        above = below
    low, high = (count + 1) // 2, count // 2
    bottom = (below * (low // len(below) + 1))[:low]
    top = (above * (high // len(above) + 1))[:high]
    return (*bottom, *reversed(top))

# SPDX-License-Identifier: MIT
"""The material library: every number with unit, range, source and status.

The shipped numbers are in ``library.toml``. A user's file of the same form may be laid over it:
it adds materials, or replaces single properties of the shipped ones. Temperature and condition may
stand with a property, with a material or for the whole file; the nearest counts.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from difflib import get_close_matches
from pathlib import Path
from types import MappingProxyType
from typing import Annotated, Any, Literal, get_args

from pydantic import Field, field_validator, model_validator

from fea.errors import FileError, InputError, MaterialError, Problem
from fea.inputfile import Schema, SchemaT, check_schema, read_toml
from fea.material.isotropic import Isotropic
from fea.material.laminate import Ply
from fea.material.plausible import (
    property_name,
    require_consistent,
    require_plausible,
    require_stiffer,
)
from fea.sources import cite
from fea.units import convert, internal_unit, split_key

Kind = Literal["thermoplastic", "metal", "laminate", "printed"]
Status = Literal[
    "read", "derived", "measured", "memory-H", "memory-M", "memory-L", "practice", "assumed"
]

SHIPPED = Path(__file__).with_name("library.toml")
OPTIONAL_CONSTANTS = ("g13", "g23", "density")
ROOM_C = 23.0
"""Temperature of a number where its file does not say another, °C."""


@dataclass(frozen=True)
class Property:
    """One number of a material, and how far it can be trusted.

    Attributes:
        value: the typical value, in `unit`.
        unit: symbol of a unit used inside (MPa, kg/mm³, 1).
        source: a key of the sources, or a citation written out.
        status: "read" in the source, "derived" from read numbers, "measured" by the user,
            "memory-H/M/L" (from memory, confidence high, medium, low), "practice" (common
            practice, no source) or "assumed".
        note: reservations.
        low, high: range of the source, in `unit`; None when it gives a single value.
        temperature_c: at which it holds, °C.
        condition: in which it holds, such as "dry, short-term"; empty where nobody said it.
        title: of the material in the file that gives the number; empty where it gives none.
    """

    value: float
    unit: str
    source: str
    status: str
    note: str = ""
    low: float | None = None
    high: float | None = None
    temperature_c: float = ROOM_C
    condition: str = ""
    title: str = ""

    @property
    def from_memory(self) -> bool:
        """True when nobody has read the number in its source for this library."""
        return self.status.startswith("memory")

    @property
    def may_limit(self) -> bool:
        """False for numbers too uncertain to serve as a limit (memory-L)."""
        return self.status != "memory-L"

    @property
    def lower(self) -> float:
        """The lower end of the range, or the value when there is no range."""
        return self.value if self.low is None else self.low


@dataclass(frozen=True)
class LibraryMaterial:
    """A material with its elastic model and every property that is known.

    Attributes:
        name: key in the library.
        title: one line for people; a user's own title of a shipped material stands beside the
            shipped one, and over the user's own numbers alone.
        kind: "thermoplastic", "metal", "laminate" (one ply of it) or "printed".
        elastic: `Isotropic`, or `Ply` for a laminate; MPa, kg/mm³.
        properties: property name to `Property`; a property that nobody could read or vouch for
            is missing, never zero.
    """

    name: str
    title: str
    kind: Kind
    elastic: Isotropic | Ply
    properties: Mapping[str, Property]

    def property(self, name: str) -> Property | None:
        """The property of that name, or None when it is missing."""
        return self.properties.get(name)


class _Circumstances(Schema):
    temperature_c: Annotated[float, Field(ge=-40.0, le=120.0)] | None = None
    condition: str | None = None


class _PropertyTable(_Circumstances):
    value: float
    source: str
    status: Status
    note: str = ""
    low: float | None = None
    high: float | None = None

    @field_validator("source")
    @classmethod
    def _known_source(cls, source: str) -> str:
        cite(source)
        return source

    @model_validator(mode="after")
    def _in_range(self) -> "_PropertyTable":
        low = self.value if self.low is None else self.low
        high = self.value if self.high is None else self.high
        if self.low is not None and self.high is not None and low > high:
            raise ValueError(f"low {low} lies above high {high}")
        if not low <= self.value <= high:
            raise ValueError(f"value {self.value} must lie between low {low} and high {high}")
        return self


class _Head(_Circumstances):
    title: str | None = None
    kind: Kind | None = None


class _LibraryFile(Schema):
    defaults: dict[str, Any] = Field(default_factory=dict)
    materials: dict[str, dict[str, Any]]


def read_library(extra: Path | str | None = None) -> Mapping[str, LibraryMaterial]:
    """Read the shipped materials, with a user's file laid over them.

    Args:
        extra: a TOML file in the form of the shipped ``library.toml``. A new material gives
            title, kind and its elastic constants; for a shipped one, the properties given
            replace or complete the shipped ones.

    Returns:
        Material name to `LibraryMaterial`.

    Raises:
        FileError: the file is unusable; every problem is listed.

    Example:
        >>> material = read_library()["polypropylene-homopolymer"]
        >>> strength = material.property("yield_strength")
        >>> strength.value, strength.low, strength.unit, strength.from_memory
        (34.0, 31.0, 'MPa', False)
    """
    library = _Reader(SHIPPED, {}).materials()
    if extra is not None:
        library |= _Reader(Path(extra), library).materials()
    return MappingProxyType(library)


def find_material(library: Mapping[str, LibraryMaterial], name: str) -> LibraryMaterial:
    """The material of that name; raises `MaterialError` that lists the names there are."""
    if name not in library:
        raise MaterialError(f"unknown material '{name}'; the library has {', '.join(library)}")
    return library[name]


def with_property(
    library: Mapping[str, LibraryMaterial], name: str, key: str, change: Callable[[float], float]
) -> Mapping[str, LibraryMaterial]:
    """The library with one number of one material changed, and both ends of its range alike.

    Args:
        library: materials by name.
        name: of the material;  key: of the property with its unit, as in a materials file.
        change: from the old number to the new one, in the unit of `key`.

    Raises:
        MaterialError: no such material or property, or a number that no material has.

    Example:
        >>> library = with_property(read_library(), "polypropylene-homopolymer",
        ...                         "youngs_modulus_mpa", lambda old: 0.5 * old)
        >>> library["polypropylene-homopolymer"].elastic.youngs_modulus
        700.0
    """
    material, unit = find_material(library, name), split_key(key)[1]
    old = material.property(property_name(key))
    if old is None:
        raise MaterialError(f"material '{name}' has no number '{key}' to change; it has "
                            f"{', '.join(material.properties)}, each with its unit")  # fmt: skip
    one = convert(1.0, unit)
    value, low, high = (
        None if number is None else one * change(number / one)
        for number in (old.value, old.low, old.high)
    )
    assert value is not None
    require_plausible(key, value, value / one)
    new = replace(old, value=value, low=low, high=high, source="assumed", status="assumed",
                  note=f"changed by hand from {old.value / one:g} {unit}".removesuffix(" 1"))
    properties = {**material.properties, property_name(key): new}
    require_stiffer(_values(properties))
    made = replace(material, properties=MappingProxyType(properties),
                   elastic=_elastic(material.kind, properties))
    return MappingProxyType({**library, name: made})


class _Reader:
    """Reads one file piece by piece, so that one mistake hides no other."""

    def __init__(self, path: Path, base: Mapping[str, LibraryMaterial]):
        self.path, self.base = path, base
        self.problems: list[Problem] = []

    def materials(self) -> dict[str, LibraryMaterial]:
        content = read_toml(self.path, _LibraryFile)
        defaults = self._checked("defaults", content.defaults, _Circumstances)
        found = {
            name: self._material(name, table, defaults or _Circumstances())
            for name, table in content.materials.items()
        }
        if self.problems:
            raise FileError(self.path, self.problems)
        return {name: material for name, material in found.items() if material is not None}

    def _checked(self, where: str, data: object, schema: type[SchemaT]) -> SchemaT | None:
        try:
            return check_schema(self.path, data, schema)
        except FileError as error:
            self.problems += [
                Problem(".".join(filter(None, [where, problem.where])), problem.what)
                for problem in error.problems
            ]
            return None

    def _material(
        self, name: str, table: Mapping[str, Any], defaults: _Circumstances
    ) -> LibraryMaterial | None:
        where, base, before = f"materials.{name}", self.base.get(name), len(self.problems)
        head = self._checked(where, {k: v for k, v in table.items() if k != "properties"}, _Head)
        rows = table.get("properties", {})
        if not isinstance(rows, Mapping):
            self.problems.append(Problem(f"{where}.properties", "is a table, one key a property"))
            rows = {}
        nearest = _nearest(head or _Circumstances(), defaults)
        properties = dict(base.properties) if base else {}
        title = base.title if base else None
        kind = base.kind if base else None
        own = title
        if head is not None:
            own, kind = head.title or title, head.kind or kind
            title = own if title in (None, own) else f"{title}, with numbers of “{own}”"
        for key, property_ in self._properties(f"{where}.properties", rows, nearest):
            properties[key] = replace(property_, title=own or "")
        if head is not None and (title is None or kind is None):
            self.problems.append(Problem(where, "a new material needs a title, and a kind out of "
                                                f"{', '.join(get_args(Kind))}"))
        if title is None or kind is None or len(self.problems) > before:
            return None
        try:
            require_stiffer(_values(properties))
            require_consistent(_values(properties))
            elastic = _elastic(kind, properties)
        except InputError as error:
            self.problems.append(Problem(where, str(error)))
            return None
        return LibraryMaterial(name, title, kind, elastic, MappingProxyType(properties))

    def _require_known(self, name: str) -> None:
        """Refuse a name in a user's file that no material of the library has: nothing reads it."""
        known = {each for item in self.base.values() for each in item.properties}
        known |= {*OPTIONAL_CONSTANTS}
        if self.base and name not in known:
            near = get_close_matches(name, sorted(known), n=3)
            hint = "did you mean" if near else "there are"
            listed = ", ".join(near or sorted(known))
            raise MaterialError(f"no property is called '{name}'; {hint} {listed}")

    def _properties(
        self, where: str, rows: Mapping[str, Any], nearest: _Circumstances
    ) -> Iterator[tuple[str, Property]]:
        given: set[str] = set()
        for key, data in rows.items():
            row = self._checked(f"{where}.{key}", data, _PropertyTable)
            try:
                name = property_name(key)
                self._require_known(name)
                if name in given:
                    raise MaterialError(f"property '{name}' is given twice")
                given.add(name)
            except InputError as error:
                self.problems.append(Problem(f"{where}.{key}", str(error)))
                continue
            if row is not None:
                try:
                    yield name, _property(key, row, nearest)
                except InputError as error:
                    self.problems.append(Problem(f"{where}.{key}", str(error)))


def _nearest(near: _Circumstances, far: _Circumstances) -> _Circumstances:
    return _Circumstances(
        temperature_c=far.temperature_c if near.temperature_c is None else near.temperature_c,
        condition=far.condition if near.condition is None else near.condition,
    )


def _property(key: str, row: _PropertyTable, around: _Circumstances) -> Property:
    _, unit = split_key(key)
    value, low, high = (
        None if number is None else convert(number, unit)
        for number in (row.value, row.low, row.high)
    )
    assert value is not None
    for inside, given in ((value, row.value), (low, row.low), (high, row.high)):
        if inside is not None and given is not None:
            require_plausible(key, inside, given)
    held = _nearest(row, around)
    return Property(
        value, internal_unit(unit), row.source, row.status, row.note, low=low, high=high,
        temperature_c=ROOM_C if held.temperature_c is None else held.temperature_c,
        condition=held.condition or "",
    )


def _values(properties: Mapping[str, Property]) -> dict[str, float]:
    return {name: each.value for name, each in properties.items()}


def _elastic(kind: Kind, properties: Mapping[str, Property]) -> Isotropic | Ply:
    laminate = kind == "laminate"
    needed = ("e1", "e2", "nu12", "g12") if laminate else ("youngs_modulus", "poisson_ratio")
    missing = [name for name in needed if name not in properties]
    if missing:
        raise MaterialError(f"a {kind} material needs {', '.join(missing)}")
    constants = [properties[name].value for name in needed]
    known = {name: properties[name].value for name in OPTIONAL_CONSTANTS if name in properties}
    if laminate:
        return Ply(*constants, **known)
    return Isotropic(constants[0], constants[1], known.get("density"))

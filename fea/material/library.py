# SPDX-License-Identifier: MIT
"""The material library: every number with unit, range, source and status.

The shipped numbers are in ``library.toml``. A user's file of the same form may be laid over it:
it adds materials, or replaces single properties of the shipped ones.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType
from typing import Literal, get_args

from pydantic import field_validator, model_validator

from fea.errors import FileError, InputError, MaterialError, Problem
from fea.inputfile import Schema, read_toml
from fea.material.isotropic import Isotropic
from fea.material.laminate import Ply
from fea.sources import cite
from fea.units import convert, internal_unit, split_key

Kind = Literal["thermoplastic", "metal", "laminate", "printed"]
Status = Literal[
    "read", "derived", "measured", "memory-H", "memory-M", "memory-L", "practice", "assumed"
]

SHIPPED = Path(__file__).with_name("library.toml")
_UNITS_BY_WORD = (
    (("factor", "poisson", "nu12"), "1"),
    (("density",), "kg/mm³"),
    (("thickness",), "mm"),
    (("strength", "modulus", "stress", "amplitude", "e1", "e2", "g12", "g13", "g23"), "MPa"),
)
OPTIONAL_CONSTANTS = ("g13", "g23", "density")


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
        note: conditions and reservations.
        low, high: range of the source, in `unit`; None when it gives a single value.
    """

    value: float
    unit: str
    source: str
    status: str
    note: str = ""
    low: float | None = None
    high: float | None = None

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
        title: one line for people.
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


class _PropertyTable(Schema):
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
        if not low <= self.value <= high:
            raise ValueError(f"value {self.value} must lie between low {low} and high {high}")
        return self


class _MaterialTable(Schema):
    title: str | None = None
    kind: Kind | None = None
    properties: dict[str, _PropertyTable]


class _LibraryFile(Schema):
    materials: dict[str, _MaterialTable]


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
    library = _materials(SHIPPED, read_toml(SHIPPED, _LibraryFile), {})
    if extra is not None:
        library |= _materials(Path(extra), read_toml(extra, _LibraryFile), library)
    return MappingProxyType(library)


def find_material(library: Mapping[str, LibraryMaterial], name: str) -> LibraryMaterial:
    """The material of that name; raises `MaterialError` that lists the names there are."""
    if name not in library:
        raise MaterialError(f"unknown material '{name}'; the library has {', '.join(library)}")
    return library[name]


def _materials(
    path: Path, content: _LibraryFile, base: Mapping[str, LibraryMaterial]
) -> dict[str, LibraryMaterial]:
    materials, problems = {}, []
    for name, table in content.materials.items():
        try:
            materials[name] = _material(name, table, base.get(name))
        except InputError as error:
            problems.append(Problem(f"materials.{name}", str(error)))
    if problems:
        raise FileError(path, problems)
    return materials


def _material(name: str, table: _MaterialTable, base: LibraryMaterial | None) -> LibraryMaterial:
    title = table.title or (base.title if base else None)
    kind = table.kind or (base.kind if base else None)
    if title is None or kind is None:
        raise MaterialError(
            f"a new material needs a title, and a kind out of {', '.join(get_args(Kind))}"
        )
    properties = dict(base.properties) if base else {}
    given: set[str] = set()
    for key, row in table.properties.items():
        property_name, value = _property(key, row)
        if property_name in given:
            raise MaterialError(f"property '{property_name}' is given twice")
        given.add(property_name)
        properties[property_name] = value
    return LibraryMaterial(
        name, title, kind, _elastic(kind, properties), MappingProxyType(properties)
    )


def _property(key: str, row: _PropertyTable) -> tuple[str, Property]:
    name, unit = split_key(key)
    expected = _expected_unit(name)
    if expected is not None and internal_unit(unit) != expected:
        raise MaterialError(f"'{key}' is in {unit}, but {name} is a quantity in {expected}")
    value, low, high = (
        None if number is None else convert(number, unit)
        for number in (row.value, row.low, row.high)
    )
    assert value is not None
    return name, Property(
        value, internal_unit(unit), row.source, row.status, row.note, low=low, high=high
    )


def _expected_unit(name: str) -> str | None:
    """The unit a property must have by its name, None for one the library does not know."""
    for words, unit in _UNITS_BY_WORD:
        if any(word in name for word in words):
            return unit
    return None


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

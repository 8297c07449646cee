# SPDX-License-Identifier: MIT
"""Bench rigs: what is clamped, how the dummy shank touches the device, what was measured on it."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType
from typing import Annotated, Literal, get_args

from pydantic import Field

from fea.device.device import Device
from fea.errors import InputError
from fea.inputfile import Schema, read_toml
from fea.sources import cite

Direction = Literal[
    "dorsiflexion", "plantarflexion", "inversion", "eversion", "torsion inward", "torsion outward"
]
"""How the foot turns against the shank; torsion inward points the toes inward."""

Quantity = Literal[Direction, "sagittal range"]
"""A direction, or the range of moment over the range of angle from plantar- to dorsiflexion."""

DIRECTIONS: tuple[Direction, ...] = get_args(Direction)

Share = Annotated[float, Field(ge=0.0, lt=1.0)]
Positive = Annotated[float, Field(gt=0.0)]

PAD = 0.2
"""N/mm³, liner between dummy and device: 5 mm of foam of 1 MPa; memory-M, thickness assumed."""


class Published(Schema):
    """A class of devices as measured on a rig.

    Attributes:
        name: of the class, for people.
        quantity: what was measured.
        low, high: range of the class, N·m/deg.
        source, status, note: where the numbers come from.
    """

    name: str
    quantity: Quantity
    low: Annotated[float, Field(ge=0.0)]
    high: Positive
    source: str
    status: str
    note: str = ""


class Moments(Schema):
    """Highest moment in each direction, N·m; `frontal` and `torsion` to both sides."""

    dorsiflexion: Positive
    plantarflexion: Positive
    frontal: Positive
    torsion: Positive


class _RigTable(Schema):
    title: str
    source: str
    status: str
    about: str
    contact: Literal["presses", "clamped"] = "presses"
    from_share: Share = 0.0
    held_from_share: Share = 0.0
    pad_n_per_mm3: Positive = PAD
    straps: bool = True
    strap_slack_mm: Annotated[float, Field(ge=0.0)] = 0.0
    moments_nm: Moments
    kinds: tuple[str, ...] = ()
    published: tuple[Published, ...] = ()


class _RigFile(Schema):
    rigs: dict[str, _RigTable]


@dataclass(frozen=True)
class Rig:
    """A stiffness bench: the foot plate is clamped, a dummy shank turns about the ankle axis.

    Attributes:
        name, title: short name, and one line for people.
        about: what the source tells, and what is assumed.
        source, status: of the set-up.
        moments: highest moment in each direction, N·mm.
        contact: "presses" where the dummy lies loose in the device, "clamped" where the device is
            gripped on both faces.
        from_share: height from which the dummy touches, as a share of the height of the zones on
            the shank; 0 for all of it.
        held_from: share of the plate's length, from the heel, from which it is clamped; 0 for the
            whole plate.
        zones: of the shank that the dummy touches; None for all.
        pad: N/mm³ between dummy and device.
        straps: whether the device's straps are closed over the dummy.
        strap_slack: mm by which a strap is stretched before it pulls.
        kinds: of material for which this is the nearest published rig.
        published: classes measured on it.
    """

    name: str
    title: str
    about: str
    source: str
    status: str
    moments: Mapping[Direction, float]
    contact: Literal["presses", "clamped"] = "presses"
    from_share: float = 0.0
    held_from: float = 0.0
    zones: tuple[str, ...] | None = None
    pad: float = PAD
    straps: bool = True
    strap_slack: float = 0.0
    kinds: tuple[str, ...] = ()
    published: tuple[Published, ...] = ()


def rigs() -> Mapping[str, Rig]:
    """The rigs that are described here, by name.

    Example:
        >>> list(rigs())[:3]
        ['dummy-shank', 'held-forefoot', 'clamped-calf']
        >>> rigs()["clamped-calf"].moments["plantarflexion"]  # N·mm
        20000.0
    """
    content = read_toml(Path(__file__).with_name("rigs.toml"), _RigFile)
    return MappingProxyType({name: _rig(name, table) for name, table in content.rigs.items()})


def rig_of(name: str) -> Rig:
    """The rig of a name; raises `InputError` that lists the names there are."""
    known = rigs()
    if name not in known:
        raise InputError(f"unknown rig '{name}'; use one of {', '.join(known)}")
    return known[name]


def nearest_rig(device: Device) -> Rig:
    """The rig on which devices of this material were measured: chosen before anything is solved.

    A device of walls and bars of several kinds has none; it comes on "dummy-shank".
    """
    kinds: set[str] = {wall.material.kind for wall in device.walls.values()}
    kinds |= {bar.material.kind for bar in device.bars.values()}
    every = rigs()
    fitting = [rig for rig in every.values() if kinds <= set(rig.kinds)]
    return fitting[0] if fitting else every["dummy-shank"]


def _rig(name: str, table: _RigTable) -> Rig:
    for source in (table.source, *(each.source for each in table.published)):
        cite(source)
    moments = table.moments_nm
    in_order = (
        moments.dorsiflexion, moments.plantarflexion, moments.frontal, moments.frontal,
        moments.torsion, moments.torsion,
    )  # fmt: skip
    return Rig(
        name, table.title, table.about, table.source, table.status,
        {each: 1000.0 * moment for each, moment in zip(DIRECTIONS, in_order, strict=True)},
        contact=table.contact,
        from_share=table.from_share,
        held_from=table.held_from_share,
        pad=table.pad_n_per_mm3,
        straps=table.straps,
        strap_slack=table.strap_slack_mm,
        kinds=table.kinds,
        published=table.published,
    )  # fmt: skip

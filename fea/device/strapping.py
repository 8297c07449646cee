# SPDX-License-Identifier: MIT
"""Straps: their table in a device file, and the nodes of the wall that they are fastened to."""

from collections.abc import Collection, Mapping, Sequence
from typing import Annotated, Literal

import numpy as np
from numpy.typing import NDArray
from pydantic import Field, model_validator

from fea.device.device import Strap, StrapRivets, StrapSlot
from fea.errors import DeviceError, Problem
from fea.inputfile import Schema, refuse
from fea.material.library import LibraryMaterial
from fea.mesh.mesh import Mesh

STIFFNESS = 5.0
"""N/mm, webbing with its closure over the soft calf. Source: assumed; it matters where the limb
pulls away from the front piece, as at heel strike."""

_RUNS: dict[str, tuple[str, tuple[float, float, float], int]] = {
    # body, way round the limb, axis along which it is placed
    "calf": ("shank", (-1.0, 0.0, 0.0), 2),
    "instep": ("foot", (0.0, 0.0, 1.0), 0),
}


def strap_table(strap: Strap) -> dict[str, object]:
    """The keys of `StrapTable` that give this strap again."""
    way = next(way for way, (body, _, _) in _RUNS.items() if body == strap.body)
    table: dict[str, object] = {
        "name": strap.name,
        "round": way,
        "zone": strap.zone,
        "at_share": strap.at_share,
        "width_mm": strap.width,
    }
    given = {} if strap.status == "assumed" else {"stiffness_n_per_mm": strap.stiffness}
    return table | given | _fixing_table(strap.fixing)


def _fixing_table(fixing: StrapRivets | StrapSlot | None) -> dict[str, object]:
    match fixing:
        case StrapRivets(count, diameter, washer, edge, material, hole):
            given = {} if hole is None else {"hole_diameter_mm": hole}
            return {"rivets": given | {
                "count": count, "diameter_mm": diameter, "washer_diameter_mm": washer,
                "edge_distance_mm": edge, "material": material.name}}
        case StrapSlot(length, width, edge):
            return {"slot": {"length_mm": length, "width_mm": width, "edge_distance_mm": edge}}
    return {}


HoleMm = Annotated[float, Field(gt=0.0, le=60.0)]


def hole_refusals(diameter: float, hole: float | None) -> dict[str, bool]:
    """What is wrong with the hole of a shank, for `fea.inputfile.refuse`; mm."""
    return {"hole_diameter_mm must not lie below diameter_mm": hole is not None and hole < diameter}


class RivetsTable(Schema):
    """Rivets or screws at each end of a strap; `edge_distance_mm` from their middle to the rim.

    `diameter_mm` of a thread is that of its core, and `hole_diameter_mm` what is drilled for it.
    """

    count: Annotated[int, Field(ge=1, le=6)]
    diameter_mm: Annotated[float, Field(ge=1.0, le=12.0)]
    hole_diameter_mm: Annotated[float, Field(ge=1.0, le=14.0)] | None = None
    washer_diameter_mm: HoleMm
    edge_distance_mm: HoleMm
    material: str

    @model_validator(mode="after")
    def _fit_together(self) -> "RivetsTable":
        hole = self.hole_diameter_mm or self.diameter_mm
        refuse(hole_refusals(self.diameter_mm, self.hole_diameter_mm) | {
            "washer_diameter_mm must exceed diameter_mm and hole_diameter_mm":
                self.washer_diameter_mm <= hole,
            "edge_distance_mm, from the middle of the rivet to the rim, must exceed half of "
            "diameter_mm and hole_diameter_mm": self.edge_distance_mm <= 0.5 * hole,
        })  # fmt: skip
        return self


class SlotTable(Schema):
    """A slot at each end of a strap: along the rim, across, and what is left up to the rim."""

    length_mm: Annotated[float, Field(gt=0.0, le=130.0)]
    width_mm: HoleMm
    edge_distance_mm: HoleMm

    @model_validator(mode="after")
    def _is_a_slot(self) -> "SlotTable":
        if self.width_mm > self.length_mm:
            raise ValueError("width_mm, through which the strap is put, must not exceed length_mm")
        return self


class StrapTable(Schema):
    """A strap from one edge of a zone round the limb to the other.

    Keys: `round` the "calf" (behind the shank) or the "instep" (over the foot); `zone` it is
    fastened to; `at_share` of the zone's height (calf) or length from behind (instep) at which its
    middle lies; `width_mm`; `stiffness_n_per_mm`, its pull per elongation with the flesh under it;
    `rivets` or `slot`, how each of its ends is fastened.
    """

    name: Annotated[str, Field(min_length=1)]
    round: Literal["calf", "instep"]
    zone: str
    at_share: Annotated[float, Field(ge=0.0, le=1.0)] = 0.5
    width_mm: Annotated[float, Field(ge=10.0, le=120.0)] = 40.0
    stiffness_n_per_mm: Annotated[float, Field(gt=0.0, le=500.0)] | None = None
    rivets: RivetsTable | None = None
    slot: SlotTable | None = None

    @model_validator(mode="after")
    def _one_fixing(self) -> "StrapTable":
        length = self.width_mm if self.slot is None else self.slot.length_mm
        refuse({
            "is fastened by rivets or through a slot; give one of them":
                self.rivets is not None and self.slot is not None,
            f"width_mm {self.width_mm:g} does not go through a slot of length_mm {length:g}; "
            "lengthen the slot, or take a narrower strap": length < self.width_mm,
        })  # fmt: skip
        return self

    def fixing(
        self, library: Mapping[str, LibraryMaterial]
    ) -> StrapRivets | StrapSlot | None:
        """How each end is fastened; None where the file does not say."""
        if self.slot is not None:
            return StrapSlot(self.slot.length_mm, self.slot.width_mm, self.slot.edge_distance_mm)
        if (rivets := self.rivets) is None:
            return None
        return StrapRivets(rivets.count, rivets.diameter_mm, rivets.washer_diameter_mm,
                           rivets.edge_distance_mm, library[rivets.material],
                           rivets.hole_diameter_mm)


def strapped(
    mesh: Mesh,
    tables: Sequence[StrapTable],
    middle: float,
    library: Mapping[str, LibraryMaterial],
    problems: list[Problem],
) -> tuple[Mesh, tuple[Strap, ...]]:
    """The mesh with the places that straps are fastened to, and the straps.

    Args:
        mesh: of the device, in its frame.
        tables: of the device file.
        middle: y of the middle of the limb, mm.
        library: materials by name, among them those of rivets.
        problems: takes every strap whose zone is not there, or has no edge on one side of the limb
            where the strap lies; such a strap is left out.
    """
    straps = []
    for number, table in enumerate(tables):
        if wrong := strap_zone_problems([table], mesh.zones, number):
            problems += wrong
            continue
        try:
            places = _ends(mesh, table, middle)
        except DeviceError as error:
            problems.append(Problem(f"straps.{number}.at_share", str(error)))
            continue
        mesh = mesh.with_places(places)
        first, last = places
        body, over, _ = _RUNS[table.round]
        given = table.stiffness_n_per_mm
        straps.append(
            Strap(
                table.name, (first, last), body, over, table.width_mm,
                STIFFNESS if given is None else given,
                "assumed" if given is None else "device file",
                "assumed" if given is None else "read",
                table.zone, table.at_share, table.fixing(library),
            )
        )  # fmt: skip
    return mesh, tuple(straps)


def strap_zone_problems(
    tables: Sequence[StrapTable], zones: Collection[str], first: int = 0
) -> list[Problem]:
    """Straps on zones that are not there; `first` is the number of the first strap."""
    return [
        Problem(f"straps.{number}.zone", (
            f"strap '{table.name}': unknown zone '{table.zone}'; there are {', '.join(zones)}"))
        for number, table in enumerate(tables, start=first)
        if table.zone not in zones
    ]  # fmt: skip


def _ends(mesh: Mesh, table: StrapTable, middle: float) -> dict[str, NDArray[np.int64]]:
    """The nodes on either edge of the zone that a strap is fastened to, by name of the place."""
    _, over, along = _RUNS[table.round]
    nodes = mesh.zone_nodes(table.zone)
    points = mesh.points[nodes]
    low, high = points[:, along].min(), points[:, along].max()
    near = np.abs(points[:, along] - low - table.at_share * (high - low)) < 0.5 * table.width_mm
    places = {}
    for side, sign in (("left", 1.0), ("right", -1.0)):
        here = near & (sign * (points[:, 1] - middle) > 0.0)
        if not here.any():
            raise DeviceError(
                f"strap '{table.name}': zone '{table.zone}' has no nodes on the {side} of the "
                f"limb at at_share = {table.at_share:g}; choose another zone or place"
            )
        reach = np.asarray(points @ over)
        edge = here & (reach > reach[here].max() - 0.25 * table.width_mm)
        places[f"{table.name} {side}"] = nodes[edge]
    return places

# SPDX-License-Identifier: MIT
"""Straps: their table in a device file, and the nodes of the wall that they are fastened to."""

from collections.abc import Sequence
from typing import Annotated, Literal

import numpy as np
from pydantic import Field

from fea.device.device import Strap
from fea.errors import DeviceError
from fea.inputfile import Schema
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
    return table | given


class StrapTable(Schema):
    """A strap from one edge of a zone round the limb to the other.

    Keys: `round` the "calf" (behind the shank) or the "instep" (over the foot); `zone` it is
    fastened to; `at_share` of the zone's height (calf) or length from behind (instep) at which its
    middle lies; `width_mm`; `stiffness_n_per_mm`, its pull per elongation with the flesh under it.
    """

    name: Annotated[str, Field(min_length=1)]
    round: Literal["calf", "instep"]
    zone: str
    at_share: Annotated[float, Field(ge=0.0, le=1.0)] = 0.5
    width_mm: Annotated[float, Field(ge=10.0, le=120.0)] = 40.0
    stiffness_n_per_mm: Annotated[float, Field(gt=0.0, le=500.0)] | None = None


def strapped(
    mesh: Mesh, tables: Sequence[StrapTable], middle: float
) -> tuple[Mesh, tuple[Strap, ...]]:
    """The mesh with the places that straps are fastened to, and the straps.

    Args:
        mesh: of the device, in its frame.
        tables: of the device file.
        middle: y of the middle of the limb, mm.

    Raises:
        DeviceError: a strap whose zone has no edge on one side of the limb there.
    """
    straps = []
    for table in tables:
        body, over, along = _RUNS[table.round]
        if table.zone not in mesh.zones:
            known = ", ".join(mesh.zones)
            raise DeviceError(
                f"strap '{table.name}': unknown zone '{table.zone}'; there are {known}"
            )
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
        mesh = mesh.with_places(places)
        first, last = places
        given = table.stiffness_n_per_mm
        straps.append(
            Strap(
                table.name, (first, last), body, over, table.width_mm,
                STIFFNESS if given is None else given,
                "assumed" if given is None else "device file",
                "assumed" if given is None else "read",
                table.zone, table.at_share,
            )
        )  # fmt: skip
    return mesh, tuple(straps)

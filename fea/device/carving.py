# SPDX-License-Identifier: MIT
"""Walls of which a part becomes a zone of its own, and walls whose cells are cut."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from fea.device.device import Device, Wall
from fea.errors import DeviceError
from fea.mesh.cutting import cut
from fea.mesh.mesh import Mesh, triangle_geometry

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]
Mask = NDArray[np.bool_]

Maker = Callable[[str, Wall, Array], Wall]
"""Makes the wall of a part, of the name of its zone, the zone's wall there, and areas (c,) mm²."""


def carved(device: Device, label: IntArray, name: str, make: Maker) -> Device:
    """The device with parts of its walls as zones of their own.

    Args:
        device: of fixed geometry.
        label: (c,) part of each triangle, from 0; -1 stays as it is.
        name: of the parts, which are called "NAME on ZONE".
        make: their walls.

    Raises:
        DeviceError: the name is taken.
    """
    mesh = device.mesh
    area, _ = triangle_geometry(mesh.points, mesh.cells["triangle"])
    zones = {zone: cells for zone, cells in mesh.zones.items() if zone not in device.walls}
    walls: dict[str, Wall] = {}
    names: dict[str, list[str]] = {}
    for zone, wall in device.walls.items():
        numbers = mesh.zone(zone)[1]
        own = label[numbers]
        found = np.unique(own[own >= 0])
        parts = [(zone, own < 0, wall)] if (own < 0).any() else []
        for count, part in enumerate(found, start=1):
            rows = own == part
            title = f"{name} on {zone}" + (f", {count}" if len(found) > 1 else "")
            if title in device.walls or title in device.bars:
                raise DeviceError(f"there is a zone '{title}' already; give what you call '{name}' "
                                  "another name")
            parts.append((title, rows, make(zone, _rows(wall, rows), area[numbers[rows]])))
        for title, rows, made in parts:
            zones[title] = ("triangle", numbers[rows])
            walls[title] = _rows(made, rows) if title == zone else made
        names[zone] = [title for title, _, _ in parts]

    def renamed(lists: Sequence[str]) -> tuple[str, ...]:
        return tuple(part for zone in lists for part in names.get(zone, [zone]))

    return replace(
        device,
        file=None,
        mesh=Mesh(mesh.points, mesh.cells, mesh.places, zones),
        walls=walls,
        plate_zones=renamed(device.plate_zones),
        foot_zones=renamed(device.foot_zones),
        shank_zones=renamed(device.shank_zones),
    )


def cut_walls(
    device: Device, values: Array, column: int, level: float, cells: Mask
) -> tuple[Device, Array, IntArray]:
    """The device with walls cut where a value passes a level; see `fea.mesh.cutting`.

    Returns:
        The device, the values at its nodes, and (c,) how many cells each triangle has become.
    """
    made = cut(device.mesh, values, column, level, cells)
    parts = made.parts["triangle"]
    walls = {zone: repeated(wall, parts[device.mesh.zone(zone)[1]])
             for zone, wall in device.walls.items()}
    return replace(device, file=None, mesh=made.mesh, walls=walls), made.values, parts


def require_free(device: Device, cells: Mask, what: str, *, joints: bool) -> None:
    """Refuse to take cells (c,) that hold holes or straps, or joints too.

    Raises:
        DeviceError: names the first that is in the way.
    """
    held: Mapping[str, str] = {
        **{hole.place: f"hole '{hole.name}'" for hole in device.holes},
        **{place: f"an end of strap '{strap.name}'"
           for strap in device.straps for place in strap.places},
        **({each.shell_place: f"fastening '{each.name}'" for each in device.fastenings}
           if joints else {}),
    }  # fmt: skip
    triangles = device.mesh.cells["triangle"][cells]
    for place, words in held.items():
        if np.isin(triangles, device.mesh.place(place)).any():
            x, y, z = device.mesh.points[device.mesh.place(place)].mean(axis=0)
            raise DeviceError(
                f"'{what}' covers {words} at ({x:.0f}, {y:.0f}, {z:.0f}) mm, which cannot be "
                "judged there: let it end before, or move the one or the other"
            )


def _rows(wall: Wall, rows: Mask) -> Wall:
    """The wall of some of its cells."""
    return _each(wall, lambda values: values[rows])


def repeated(wall: Wall, parts: int | IntArray) -> Wall:
    """The wall of cells that were cut into parts: into how many each, or all of them."""
    return _each(wall, lambda values: np.repeat(values, parts, axis=0))


def _each(wall: Wall, change: Callable[[NDArray[np.float64]], NDArray[np.float64]]) -> Wall:
    """The wall with what is given cell by cell changed."""
    thickness, direction = wall.thickness, wall.direction
    if isinstance(thickness, np.ndarray) and thickness.ndim:
        thickness = change(thickness)
    if isinstance(direction, np.ndarray) and direction.ndim > 1:
        direction = change(direction)
    return replace(wall, thickness=thickness, direction=direction)

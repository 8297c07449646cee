# SPDX-License-Identifier: MIT
"""Flat bars riveted on walls: a strut that lies off the wall and is held by its rivets alone.

Its middle lies half of wall and bar off the middle of the wall (`fea.device.barline`). Cells are
made finer under the washers; the walls keep their shape. What bar and wall press on each other
between rivets is left out, as is friction.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from fea.device.barline import BarLine, cell_at
from fea.device.carving import cut_walls, repeated, require_free
from fea.device.changefile import AddedBar
from fea.device.device import Bar, Device
from fea.device.fastening import fasten
from fea.device.strip import lines_along, meant
from fea.errors import DeviceError
from fea.material.library import LibraryMaterial, find_material
from fea.mesh.cutting import refined
from fea.mesh.mesh import Mesh, triangle_geometry

Array = NDArray[np.float64]

_WASHER_EDGES = 2.2  # element edges from the middle of a washer to its rim
_GROWTH = 0.35  # by which the element size grows per mm away from a washer
_FLAT = np.cos(np.radians(20.0))  # of a facet that a bar cannot run up: square to it


def riveted(
    device: Device, bar: AddedBar, library: Mapping[str, LibraryMaterial]
) -> Device:
    """The device with a bar riveted on each part that the bar's zones form together.

    Args:
        device: of fixed geometry.
        bar: what, and where.
        library: materials by name.

    Returns:
        The device with bars "NAME", or "NAME on ZONE" where there are several, fastenings "BAR
        rivet NUMBER" from the lower end, and a note of length, rivets and mass.

    Raises:
        DeviceError: the bar does not fit the device; the message says what to change.
    """
    chosen = meant(device, bar, bar.name)
    area, normal = triangle_geometry(device.mesh.points, device.mesh.cells["triangle"][chosen])
    if area @ np.abs(normal[:, 2]) > _FLAT * area.sum():
        raise DeviceError(f"'{bar.name}' runs up, and {', '.join(bar.zones) or 'the wall'} lies "
                          "flat: name zones that stand, or bond a strip on that runs forward "
                          "([[overlays]])")
    laid = [BarLine(device, bar, part, line) for part, line in lines_along(device, bar, chosen)]
    for each in laid:
        require_free(device, each.under, bar.name, joints=True)
    names = _names(device, bar, laid)
    device = _finer(device, bar, np.concatenate([each.on_wall for each in laid]))
    for each in laid:
        device = _pierced(device, each)
    for name, each in zip(names, laid, strict=True):
        device = _fastened(_with_strut(device, name, each, library), name, each, library)
    return device


def _names(device: Device, bar: AddedBar, laid: Sequence[BarLine]) -> list[str]:
    """Of the bars, each its own."""
    alone = len(laid) == 1
    names = [bar.name if alone else f"{bar.name} on {each.zones[0]}" for each in laid]
    for name in names:
        if name in device.mesh.zones or names.count(name) > 1:
            raise DeviceError(f"there is a part '{name}' already; give what you call '{bar.name}' "
                              "another name, or one bar for each part")
    return names


def _finer(device: Device, bar: AddedBar, rivets: Array) -> Device:
    """The device with cells fine enough under the washers."""
    radius = 0.5 * bar.rivets.washer_diameter_mm

    def size(points: Array) -> Array:
        gap = np.linalg.norm(points[:, None] - rivets, axis=2).min(axis=1)
        return np.asarray(radius / _WASHER_EDGES + _GROWTH * np.maximum(gap - radius, 0.0))

    mesh, parts = refined(device.mesh, size)
    walls = {zone: repeated(wall, parts[device.mesh.zone(zone)[1]])
             for zone, wall in device.walls.items()}
    return replace(device, file=None, mesh=mesh, walls=walls)


def _pierced(device: Device, laid: BarLine) -> Device:
    """The device with nodes where the rivets go through the wall, as near as lines are cut."""
    for point in laid.on_wall:
        away, axes = device.mesh.points - point, None
        for column in (0, 1):
            cells = np.zeros(len(device.mesh.cells["triangle"]), dtype=bool)
            for zone in laid.zones:
                cells[device.mesh.zone(zone)[1]] = True
            cell, _ = cell_at(device.mesh, cells, point)
            if axes is None:
                corners = device.mesh.points[device.mesh.cells["triangle"][cell]]
                first, other = corners[1:] - corners[0]
                axes = np.stack([first, np.cross(np.cross(first, other), first)])
                values = away @ (axes / np.linalg.norm(axes, axis=1, keepdims=True)).T
            only = np.arange(len(cells)) == cell
            device, values, _ = cut_walls(device, values, column, 0.0, only)
    return device


def _with_strut(
    device: Device, name: str, laid: BarLine, library: Mapping[str, LibraryMaterial]
) -> Device:
    """The device with the struts of a bar, not held yet."""
    mesh, count = device.mesh, len(device.mesh.points)
    number = count + np.arange(len(laid.nodes))
    lines = mesh.cells.get("line", np.empty((0, 2), dtype=np.int64))
    own = np.stack([number[:-1], number[1:]], axis=1)
    cells = {**mesh.cells, "line": np.concatenate([lines, own])}
    zones = {**mesh.zones, name: ("line", len(lines) + np.arange(len(own)))}
    x, y, z = (float(value) for value in laid.across)
    made = Bar(find_material(library, laid.bar.material), laid.bar.width_mm, laid.bar.thickness_mm,
               up=(x, y, z))
    return replace(
        device,
        mesh=Mesh(np.concatenate([mesh.points, laid.nodes]), cells, mesh.places, zones),
        bars={**device.bars, name: made},
    )


def _fastened(
    device: Device, name: str, laid: BarLine, library: Mapping[str, LibraryMaterial]
) -> Device:
    """The device with the rivets of a bar, and what is said of it."""
    rivets, mesh = laid.bar.rivets, device.mesh
    fastenings = list(device.fastenings)
    material = None if rivets.material is None else find_material(library, rivets.material)
    pairs = zip(laid.on_bar, laid.on_wall, strict=True)
    for number, (at, on_wall) in enumerate(pairs, start=1):
        mesh, fastening = fasten(
            mesh, f"{name} rivet {number}", at=at, bar_zone=name, shell_zones=laid.holding,
            washer_diameter=rivets.washer_diameter_mm, diameter=rivets.diameter_mm,
            reach=float(np.linalg.norm(at - on_wall)) + rivets.washer_diameter_mm,
            material=material, hole_diameter=rivets.hole_diameter_mm, others=fastenings,
        )  # fmt: skip
        fastenings.append(fastening)
    note = _note(name, laid, device.bars[name].material)
    return replace(device, mesh=mesh, fastenings=tuple(fastenings), notes=(*device.notes, note))


def _note(name: str, laid: BarLine, material: LibraryMaterial) -> str:
    bar, runs = laid.bar, laid.rivet_runs
    density = material.elastic.density
    mass = "of unknown mass"
    if density is not None:
        grams = 1000.0 * density * bar.width_mm * bar.thickness_mm * laid.length
        mass = f"{grams:.0f} g without rivets"
    return (f"Riveted on the outer face, '{name}': {material.title}, {bar.width_mm:g} x "
            f"{bar.thickness_mm:g} mm, {laid.length:.0f} mm long, {len(runs)} rivets "
            f"{runs[1] - runs[0]:.0f} mm apart, {mass}. It is held by its rivets alone: what bar "
            f"and wall press on each other between them is not counted.{laid.shortfall}")

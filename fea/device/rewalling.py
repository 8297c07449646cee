# SPDX-License-Identifier: MIT
"""Other thickness or material in zones of a device, or in parts of them."""

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from fea.device.carving import Array, carved, require_free
from fea.device.changefile import ZoneChange
from fea.device.device import Device, Wall
from fea.device.meshfile import check_wall
from fea.device.strip import meant
from fea.errors import DeviceError
from fea.material.isotropic import Isotropic
from fea.material.laminate import Laminate
from fea.material.library import LibraryMaterial, find_material


def rewalled(
    device: Device, change: ZoneChange, library: Mapping[str, LibraryMaterial]
) -> Device:
    """The device with other walls.

    Args:
        device: of fixed geometry.
        change: what becomes of which part; whole zones keep their names.
        library: materials by name.

    Raises:
        DeviceError: zones, landmarks or planes that are not there, or walls that cannot be.
    """
    name = change.name or ", ".join(change.zones)
    cells = meant(device, change, name)
    whole = [zone for zone in device.walls if cells[device.mesh.zone(zone)[1]].all()]
    walls = {
        zone: _changed(zone, wall, change, library) if zone in whole else wall
        for zone, wall in device.walls.items()
    }
    notes = [*device.notes, *(_note(zone, device.walls[zone], walls[zone]) for zone in whole)]
    device = replace(device, file=None, walls=walls, notes=tuple(notes))
    for zone in whole:
        cells[device.mesh.zone(zone)[1]] = False
    if not cells.any():
        return device
    require_free(device, cells, name, joints=False)

    def made(zone: str, wall: Wall, areas: Array) -> Wall:
        new = _changed(zone, wall, change, library)
        notes.append(_note(f"{name} on {zone}", wall, new))
        return new

    return replace(carved(device, np.where(cells, 0, -1), name, made), notes=tuple(notes))


def _note(zone: str, before: Wall, after: Wall) -> str:
    """What a wall was and what it is, as built."""
    sizes = [np.asarray(wall.thickness) for wall in (before, after)]
    was, now = (f"{each.min():.1f}" + (f" to {each.max():.1f}" if np.ptp(each) > 0.05 else "")
                for each in sizes)
    words = f"Wall of '{zone}' as built: {now} mm in place of {was} mm"
    if after.material.name != before.material.name:
        words += f", {after.material.title} in place of {before.material.title}"
    return words + "."


def _changed(
    zone: str, wall: Wall, change: ZoneChange, library: Mapping[str, LibraryMaterial]
) -> Wall:
    """The wall as the change makes it."""
    if wall.layers:
        raise DeviceError(f"zone '{zone}' has something bonded on; change the wall before that")
    material = wall.material if change.material is None else find_material(library, change.material)
    if change.direction is not None:
        wall = replace(wall, direction=change.direction)
    layup, thickness = wall.layup, wall.thickness
    if change.layup is not None:
        layup = Laminate(material.elastic, change.layup.angles_deg, change.layup.thicknesses_mm)
    elif isinstance(material.elastic, Isotropic):
        layup = None
        thickness = change.thickness_mm or (change.thickness_times or 1.0) * np.asarray(thickness)
    elif layup is None or change.thickness_mm is not None:
        raise DeviceError(f"zone '{zone}': {material.name} is a ply material; give the zone a "
                          "layup, or thickness_times of the one that it has")
    else:
        plies = np.asarray(layup.thicknesses) * (change.thickness_times or 1.0)
        layup = Laminate(material.elastic, layup.angles_deg, plies.tolist())
    if layup is not None:
        if isinstance(material.elastic, Isotropic):
            raise DeviceError(f"zone '{zone}': {material.name} is one solid, which has no layup; "
                              "give thickness_mm")
        thickness = layup.thickness
    thickness = np.asarray(thickness, dtype=float)
    try:
        for size in (thickness.min(), thickness.max()):
            check_wall(float(size))
    except ValueError as error:
        raise DeviceError(f"zone '{zone}': {error}") from None
    as_is = change.thickness_mm is None and change.layup is None
    return replace(
        wall, material=material, layup=layup, thinning=wall.thinning if as_is else 1.0,
        thickness=thickness if thickness.ndim else float(thickness),
    )  # fmt: skip

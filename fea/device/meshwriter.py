# SPDX-License-Identifier: MIT
"""Write a device as a plain surface mesh with its device file, such as for another program."""

import json
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from fea.device.device import Device, Fastening, Wall
from fea.device.drilling import hole_table
from fea.device.reader import read_device
from fea.device.strapping import strap_table
from fea.errors import DeviceError
from fea.limb import Limb
from fea.mesh.mesh import Mesh
from fea.mesh.writing import write_mesh
from fea.outputfile import replacing
from fea.shipped import resolve
from fea.wearer import read_wearer

SURFACE_SIZE = 5.0
"""Edge length of a recipe that is written as a surface, mm. Finer than a recipe's own: a surface is
never meshed anew, and two meshes, which show no order, must show that its cells are small enough
(`fea.study.refine`)."""

_ZONE, _THICKNESS, _DIRECTION = "zone", "thickness", "direction"


def write_mesh_device(
    device: Device,
    path: str | Path,
    *,
    name: str | None = None,
    title: str | None = None,
    origin: str | None = None,
    licence: str = "",
) -> None:
    """Write a device file with ``construction = "mesh"`` and, beside it, its mesh as VTU.

    Zones and wall thickness are cell arrays of the mesh, "zone" and "thickness" in mm, and so is
    "direction" where plies are directed cell by cell; reading the file gives the same device again.

    Args:
        device: a device of fixed geometry.
        path: the TOML file to write; the mesh takes its name with the suffix ".vtu".
        name, title, origin: replace those of the device.
        licence: of the files.

    Raises:
        DeviceError: something is bonded on, for which a device file has no keys.
        FileError: a file cannot be written.
    """
    path = Path(path)
    if strips := [zone for zone, wall in device.walls.items() if wall.layers]:
        raise DeviceError(f"device '{device.name}' has something bonded on ('{strips[0]}'), for "
                          "which a device file has no keys: write the device without it, and keep "
                          "the change beside it")
    zones = [*device.walls, *device.bars]
    thickness = np.zeros(len(device.mesh.cells["triangle"]))
    direction = np.zeros((len(thickness), 3))
    for zone, wall in device.walls.items():
        thickness[device.mesh.zone(zone)[1]] = wall.thickness
        if isinstance(wall.direction, np.ndarray):
            direction[device.mesh.zone(zone)[1]] = wall.direction
    fields: dict[str, dict[str, NDArray[np.float64]]] = {_THICKNESS: {"triangle": thickness}}
    if direction.any():
        fields[_DIRECTION] = {"triangle": direction}
    write_mesh(path.with_suffix(".vtu"), device.mesh, zones, fields)
    head = {
        "construction": "mesh",
        "name": name or device.name,
        "title": title or device.title,
        "origin": origin or device.origin,
        "licence": licence,
        "side": device.side,
        "mesh": path.with_suffix(".vtu").name,
        "unit": "mm",
    }
    note = [f"# SPDX-License-Identifier: {licence}"] if licence else []
    parts = [*note, _table("", head | _zone_lists(device)), *_tables(device)]
    with replacing(path) as draft:
        draft.write_text("\n".join(parts), encoding="utf-8")


def write_fitted(recipe: str | Path, wearer: str | Path, folder: str | Path) -> Path:
    """Fit a recipe to a wearer and write it as a plain surface mesh, NAME-surface.toml and .vtu.

    Its cells are those of `SURFACE_SIZE`.

    Args:
        recipe, wearer: shipped names or paths.
        folder: where to write.

    Returns:
        The device file.
    """
    person = resolve("wearers", wearer)
    device = read_device(recipe).fit(Limb.of(read_wearer(person)), SURFACE_SIZE)
    name = f"{device.name}-surface"
    path = Path(folder, f"{name}.toml")
    write_mesh_device(
        device, path, name=name, title=f"{device.title}; as a surface mesh", licence="MIT",
        origin=f"Written from the recipe {device.name}, fitted to {person.stem}. {device.origin}",
    )
    return path


def _zone_lists(device: Device) -> dict[str, object]:
    return {key: getattr(device, key) for key in ("plate_zones", "foot_zones", "shank_zones")}


def _tables(device: Device) -> Iterator[str]:
    """The tables of the file after its head."""
    sole = device.sole
    yield _table("sole", {"height_mm": sole.height,
                          "heel_sole_difference_mm": sole.heel_sole_difference,
                          "ankle_set_deg": sole.ankle_set_deg})
    yield _table("landmarks", device.landmarks)
    number = {zone: k + 1 for k, zone in enumerate([*device.walls, *device.bars])}
    for zone, wall in device.walls.items():
        yield _table(f"zones.{_key(zone)}", {
            "cell_data": _ZONE, "value": number[zone], **_wall(wall)})
    for zone, bar in device.bars.items():
        yield _table(f"bars.{_key(zone)}", {
            "cell_data": _ZONE, "value": number[zone], "material": bar.material.name,
            "width_mm": bar.width, "depth_mm": bar.depth, "up": bar.up})
    for fastening in device.fastenings:
        yield _table(f"fastenings.{_key(fastening.name)}", _fastening(device, fastening))
    for strap in device.straps:
        yield _row("straps", strap_table(strap))
    for hole in device.holes:
        yield _row("holes", hole_table(hole, hole.middle(device.mesh)))


def _wall(wall: Wall) -> dict[str, object]:
    content: dict[str, object] = {"material": wall.material.name}
    if wall.layup is not None:
        content["layup"] = {"angles_deg": wall.layup.angles_deg,
                            "thicknesses_mm": wall.layup.thicknesses}
    else:
        content["thickness_field"] = _THICKNESS
    if isinstance(wall.direction, np.ndarray):
        content["direction_field"] = _DIRECTION
    elif wall.direction is not None:
        content["direction"] = wall.direction
    return content | {"offset_mm": wall.offset, "thinning": wall.thinning}


def _fastening(device: Device, fastening: Fastening) -> dict[str, object]:
    mesh = device.mesh
    node = mesh.points[mesh.place(fastening.bar_place)[0]]
    patch = mesh.place(fastening.shell_place)
    held = [zone for zone in device.walls if np.isin(patch, mesh.zone_nodes(zone)).any()]
    gaps = np.linalg.norm(mesh.points[patch] - node, axis=1)
    spread = np.linalg.norm(mesh.points[patch] - mesh.points[patch[np.argmin(gaps)]], axis=1)
    hole = fastening.hole_diameter
    return {
        "at": node,
        "bar": _bar_of(mesh, device.bars, fastening),
        "zones": held,
        "diameter_mm": fastening.diameter,
        "washer_diameter_mm": fastening.washer or 2.0 * float(spread.max()) * (1.0 + 1e-6),
        "reach_mm": max(15.0, 1.5 * float(gaps.min())),
    } | ({} if fastening.material is None else {"material": fastening.material.name}) | (
        {} if hole is None else {"hole_diameter_mm": hole})


def _bar_of(mesh: Mesh, bars: Iterable[str], fastening: Fastening) -> str:
    node = mesh.place(fastening.bar_place)[0]
    return next(bar for bar in bars if node in mesh.zone_nodes(bar))


def _table(name: str, content: Mapping[str, object]) -> str:
    lines = [f"{_key(key)} = {_value(value)}\n" for key, value in content.items()]
    return (f"[{name}]\n" if name else "") + "".join(lines)


def _row(name: str, content: Mapping[str, object]) -> str:
    """One entry of an array of tables."""
    return "[" + _table(name, content).replace("]", "]]", 1)


def _key(name: str) -> str:
    return name if name.replace("-", "").replace("_", "").isalnum() else json.dumps(name)


def _value(value: object) -> str:
    if isinstance(value, Mapping):
        inside = ", ".join(f"{_key(key)} = {_value(item)}" for key, item in value.items())
        return f"{{ {inside} }}"
    if isinstance(value, (tuple, list, np.ndarray)):
        return f"[{', '.join(_value(item) for item in value)}]"
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False)
    if isinstance(value, (float, np.floating)):
        return repr(round(float(value), 9))
    return repr(value)

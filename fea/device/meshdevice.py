# SPDX-License-Identifier: MIT
"""Turns a device file and its surface mesh into a Device, or says everything that is wrong."""

from collections.abc import Mapping
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from fea.device.device import Bar, Device, DeviceFile, Fastening, Wall
from fea.device.dotted import Rows, changed_content
from fea.device.drilling import drilled, hole_notes
from fea.device.fastening import fasten
from fea.device.meshfile import (
    REQUIRED_LANDMARKS,
    THICKEST,
    THINNEST,
    UNITS_MM,
    MeshDeviceFile,
    ZoneTable,
    mesh_path,
    name_problems,
    unknown_materials,
)
from fea.device.selection import Ground, select
from fea.device.standing import frame_problems
from fea.device.strapping import strapped
from fea.errors import DeviceError, FileError, MeshError, Problem
from fea.inputfile import read_toml
from fea.material.laminate import Laminate
from fea.material.library import LibraryMaterial, read_library
from fea.mesh.mesh import Mesh
from fea.mesh.quality import loose_parts, place, surface_faults
from fea.mesh.reading import SurfaceFile, read_surface
from fea.mesh.repair import oriented

SHORTEST, TALLEST = 100.0, 700.0
"""Heights (mm) between which a floor-reaction orthosis of a child or adult lies. Source: assumed
(the tibial plateau stands at 0.27 of stature, source ansur-ii-2012)."""

_COPIED = ("name", "title", "side", "origin", "plate_zones", "foot_zones", "shank_zones")


def read_mesh_device(
    path: str | Path, library: Mapping[str, LibraryMaterial] | None = None
) -> Device:
    """Read a device given by a surface mesh.

    Args:
        path: TOML file with ``construction = "mesh"``; the mesh is named relative to it.
        library: materials by name; None for the shipped ones.

    Returns:
        The device in its frame, in mm; repairs are listed in its notes.

    Raises:
        FileError: with every problem found: schema, names, mesh, unit, frame, selections,
            thicknesses, fastenings, loose parts.
    """
    path, library = Path(path), read_library() if library is None else library
    try:
        content = read_toml(path, MeshDeviceFile)
    except FileError as error:
        raise FileError(path, [*error.problems, *unknown_materials(path, library)]) from None
    return _made(path, content, library)


def changed_mesh_device(
    device: Device,
    values: Mapping[str, object],
    added: Rows | None = None,
    library: Mapping[str, LibraryMaterial] | None = None,
) -> Device:
    """A device made again from its file with other values by dotted key.

    Args:
        device: from `read_mesh_device`, as it was read.
        values, added, library: as for `FileRecipe.changed`.

    Raises:
        DeviceError: the device was not read from a file, or was changed since.
        FileError: keys that lead nowhere, or values that the file may not hold.
    """
    if device.file is None:
        raise DeviceError(
            f"device '{device.name}' is not as it was read from a file, so keys of a file cannot "
            "be set: put all of a change into one, and apply it to the device as read"
        )
    assert isinstance(device.file.content, MeshDeviceFile)
    content = changed_content(device.file.content, device.name, values, added)
    return _made(device.file.path, content, read_library() if library is None else library)


def _made(
    path: Path, content: MeshDeviceFile, library: Mapping[str, LibraryMaterial]
) -> Device:
    """The device of a file; raises `FileError` with every problem found."""
    problems = name_problems(content, library)
    surface = _read_mesh(path, content, problems)
    if surface is None:
        raise FileError(path, problems)
    scale = UNITS_MM[content.unit]
    points = scale * content.turned(surface.points)
    landmarks = {name: scale * content.turned(point) for name, point in content.landmarks.items()}
    faults = surface_faults(surface.points, surface.triangles.cells, surface.lines.cells)
    problems += faults + (missized := [] if faults else _size_problems(points, content.unit))
    zones = _zones(content, surface, problems, sized=not missized)
    thicknesses = _thicknesses(content, surface, zones, problems)
    directions = _directions(content, surface, zones, problems)
    triangles, notes = _oriented(points, surface, landmarks, problems)
    if problems:
        raise FileError(path, problems)
    mesh = Mesh(points, _cells(triangles, surface), zones=zones)
    mesh, fastenings = _fastened(content, mesh, library, problems)
    mesh, straps = strapped(mesh, content.straps, landmarks["ankle_axis"][1], library, problems)
    mesh, holes = drilled(mesh, content.holes, landmarks, problems, content.turned, scale)
    problems += frame_problems(content, mesh, landmarks)
    problems += loose_parts(surface.points, dict(mesh.cells), [
        np.concatenate([mesh.place(f.bar_place), mesh.place(f.shell_place)]) for f in fastenings])
    if problems:
        raise FileError(path, problems)
    words = [*surface.notes, *notes, *content.ply_notes, *content.sole.sole().notes]
    return Device(
        mesh=mesh, fastenings=fastenings, straps=straps, holes=holes, landmarks=landmarks,
        walls=_walls(content, thicknesses, directions, library), bars=_bars(content, library),
        notes=(*words, *hole_notes(mesh, holes)),
        sole=content.sole.sole(), file=DeviceFile(path, content),
        **{key: getattr(content, key) for key in _COPIED},
    )


def _read_mesh(
    path: Path, content: MeshDeviceFile, problems: list[Problem]
) -> SurfaceFile | None:
    merge = None if content.merge_mm is None else content.merge_mm / UNITS_MM[content.unit]
    try:
        return read_surface(mesh_path(path, content), merge=merge)
    except FileError as error:
        problems += [Problem("mesh", f"'{content.mesh}' {problem}") for problem in error.problems]
        return None


def _cells(
    triangles: NDArray[np.int64], surface: SurfaceFile
) -> dict[str, NDArray[np.int64]]:
    lines = surface.lines.cells
    return {"triangle": triangles} | ({"line": lines} if len(lines) else {})


def _size_problems(points: NDArray[np.float64], unit: str) -> list[Problem]:
    height = float(np.ptp(points[:, 2]))
    if SHORTEST <= height <= TALLEST:
        return []
    likely = [f"{height / UNITS_MM[unit] * factor:.0f} mm in '{name}'"
              for name, factor in UNITS_MM.items()
              if SHORTEST <= height / UNITS_MM[unit] * factor <= TALLEST]
    cure = (f"it would stand {' or '.join(likely)}: is the unit right?" if likely else
            "no unit makes it a plausible device: is the right axis up (see `axes`)?")
    return [Problem("unit", (
        f"the device would stand {height:.1f} mm tall in '{unit}', where {SHORTEST:.0f} to "
        f"{TALLEST:.0f} mm are plausible; {cure}"))]


def _zones(
    content: MeshDeviceFile, surface: SurfaceFile, problems: list[Problem], *, sized: bool
) -> dict[str, tuple[str, NDArray[np.int64]]]:
    ground = Ground(
        surface.points,
        content.turned(surface.points),
        {name: content.turned(point) for name, point in content.landmarks.items()},
        content.side,
    )
    zones: dict[str, tuple[str, NDArray[np.int64]]] = {}
    for kind, group, tables in (("triangle", "zones", content.zones),
                                ("line", "bars", content.bars)):
        table = surface.table(kind)
        if not len(table.cells) and not tables:
            continue
        chosen = select(table, tables, group, ground)
        problems += chosen.problems
        if sized:  # in a wrong unit or frame, what a zone misses says nothing of the zone
            problems += chosen.misses
        zones |= {name: (kind, ids) for name, ids in chosen.zones.items()}
    return zones


def _thicknesses(
    content: MeshDeviceFile,
    surface: SurfaceFile,
    zones: Mapping[str, tuple[str, NDArray[np.int64]]],
    problems: list[Problem],
) -> dict[str, float | NDArray[np.float64]]:
    """Wall thickness of each zone in mm; a layup brings its own and gets 0 here."""
    found: dict[str, float | NDArray[np.float64]] = {}
    for name, table in content.zones.items():
        where = f"zones.{name}"
        if table.thickness_field is None:
            found[name] = table.thickness_mm or 0.0
            continue
        values = surface.cell_field(table.thickness_field)
        if values is None:
            known = ", ".join(surface.field_names()) or "none"
            problems.append(Problem(f"{where}.thickness_field", (
                f"the mesh has no scalar array '{table.thickness_field}'; it has {known}")))
        elif name in zones:
            cells = zones[name][1]
            found[name] = UNITS_MM[content.unit] * values[cells]
            problems += _bad_thickness(where, found[name], surface, cells)
    return found


def _directions(
    content: MeshDeviceFile,
    surface: SurfaceFile,
    zones: Mapping[str, tuple[str, NDArray[np.int64]]],
    problems: list[Problem],
) -> dict[str, tuple[float, float, float] | NDArray[np.float64] | None]:
    """Material axis 1 of each zone in the device's axes, before projection."""
    found: dict[str, tuple[float, float, float] | NDArray[np.float64] | None] = {}
    for name, table in content.zones.items():
        found[name] = table.direction
        if table.direction_field is None or name not in zones:
            continue
        values = surface.cell_vectors(table.direction_field)
        if values is None:
            problems.append(Problem(f"zones.{name}.direction_field", (
                f"the mesh has no array '{table.direction_field}' of three numbers a cell; it has "
                f"{', '.join(surface.field_names()) or 'none'}")))
            continue
        rows = values[zones[name][1]]
        found[name] = rows @ content.rotation.T
        if not (np.isfinite(rows).all() and np.linalg.norm(rows, axis=1).all()):
            problems.append(Problem(f"zones.{name}.direction_field", (
                f"'{table.direction_field}' has cells of the zone without a direction; give each "
                "a vector that is not zero")))
    return found


def _bad_thickness(
    where: str,
    thickness: float | NDArray[np.float64],
    surface: SurfaceFile,
    cells: NDArray[np.int64],
) -> list[Problem]:
    values = np.asarray(thickness)
    bad = np.flatnonzero(~((values >= THINNEST) & (values <= THICKEST)))
    if not bad.size:
        return []
    at = place(surface.points[surface.triangles.cells[cells[bad[0]]]])
    return [Problem(f"{where}.thickness_field", (
        f"{bad.size} cells have a thickness outside {THINNEST:g} to {THICKEST:g} mm, the first "
        f"{values[bad[0]]:.4g} mm at {at}; is the field in the "
        "mesh's unit?"))]


def _oriented(
    points: NDArray[np.float64],
    surface: SurfaceFile,
    landmarks: Mapping[str, NDArray[np.float64]],
    problems: list[Problem],
) -> tuple[NDArray[np.int64], tuple[str, ...]]:
    axis = None
    if all(name in landmarks for name in REQUIRED_LANDMARKS):
        axis = limb_axis(points, landmarks)
    try:
        result = oriented(points, surface.triangles.cells, axis)
    except MeshError as error:
        problems.append(Problem("mesh", str(error)))
        return surface.triangles.cells, ()
    return result.triangles, result.notes


def limb_axis(
    points: NDArray[np.float64], landmarks: Mapping[str, NDArray[np.float64]]
) -> NDArray[np.float64]:
    """Axis pieces (2, 2, 3) of the limb, mm: shank upwards from the ankle, foot from heel to end.

    The foot's piece runs at half the height of the ankle axis, so that a plate faces down.
    """
    ankle, heel, end = (landmarks[name] for name in REQUIRED_LANDMARKS)
    middle = 0.5 * (ankle[2] + heel[2])
    top = max(float(points[:, 2].max()), float(ankle[2]) + 1.0)
    return np.array([
        [[ankle[0], ankle[1], middle], [ankle[0], ankle[1], top]],
        [[heel[0], heel[1], middle], [end[0], end[1], middle]],
    ])


def _fastened(
    content: MeshDeviceFile,
    mesh: Mesh,
    library: Mapping[str, LibraryMaterial],
    problems: list[Problem],
) -> tuple[Mesh, tuple[Fastening, ...]]:
    fastenings: list[Fastening] = []
    for name, table in content.fastenings.items():
        try:
            mesh, fastening = fasten(
                mesh, name,
                at=UNITS_MM[content.unit] * content.turned(table.at),
                bar_zone=table.bar,
                shell_zones=table.zones,
                washer_diameter=table.washer_diameter_mm,
                diameter=table.diameter_mm,
                reach=table.reach_mm,
                material=None if table.material is None else library[table.material],
                hole_diameter=table.hole_diameter_mm,
                others=fastenings,
            )
        except DeviceError as error:
            problems.append(Problem(f"fastenings.{name}", str(error)))
            continue
        fastenings.append(fastening)
    return mesh, tuple(fastenings)


def _bars(content: MeshDeviceFile, library: Mapping[str, LibraryMaterial]) -> dict[str, Bar]:
    return {name: Bar(library[table.material], table.width_mm, table.depth_mm, table.up)
            for name, table in content.bars.items()}


def _walls(
    content: MeshDeviceFile,
    thicknesses: Mapping[str, float | NDArray[np.float64]],
    directions: Mapping[str, tuple[float, float, float] | NDArray[np.float64] | None],
    library: Mapping[str, LibraryMaterial],
) -> dict[str, Wall]:
    return {name: _wall(table, thicknesses[name], directions[name], library)
            for name, table in content.zones.items()}


def _wall(
    table: ZoneTable,
    thickness: float | NDArray[np.float64],
    direction: tuple[float, float, float] | NDArray[np.float64] | None,
    library: Mapping[str, LibraryMaterial],
) -> Wall:
    material = library[table.material]
    layup = None
    if table.layup is not None:
        layup = Laminate(material.elastic, table.layup.angles_deg, table.layup.thicknesses_mm)
        thickness = layup.thickness
    return Wall(material, thickness, layup, direction, table.offset_mm, table.thinning)

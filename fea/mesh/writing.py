# SPDX-License-Identifier: MIT
"""Write meshes and fields in open formats; a failed run never leaves a half-written file."""

import contextlib
import io
import logging
import warnings
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

import meshio
import numpy as np
from numpy.typing import ArrayLike, NDArray

from fea.errors import MeshError
from fea.mesh.mesh import Mesh
from fea.outputfile import replacing

logger = logging.getLogger(__name__)

_WRITERS: Mapping[str, Callable[..., None]] = {
    ".vtu": meshio.vtu.write,
    ".vtk": meshio.vtk.write,
    ".msh": lambda path, mesh: meshio.gmsh.write(path, mesh, fmt_version="2.2", binary=False),
    ".stl": lambda path, mesh: meshio.stl.write(path, mesh, binary=True),
    ".ply": meshio.ply.write,
    ".obj": meshio.obj.write,
}
_KEEPS_DATA = {".vtu", ".vtk", ".msh"}


def write_fields(
    path: str | Path,
    mesh: Mesh,
    point_data: Mapping[str, ArrayLike] | None = None,
    cell_data: Mapping[str, Mapping[str, ArrayLike]] | None = None,
) -> None:
    """Write all cells of a mesh with fields to one VTU file.

    Args:
        path: file with the suffix ".vtu".
        mesh: the mesh.
        point_data: field name to (n,) or (n, k) values.
        cell_data: field name to cell kind to (c,) or (c, k) values; kinds left out get NaN.

    Raises:
        MeshError: another suffix, or values that do not fit the points or cells.
        FileError: the file cannot be written.
    """
    if Path(path).suffix.lower() != ".vtu":
        raise MeshError(f"fields are written as .vtu; got '{Path(path).name}'")
    points = {name: np.asarray(value) for name, value in (point_data or {}).items()}
    for name, value in points.items():
        if len(value) != len(mesh.points):
            raise MeshError(f"field '{name}' has {len(value)} values for {len(mesh.points)} points")
    cells = {name: _per_block(mesh, name, value) for name, value in (cell_data or {}).items()}
    blocks = [(kind, table) for kind, table in mesh.cells.items()]
    _write(path, meshio.Mesh(mesh.points, blocks, point_data=points, cell_data=cells))


def write_mesh(
    path: str | Path,
    mesh: Mesh,
    zones: Sequence[str] = (),
    cell_data: Mapping[str, Mapping[str, ArrayLike]] | None = None,
) -> None:
    """Write a mesh for another program.

    Solids and their faces need VTU, VTK or MSH. Zones become a cell array "zone" (1 for the first
    name, 2 for the second, 0 for none) in VTU and VTK, and named physical groups in MSH. STL, PLY
    and OBJ carry the shape only.

    Args:
        path: file with the suffix .vtu, .vtk, .msh, .stl, .ply or .obj.
        mesh: the mesh.
        zones: names of the zones to write, in order.
        cell_data: field name to cell kind to (c,) values; kinds left out get NaN.

    Raises:
        MeshError: an unknown suffix, or contents that the format cannot hold.
        FileError: the file cannot be written.
    """
    suffix = _known_suffix(path)
    kinds = [kind for kind, table in mesh.cells.items() if len(table)]
    if suffix not in _KEEPS_DATA and (zones or cell_data or set(kinds) - {"triangle"}):
        raise MeshError(f"'{suffix}' files hold the shape alone: write .vtu, .vtk or .msh to keep "
                        "zones, fields and other cells than triangles, or leave them out")
    fields = {name: _per_block(mesh, name, value) for name, value in (cell_data or {}).items()}
    names: dict[str, NDArray[np.int64]] = {}
    if zones:
        numbers = _zone_numbers(mesh, zones)
        keys = ("gmsh:physical", "gmsh:geometrical") if suffix == ".msh" else ("zone",)
        fields |= dict.fromkeys(keys, numbers)
        dimension = {"line": 1, "triangle": 2, "triangle6": 2, "tetra10": 3}
        names = {zone: np.array([k + 1, dimension[mesh.zone(zone)[0]]])
                 for k, zone in enumerate(zones)}
    blocks = [(kind, table) for kind, table in mesh.cells.items()]
    _write(path, meshio.Mesh(mesh.points, blocks, cell_data=fields, field_data=names))


def _per_block(
    mesh: Mesh, name: str, values: Mapping[str, ArrayLike]
) -> list[NDArray[Any]]:
    arrays = {kind: np.asarray(value) for kind, value in values.items()}
    for kind, array in arrays.items():
        if kind not in mesh.cells or len(array) != len(mesh.cells[kind]):
            have = len(mesh.cells.get(kind, ()))
            raise MeshError(f"field '{name}' has {len(array)} values for {have} {kind} cells")
    tail = next(iter(arrays.values())).shape[1:]
    return [arrays.get(kind, np.full((len(table), *tail), np.nan))
            for kind, table in mesh.cells.items()]


def _zone_numbers(mesh: Mesh, zones: Sequence[str]) -> list[NDArray[Any]]:
    numbers = {kind: np.zeros(len(table), dtype=np.int32) for kind, table in mesh.cells.items()}
    for k, name in enumerate(zones):
        kind, cells = mesh.zone(name)
        if numbers[kind][cells].any():
            raise MeshError(f"zone '{name}' shares cells with a zone before it; write zones that "
                            "do not overlap")
        numbers[kind][cells] = k + 1
    return [numbers[kind] for kind in mesh.cells]


def _known_suffix(path: str | Path) -> str:
    suffix = Path(path).suffix.lower()
    if suffix not in _WRITERS:
        raise MeshError(f"'{Path(path).name}' has no known suffix; use one of "
                        f"{', '.join(_WRITERS)}")
    return suffix


def _write(path: str | Path, mesh: meshio.Mesh) -> None:
    words = io.StringIO()
    with (replacing(path) as draft, contextlib.redirect_stdout(words),
          contextlib.redirect_stderr(words), warnings.catch_warnings()):
        warnings.simplefilter("ignore")
        _WRITERS[Path(path).suffix.lower()](str(draft), mesh)
    if words.getvalue().strip():
        logger.info("%s: %s", path, words.getvalue().strip())

# SPDX-License-Identifier: MIT
"""Read meshes that hold solids, with the shells, struts and faces beside them: VTU, VTK, MSH.

The cells stay as they are: nothing is split, merged or repaired. Second-order lines, which mesh
programs write along the edges of solids, are left out.
"""

import logging
from pathlib import Path

import meshio
import numpy as np
from numpy.typing import NDArray

from fea.errors import FileError, Problem
from fea.mesh.mesh import NODES_PER_CELL, Mesh
from fea.mesh.reading import CellTable, cell_table, check_numbers, checked_points, read_raw
from fea.mesh.solid import solid_faults

logger = logging.getLogger(__name__)

_LEFT_OUT = {"vertex", "line3"}
_CURES = {
    "tetra": "make the mesh of second order (ten-node tetrahedra): linear ones are far too stiff",
    "quad": "split them into triangles",
    "quad8": "use tetrahedra",
}


def read_mesh(path: str | Path) -> Mesh:
    """Read triangles, lines, tetrahedra of ten nodes and their six-node faces.

    Args:
        path: a .vtu, .vtk or .msh file.

    Returns:
        The mesh, in the file's unit. Zones come from Gmsh physical groups (without a name, under
        their number), from meshio's cell sets and from a cell array "zone" of numbers (0 is
        none). Each zone of faces, triangles or lines is a place of the same name as well, to hang
        supports on.

    Raises:
        FileError: an unreadable file, cells of another kind, cells that are inverted or folded,
            or one name for zones of two kinds.
    """
    path = Path(path)
    raw = read_raw(path)
    points = checked_points(path, raw)
    blocks = _blocks(path, raw)
    tables = {kind: cell_table(raw, blocks, kind) for kind in NODES_PER_CELL}
    tables = {kind: table for kind, table in tables.items() if len(table.cells)}
    if not tables:
        raise FileError(path, [Problem("", "holds no cells that can be used")])
    check_numbers(path, len(points), *(table.cells for table in tables.values()))
    zones: dict[str, tuple[str, NDArray[np.int64]]] = {}
    for kind, table in tables.items():
        for name, members in {**_numbered(table), **table.sets}.items():
            if name in zones:
                raise FileError(path, [Problem("", (
                    f"has the name '{name}' for {zones[name][0]} and for {kind} cells; rename one"
                ))])
            zones[name] = (kind, members)
    cells = {kind: table.cells for kind, table in tables.items()}
    if "tetra10" in cells and (faults := solid_faults(points, cells["tetra10"])):
        raise FileError(path, faults)
    places = {
        name: np.unique(cells[kind][numbers])
        for name, (kind, numbers) in zones.items()
        if kind != "tetra10"
    }
    return Mesh(points, cells, places, zones)


def _numbered(table: CellTable) -> dict[str, NDArray[np.int64]]:
    """Zones that the file knows by a number only."""
    array = table.data.get("gmsh:physical", table.data.get("zone", np.zeros(len(table.cells))))
    found = {f"{k:.0f}": np.flatnonzero(array == k) for k in np.unique(array) if k > 0}
    named = [members.tolist() for members in table.sets.values()]
    return {name: members for name, members in found.items() if members.tolist() not in named}


def _blocks(
    path: Path, raw: meshio.Mesh
) -> list[tuple[int, str, NDArray[np.int64], NDArray[np.int64]]]:
    """Blocks as (number, kind, cells, owner), as `cell_table` takes them."""
    blocks = []
    for number, block in enumerate(raw.cells):
        cells = np.asarray(block.data, dtype=np.int64)
        if block.type in NODES_PER_CELL:
            blocks.append((number, block.type, cells, np.arange(len(cells))))
        elif block.type in _LEFT_OUT:
            logger.info("%s: %d %s cells left out", path, len(cells), block.type)
        else:
            cure = _CURES.get(block.type, f"use {', '.join(NODES_PER_CELL)}")
            raise FileError(path, [Problem("", f"holds {len(cells)} {block.type} cells; {cure}")])
    return blocks

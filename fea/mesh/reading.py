# SPDX-License-Identifier: MIT
"""Read surface meshes in open formats: VTU, VTK, Gmsh MSH, STL, PLY and OBJ.

Reading repairs nothing that could hide a mistake: quadrilaterals are split (the elements are
triangles), the repeated points of STL, PLY and OBJ are merged (those formats store no
connectivity worth the name), and points that no cell uses are left out. Each is noted.
"""

import contextlib
import io
import logging
import warnings
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import meshio
import numpy as np
from numpy.typing import NDArray

from fea.errors import FileError, Problem
from fea.mesh.mesh import NODES_PER_CELL
from fea.mesh.repair import merged_points, split_quadrilaterals

logger = logging.getLogger(__name__)

_READERS: Mapping[str, Callable[[str], meshio.Mesh]] = {
    ".vtu": meshio.vtu.read,
    ".vtk": meshio.vtk.read,
    ".msh": meshio.gmsh.read,
    ".stl": meshio.stl.read,
    ".ply": meshio.ply.read,
    ".obj": meshio.obj.read,
}
SURFACE_SUFFIXES = tuple(_READERS)

# Formats whose files commonly repeat a point for every face that meets there.
_REPEATS_POINTS = {".stl", ".ply", ".obj"}
# Relative to the diagonal of the bounding box; coordinates in STL carry about 7 digits.
_MERGE_RELATIVE = 1e-6

# Legacy VTK has variants that meshio does not know: POLYDATA, and arrays of the type "long".
_CURES = {".vtk": "save it as .vtu, which carries the same, or as an unstructured grid"}

_SILENT_KINDS = {"vertex"}
_SURFACE_KINDS = ("triangle", "line")
_DIMENSIONS = {"triangle": 2, "line": 1, "triangle6": 2, "tetra10": 3}


@dataclass(frozen=True, eq=False)
class CellTable:
    """Cells of one kind with what the file says about them.

    Attributes:
        cells: (c, k) node numbers.
        data: array name to (c, ...) values.
        sets: set name to (m,) cell numbers.
    """

    cells: NDArray[np.int64]
    data: Mapping[str, NDArray[Any]]
    sets: Mapping[str, NDArray[np.int64]]


@dataclass(frozen=True, eq=False)
class SurfaceFile:
    """What a mesh file holds, in the file's own length unit and frame.

    Attributes:
        path: where it was read from.
        points: (n, 3) coordinates, each used by at least one cell.
        triangles: (c, 3) cells with data and sets.
        lines: (b, 2) cells with data and sets; empty in most formats.
        point_data: array name to (n, ...) values.
        notes: what was changed while reading, one sentence each.
    """

    path: Path
    points: NDArray[np.float64]
    triangles: CellTable
    lines: CellTable
    point_data: Mapping[str, NDArray[Any]]
    notes: tuple[str, ...] = ()

    def table(self, kind: str) -> CellTable:
        """The cells of a kind, "triangle" or "line"."""
        return {"triangle": self.triangles, "line": self.lines}[kind]

    def cell_field(self, name: str, kind: str = "triangle") -> NDArray[np.float64] | None:
        """Scalar cell values (c,) of an array; a point array is averaged over each cell's nodes.

        Returns None when the file has no such scalar array.
        """
        table = self.table(kind)
        if name in table.data and table.data[name].ndim == 1:
            return table.data[name].astype(float)
        if name in self.point_data and self.point_data[name].ndim == 1:
            return self.point_data[name].astype(float)[table.cells].mean(axis=1)
        return None

    def cell_vectors(self, name: str, kind: str = "triangle") -> NDArray[np.float64] | None:
        """Vectors (c, 3) of an array on the cells; None when the file has no such array."""
        values = self.table(kind).data.get(name)
        return values.astype(float) if values is not None and values.shape[1:] == (3,) else None

    def field_names(self) -> tuple[str, ...]:
        """Names of the arrays on cells and points, sorted."""
        return tuple(sorted({*self.triangles.data, *self.lines.data, *self.point_data}))


def read_surface(path: str | Path, *, merge: float | None = None) -> SurfaceFile:
    """Read triangles, lines, data and named sets of a surface mesh.

    Args:
        path: a file with one of the suffixes in `SURFACE_SUFFIXES`.
        merge: distance in the file's unit within which points become one; None merges within
            one millionth of the model's diagonal in STL, PLY and OBJ, and nothing elsewhere.

    Returns:
        The content, still in the file's unit. Sets come from Gmsh physical groups and from
        meshio's cell sets; other formats carry them as cell arrays.

    Raises:
        FileError: an unknown suffix, an unreadable file, no triangles, a cell kind that is
            no surface, or coordinates that are not finite.
    """
    path = Path(path)
    raw = read_raw(path)
    points = checked_points(path, raw)
    notes: list[str] = []
    blocks = _simple_blocks(path, raw, points, notes)
    triangles, lines = (cell_table(raw, blocks, kind) for kind in ("triangle", "line"))
    if not len(triangles.cells):
        raise FileError(path, [Problem("", "holds no triangles or quadrilaterals")])
    check_numbers(path, len(points), triangles.cells, lines.cells)
    keep, number = _merged(path, points, merge, triangles.cells, lines.cells, notes)
    point_data = {name: _native(value)[keep] for name, value in raw.point_data.items()
                  if _numeric(value)}
    return SurfaceFile(
        path,
        points[keep],
        CellTable(number[triangles.cells], triangles.data, triangles.sets),
        CellTable(number[lines.cells], lines.data, lines.sets),
        point_data,
        tuple(notes),
    )


def read_raw(path: Path) -> meshio.Mesh:
    """Call the one reader for the suffix: meshio's dispatcher exits the interpreter on failure."""
    reader = _READERS.get(path.suffix.lower())
    if reader is None:
        raise FileError(path, [Problem("", (
            f"has the suffix '{path.suffix}', which is no surface format read here; "
            f"export it as one of {', '.join(SURFACE_SUFFIXES)}"))])
    if not path.is_file():
        raise FileError(path, [Problem("", "there is no such mesh file")])
    words = io.StringIO()
    try:
        with (contextlib.redirect_stdout(words), contextlib.redirect_stderr(words),
              warnings.catch_warnings()):
            warnings.simplefilter("ignore")
            return reader(str(path))
    except (Exception, SystemExit) as error:  # every failure of a foreign reader is the file's
        reason = " ".join(str(error).split()) or type(error).__name__
        suffix = path.suffix.lower()
        cure = _CURES.get(suffix, "is it damaged, or named with another format's suffix?")
        raise FileError(
            path, [Problem("", f"cannot be read as {suffix} ({reason}); {cure}")]
        ) from None
    finally:
        if words.getvalue().strip():
            logger.info("%s: %s", path, words.getvalue().strip())


def checked_points(path: Path, raw: meshio.Mesh) -> NDArray[np.float64]:
    """Points (n, 3) of a file; raises `FileError` unless all are finite."""
    points = np.array(raw.points, dtype=float)
    if points.ndim != 2 or points.shape[1] != 3:
        raise FileError(path, [Problem("", f"has points of shape {points.shape}, not (n, 3)")])
    bad = np.flatnonzero(~np.isfinite(points).all(axis=1))
    if bad.size:
        raise FileError(path, [Problem("", (
            f"has {bad.size} points that are not finite, first point {bad[0]}"))])
    return points


def _simple_blocks(
    path: Path, raw: meshio.Mesh, points: NDArray[np.float64], notes: list[str]
) -> list[tuple[int, str, NDArray[np.int64], NDArray[np.int64]]]:
    """Blocks as (number, kind, cells, owner): owner is the cell of the file each came from."""
    blocks = []
    strange: dict[str, int] = {}
    quads = 0
    for number, block in enumerate(raw.cells):
        cells = np.asarray(block.data)
        if block.type in _SURFACE_KINDS:
            blocks.append((number, block.type, cells.astype(np.int64), np.arange(len(cells))))
        elif block.type == "quad":
            check_numbers(path, len(points), cells)
            quads += len(cells)
            blocks.append((number, "triangle", *split_quadrilaterals(points, cells)))
        elif block.type not in _SILENT_KINDS:
            strange[block.type] = strange.get(block.type, 0) + len(cells)
    if strange:
        listed = ", ".join(f"{count} {kind}" for kind, count in strange.items())
        raise FileError(path, [Problem("", (
            f"holds cells that are no plain surface: {listed}; export the middle surface as "
            "three- or four-sided cells (two-node lines for bars)"))])
    if quads:
        notes.append(f"{quads} quadrilaterals were split along their shorter diagonal")
    return blocks


def cell_table(
    raw: meshio.Mesh,
    blocks: Sequence[tuple[int, str, NDArray[np.int64], NDArray[np.int64]]],
    kind: str,
) -> CellTable:
    """Cells of a kind with their data and sets, from blocks (number, kind, cells, owner)."""
    chosen = [block for block in blocks if block[1] == kind]
    if not chosen:
        empty = np.empty((0, NODES_PER_CELL[kind]), dtype=np.int64)
        return CellTable(empty, {}, {})
    cells = np.concatenate([block[2] for block in chosen])
    data = {
        name: np.concatenate([_native(values[b])[owner] for b, _, _, owner in chosen])
        for name, values in raw.cell_data.items()
        if all(_numeric(values[b]) for b, *_ in chosen)
    }
    sets = {**_named_tags(raw, data, kind), **_cell_sets(raw, chosen)}
    return CellTable(cells, data, {name: ids for name, ids in sets.items() if ids.size})


def _named_tags(
    raw: meshio.Mesh, data: Mapping[str, NDArray[Any]], kind: str
) -> dict[str, NDArray[np.int64]]:
    """Sets of Gmsh physical groups: a name belongs to a tag and a dimension."""
    tags = data.get("gmsh:physical")
    if tags is None:
        return {}
    return {
        name: np.flatnonzero(tags == int(value[0]))
        for name, value in raw.field_data.items()
        if np.size(value) == 2 and int(value[1]) == _DIMENSIONS[kind]
    }


def _cell_sets(
    raw: meshio.Mesh,
    chosen: Sequence[tuple[int, str, NDArray[np.int64], NDArray[np.int64]]],
) -> dict[str, NDArray[np.int64]]:
    sets = {}
    for name, per_block in raw.cell_sets.items():
        if name.startswith("gmsh:"):
            continue
        found, start = [], 0
        for number, _, _, owner in chosen:
            members = np.asarray(per_block[number] if per_block[number] is not None else [])
            found.append(start + np.flatnonzero(np.isin(owner, members)))
            start += len(owner)
        sets[name] = np.concatenate(found)
    return sets


def _merged(
    path: Path,
    points: NDArray[np.float64],
    merge: float | None,
    triangles: NDArray[np.int64],
    lines: NDArray[np.int64],
    notes: list[str],
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Points to keep (m,), and for each point of the file its new number (n,) or -1."""
    used = np.unique(np.concatenate([triangles.ravel(), lines.ravel()]))
    if len(used) < len(points):
        notes.append(f"{len(points) - len(used)} points that no cell uses were left out")
    if merge is None:
        span = np.ptp(points[used], axis=0)
        repeats = path.suffix.lower() in _REPEATS_POINTS
        merge = _MERGE_RELATIVE * float(np.linalg.norm(span)) if repeats else 0.0
    first = merged_points(points[used], merge) if merge > 0.0 else np.arange(len(used))
    kept, renumbered = np.unique(first, return_inverse=True)
    if len(kept) < len(used):
        notes.append(f"{len(used) - len(kept)} repeated points were merged")
    number = np.full(len(points), -1, dtype=np.int64)
    number[used] = renumbered
    return used[kept], number


def check_numbers(path: Path, count: int, *blocks: NDArray[np.int64]) -> None:
    """Raise `FileError` where cells (c, k) use other points than 0 to count - 1."""
    for cells in blocks:
        bad = np.flatnonzero(((cells < 0) | (cells >= count)).any(axis=1))
        if bad.size:
            raise FileError(path, [Problem("", (
                f"has a cell that uses points {cells[bad[0]].tolist()}, but only points 0 to "
                f"{count - 1} are there (counting from 0)"))])


def _numeric(values: object) -> bool:
    return np.asarray(values).dtype.kind in "biuf"


def _native(values: object) -> NDArray[Any]:
    array = np.asarray(values)
    array = array.astype(array.dtype.newbyteorder("="))
    return array[:, 0] if array.ndim == 2 and array.shape[1] == 1 else array

# SPDX-License-Identifier: MIT
"""Writes the invented angle piece as device file and mesh."""

import copy

import meshio
import numpy as np
import pytest
import tomlkit
from angle_piece import CONTENT, angle_piece


@pytest.fixture
def content():
    return copy.deepcopy(CONTENT)


@pytest.fixture
def write(tmp_path):
    """Write mesh and device file; return the path of the latter."""

    def write(content, points=None, triangles=None, *, lines=(), suffix=".vtu", **fields):
        base, cells, zone = angle_piece()
        points = base if points is None else points
        cells = cells if triangles is None else np.asarray(triangles)
        zone = np.resize(zone, len(cells))
        blocks = [("triangle", cells)] + ([("line", np.asarray(lines))] if len(lines) else [])
        pad = [np.full(len(lines), 9)] if len(lines) else []
        data = {"zone": [zone, *pad]}
        for name, values in fields.items():
            data[name] = [values, *(np.zeros(len(p)) for p in pad)]
        keep = data if suffix in (".vtu", ".vtk") else {}
        writer = {".vtu": meshio.vtu, ".vtk": meshio.vtk, ".stl": meshio.stl}[suffix]
        content["mesh"] = f"piece{suffix}"
        writer.write(tmp_path / content["mesh"], meshio.Mesh(points, blocks, cell_data=keep))
        path = tmp_path / "piece.toml"
        path.write_text(tomlkit.dumps(content))
        return path

    return write

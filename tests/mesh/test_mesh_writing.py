# SPDX-License-Identifier: MIT
"""Writing meshes: fields in one VTU, and no half-written file after a failure."""

import meshio
import numpy as np
import pytest

from fea.errors import FileError, MeshError
from fea.mesh import writing
from fea.mesh.mesh import Mesh
from fea.mesh.writing import write_fields, write_mesh

MESH = Mesh([[0, 0, 0], [1, 0, 0], [0, 1, 0], [5, 0, 0]],
            {"triangle": [[0, 1, 2]], "line": [[1, 3]]},
            zones={"skin": ("triangle", [0]), "bar": ("line", [0]), "all": ("triangle", [0])})


def test_fields_return_and_missing_kinds_are_nan(tmp_path):
    path = tmp_path / "fields.vtu"
    write_fields(path, MESH, {"u": np.arange(12.0).reshape(4, 3)},
                 {"stress": {"triangle": [[1.0, 2.0, 3.0]]}})
    read = meshio.vtu.read(path)
    np.testing.assert_array_equal(read.point_data["u"], np.arange(12.0).reshape(4, 3))
    np.testing.assert_array_equal(read.cell_data["stress"][0], [[1.0, 2.0, 3.0]])
    assert np.isnan(read.cell_data["stress"][1]).all()


def test_a_failed_write_leaves_the_old_file_whole(tmp_path, monkeypatch):
    path = tmp_path / "fields.vtu"
    path.write_text("the good one")

    def breaks(draft, mesh):
        with open(draft, "w") as file:
            file.write("half")
        raise RuntimeError("out of paper")

    monkeypatch.setattr(writing, "_WRITERS", {".vtu": breaks})
    with pytest.raises(RuntimeError, match="out of paper"):
        write_fields(path, MESH)
    assert path.read_text() == "the good one"
    assert [entry.name for entry in tmp_path.iterdir()] == ["fields.vtu"]


def test_a_missing_folder_is_refused(tmp_path):
    with pytest.raises(FileError, match="does not exist; make it"):
        write_fields(tmp_path / "nowhere" / "a.vtu", MESH)


@pytest.mark.parametrize(("call", "words"), [
    (lambda path: write_fields(path / "a.vtk", MESH), "fields are written as .vtu"),
    (lambda path: write_fields(path / "a.vtu", MESH, {"u": [1.0]}), "1 values for 4 points"),
    (lambda path: write_fields(path / "a.vtu", MESH, None, {"s": {"triangle": [1.0, 2.0]}}),
     "2 values for 1 triangle cells"),
    (lambda path: write_mesh(path / "a.stl", MESH), "hold the shape alone"),
    (lambda path: write_mesh(path / "a.vtu", MESH, zones=["skin", "all"]),
     "zone 'all' shares cells with a zone before it"),
    (lambda path: write_mesh(path / "a.xyz", MESH),
     "'a.xyz' has no known suffix; use one of .vtu, .vtk, .msh"),
])
def test_what_cannot_be_written_is_refused(tmp_path, call, words):
    with pytest.raises(MeshError, match=words):
        call(tmp_path)
    assert list(tmp_path.iterdir()) == []

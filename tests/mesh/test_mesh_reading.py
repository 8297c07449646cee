# SPDX-License-Identifier: MIT
"""Reading surface meshes: each format, what is repaired, and what is refused in which words."""

import meshio
import numpy as np
import pytest

from fea.errors import FileError
from fea.mesh.mesh import Mesh
from fea.mesh.reading import SURFACE_SUFFIXES, read_surface
from fea.mesh.writing import write_mesh

# A folded strip: three unit squares' triangles, the last square standing upright.
POINTS = np.array([[0, 0, 0], [1, 0, 0], [2, 0, 0], [2, 0, 1],
                   [0, 1, 0], [1, 1, 0], [2, 1, 0], [2, 1, 1]], dtype=float)
QUADS = np.array([[0, 1, 5, 4], [1, 2, 6, 5], [2, 3, 7, 6]])
TRIANGLES = np.array([[0, 1, 5], [0, 5, 4], [1, 2, 6], [1, 6, 5], [2, 3, 7], [2, 7, 6]])


def strip(*, lines=False):
    cells = {"triangle": TRIANGLES} | ({"line": [[4, 5], [5, 6]]} if lines else {})
    zones = {"flat": ("triangle", [0, 1, 2, 3]), "upright": ("triangle", [4, 5])}
    return Mesh(POINTS, cells, zones=zones | ({"bar": ("line", [0, 1])} if lines else {}))


def write_text(path, text):
    path.write_text(text)
    return path


@pytest.mark.parametrize("suffix", SURFACE_SUFFIXES)
def test_every_format_returns_the_shape_it_was_given(tmp_path, suffix):
    path = tmp_path / f"strip{suffix}"
    write_mesh(path, strip())
    read = read_surface(path)
    assert len(read.points) == 8
    # the same corners in the same order, whatever the point numbers became
    corners = read.points[read.triangles.cells]
    np.testing.assert_allclose(
        corners[np.lexsort(corners.mean(axis=1).T)],
        POINTS[TRIANGLES][np.lexsort(POINTS[TRIANGLES].mean(axis=1).T)], atol=1e-6)


@pytest.mark.parametrize("suffix", [".vtu", ".vtk"])
def test_zones_return_as_a_cell_array(tmp_path, suffix):
    path = tmp_path / f"strip{suffix}"
    write_mesh(path, strip(lines=True), zones=["flat", "upright", "bar"])
    read = read_surface(path)
    assert read.triangles.data["zone"].tolist() == [1, 1, 1, 1, 2, 2]
    assert read.lines.data["zone"].tolist() == [3, 3]
    assert read.lines.cells.tolist() == [[4, 5], [5, 6]]


def test_zones_return_as_named_groups_in_msh(tmp_path):
    path = tmp_path / "strip.msh"
    write_mesh(path, strip(lines=True), zones=["flat", "upright", "bar"])
    read = read_surface(path)
    assert {name: ids.tolist() for name, ids in read.triangles.sets.items()} == {
        "flat": [0, 1, 2, 3], "upright": [4, 5]}
    assert {name: ids.tolist() for name, ids in read.lines.sets.items()} == {"bar": [0, 1]}


def test_quadrilaterals_are_split_and_keep_their_data(tmp_path):
    path = tmp_path / "quads.vtu"
    meshio.vtu.write(path, meshio.Mesh(POINTS, [("quad", QUADS)],
                                       cell_data={"t": [np.array([1.0, 2.0, 3.0])]}))
    read = read_surface(path)
    assert read.triangles.data["t"].tolist() == [1, 1, 2, 2, 3, 3]
    assert "3 quadrilaterals were split along their shorter diagonal" in read.notes


def test_groups_of_an_obj_become_a_cell_array(tmp_path):
    text = "v 0 0 0\nv 1 0 0\nv 1 1 0\nv 0 1 0\ng a\nf 1 2 3\ng b\nf 1 3 4\n"
    read = read_surface(write_text(tmp_path / "a.obj", text))
    assert read.triangles.data["obj:group_ids"].tolist() == [0, 1]


def test_a_point_array_becomes_the_mean_over_each_cell(tmp_path):
    path = tmp_path / "field.vtu"
    meshio.vtu.write(path, meshio.Mesh(POINTS, [("triangle", TRIANGLES)],
                                       point_data={"t": POINTS[:, 0]}))
    read = read_surface(path)
    # the corners of the first triangle stand at x = 0, 1, 1
    assert read.cell_field("t")[0] == pytest.approx(2 / 3)
    assert read.cell_field("no such array") is None


def test_repeated_points_of_an_stl_are_merged_and_said(tmp_path):
    facets = "".join(
        "facet normal 0 0 0\nouter loop\n"
        + "".join(f"vertex {x + 1e-9 * k} {y} {z}\n" for x, y, z in corners)
        + "endloop\nendfacet\n"
        for k, corners in enumerate(POINTS[TRIANGLES]))
    read = read_surface(write_text(tmp_path / "a.stl", f"solid a\n{facets}endsolid a\n"))
    assert len(read.points) == 8
    assert any("repeated points were merged" in note for note in read.notes)


def test_points_in_no_cell_are_left_out_and_said(tmp_path):
    path = tmp_path / "spare.vtu"
    points = np.vstack([[[9, 9, 9]], POINTS])
    meshio.vtu.write(path, meshio.Mesh(points, [("triangle", TRIANGLES + 1)]))
    read = read_surface(path)
    np.testing.assert_array_equal(read.points[read.triangles.cells], POINTS[TRIANGLES])
    assert read.notes == ("1 points that no cell uses were left out",)


def test_nearly_coinciding_points_are_merged_when_asked(tmp_path):
    path = tmp_path / "gap.vtu"
    points = np.vstack([POINTS, POINTS[[2, 6]] + [0.001, 0, 0]])
    cells = TRIANGLES.copy()
    cells[4:] = [[8, 3, 7], [8, 7, 9]]
    meshio.vtu.write(path, meshio.Mesh(points, [("triangle", cells)]))
    assert len(read_surface(path).points) == 10
    assert len(read_surface(path, merge=0.01).points) == 8


@pytest.mark.parametrize(("name", "text", "words"), [
    ("a.step", "x", "has the suffix '.step', which is no surface format read here"),
    ("a.stl", "solid x\n facet rubbish", "cannot be read as .stl"),
    ("a.vtu", "<xml", "cannot be read as .vtu"),
    ("a.ply", "", "cannot be read as .ply"),
    ("a.msh", "hello", "cannot be read as .msh"),
    ("a.obj", "v 1 2\nf 1 2 3", "has points of shape (1, 2), not (n, 3)"),
    ("a.obj", "v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 4", "but only points 0 to 2 are there"),
    ("a.obj", "v 0 0 0\nv nan 0 0\nv 0 1 0\nf 1 2 3", "has 1 points that are not finite"),
    ("a.obj", "v 0 0 0\n", "holds no triangles or quadrilaterals"),
    ("a.vtk", "junk", "cannot be read as .vtk"),
    ("a.vtk", "# vtk DataFile Version 3.0\nt\nASCII\nDATASET POLYDATA\n",
     "save it as .vtu, which carries the same, or as an unstructured grid"),
])
def test_a_bad_file_is_refused_with_a_reason(tmp_path, name, text, words, capfd):
    with pytest.raises(FileError) as error:
        read_surface(write_text(tmp_path / name, text))
    assert words in str(error.value)
    assert name in str(error.value)
    assert capfd.readouterr() == ("", "")  # the foreign reader is kept quiet


def test_a_missing_file_is_refused(tmp_path):
    with pytest.raises(FileError, match="there is no such mesh file"):
        read_surface(tmp_path / "none.vtu")


def test_a_solid_mesh_is_refused_with_the_cure(tmp_path):
    path = tmp_path / "solid.vtu"
    meshio.vtu.write(path, meshio.Mesh(POINTS, [("tetra", [[0, 1, 4, 3]])]))
    with pytest.raises(FileError, match=r"no plain surface: 1 tetra; export the middle surface"):
        read_surface(path)

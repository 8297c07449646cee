# SPDX-License-Identifier: MIT
"""Meshes of solids: their faces, folded cells, and files that keep the order of the nodes."""

import meshio
import numpy as np
import pytest
from solid_models import block

import fea
from fea.errors import FileError, MeshError
from fea.mesh.mesh import triangle_geometry
from fea.mesh.solid import facing_outward, folded_cells, outer_faces
from fea.mesh.writing import write_fields, write_mesh


def bent(u, v, w):
    return 3 * u + 0.3 * w**2, 2 * v + 0.2 * u, w


@pytest.fixture
def mesh():
    return block(2, 2, 1, bent, jitter=0.2, curved=True)


def test_outer_faces_close_the_body_and_look_outward():
    """A closed surface: Σ A n = 0 and Σ A n·x/3 = volume 6."""
    mesh = block(2, 3, 2, lambda u, v, w: (3 * u, 2 * v, w))
    faces, owner = outer_faces(mesh.cells["tetra10"])
    area, normal = triangle_geometry(mesh.points, faces[:, :3])
    assert len(faces) == 2 * 2 * (2 * 3 + 3 * 2 + 2 * 2)
    np.testing.assert_allclose(area @ normal, 0.0, atol=1e-12)
    middle = mesh.points[faces[:, :3]].mean(axis=1)
    assert np.sum(area[:, None] * normal * middle) / 3 == pytest.approx(6.0)
    cells = mesh.cells["tetra10"][owner]
    assert all(set(face) <= set(cell) for face, cell in zip(faces, cells, strict=True))
    for a, b in ((0, 1), (1, 2), (2, 0)):
        ends = mesh.points[faces[:, [a, b]]].mean(axis=1)
        np.testing.assert_allclose(mesh.points[faces[:, 3 + a]], ends)


def test_faces_of_a_place_become_a_zone(mesh):
    kind, numbers = mesh.zone("face w1")
    assert (kind, len(numbers)) == ("triangle6", 8)
    np.testing.assert_array_equal(mesh.zone_nodes("face w1"), mesh.place("w1"))


@pytest.mark.parametrize(("call", "words"), [
    (lambda mesh: mesh.with_faces({"x": "nowhere"}), "unknown place 'nowhere'"),
    (lambda mesh: mesh.with_places({"a": [0, 1]}).with_faces({"x": "a"}), "holds no whole outer"),
    (lambda mesh: facing_outward(np.zeros((1, 6), int), mesh.cells["tetra10"]),
     "triangle6 cell 0 .* is no outer face of a solid"),
])  # fmt: skip
def test_what_is_no_face_is_refused(mesh, call, words):
    with pytest.raises(MeshError, match=words):
        call(mesh)


def test_a_structure_refuses_faces_inside_a_solid(mesh):
    inner = mesh.cells["tetra10"][:, [0, 1, 2, 4, 5, 6]]
    outer = {tuple(sorted(face)) for face in mesh.cells["triangle6"]}
    inside = next(face for face in inner if tuple(sorted(face)) not in outer)
    wrong = fea.Mesh(mesh.points, {"tetra10": mesh.cells["tetra10"], "triangle6": [inside]},
                     zones={"block": mesh.zones["block"]})
    section = fea.SolidSection(fea.Isotropic(youngs_modulus=1.0, poisson_ratio=0.3))
    with pytest.raises(MeshError, match="carries loads on a solid's face and nothing else"):
        fea.Structure(wrong, {"block": section})


def test_folds_are_found_and_bends_are_not(mesh):
    nodes = mesh.points[mesh.cells["tetra10"]]
    assert folded_cells(nodes).size == 0
    wrong = nodes.copy()
    wrong[3] = wrong[3][[1, 0, 2, 3, 4, 6, 5, 8, 7, 9]]
    wrong[6, 4] = 2.2 * wrong[6, 1] - 1.2 * wrong[6, 0]
    wrong[9] = wrong[9] * [1, 1, 0]
    assert folded_cells(wrong).tolist() == [3, 6, 9]


@pytest.mark.parametrize("suffix", [".vtu", ".vtk", ".msh"])
def test_a_file_keeps_cells_and_the_order_of_their_nodes(tmp_path, mesh, suffix):
    path = tmp_path / f"block{suffix}"
    write_mesh(path, mesh, zones=["block", "face u0", "face w1"])
    read = fea.read_mesh(path)
    np.testing.assert_array_equal(read.points, mesh.points)
    for kind in ("tetra10", "triangle6"):
        np.testing.assert_array_equal(read.cells[kind], mesh.cells[kind])
    names = ["block", "face u0", "face w1"] if suffix == ".msh" else ["1", "2", "3"]
    for name, back in zip(["block", "face u0", "face w1"], names, strict=True):
        assert read.zone(back)[0] == mesh.zone(name)[0]
        np.testing.assert_array_equal(read.zone(back)[1], mesh.zone(name)[1])
    np.testing.assert_array_equal(read.place(names[1]), mesh.place("u0"))
    assert names[0] not in read.places


GMSH = """$MeshFormat
2.2 0 8
$EndMeshFormat
$PhysicalNames
2
2 7 "lid"
3 8 "body"
$EndPhysicalNames
$Nodes
10
1 0 0 0
2 2 0 0
3 0 2 0
4 0 0 2
5 1 0 0
6 1 1 0
7 0 1 0
8 0 0 1
9 0 1 1
10 1 0 1
$EndNodes
$Elements
3
1 8 2 9 9 1 2 5
2 9 2 7 1 1 3 2 7 6 5
3 11 2 8 1 1 2 3 4 5 6 7 8 9 10
$EndElements
"""
POINTS = np.array([line.split()[1:] for line in GMSH.splitlines()[10:20]], dtype=float)
POINTS[[8, 9]] = POINTS[[9, 8]]  # our order


def test_the_last_two_midsides_of_a_gmsh_file_change_places(tmp_path):
    """Gmsh ends with midsides 23, 13; ours (and VTK's) with 13, 23. Lines of second order go."""
    path = tmp_path / "one.msh"
    path.write_text(GMSH)
    mesh = fea.read_mesh(path)
    assert mesh.cells["tetra10"].tolist() == [[0, 1, 2, 3, 4, 5, 6, 7, 9, 8]]
    corners = mesh.points[mesh.cells["tetra10"][0]]
    np.testing.assert_array_equal(corners[8], (corners[1] + corners[3]) / 2)
    assert set(mesh.zones) == {"lid", "body"}
    assert mesh.place("lid").tolist() == [0, 1, 2, 4, 5, 6]


@pytest.mark.parametrize(("cells", "words"), [
    ([("tetra", [[0, 1, 2, 3]])], "1 tetra cells; make the mesh of second order"),
    ([("hexahedron", [[0, 1, 2, 3, 4, 5, 6, 7]])], "1 hexahedron cells; use triangle, line"),
    ([("tetra10", [[0, 2, 1, 3, 6, 5, 4, 7, 8, 9]])], "1 solid cells have no positive volume"),
    ([("tetra10", [[0, 1, 2, 3, 4, 5, 6, 7, 8, 90]])], "uses points"),
    ([("vertex", [[0]])], "holds no cells that can be used"),
])  # fmt: skip
def test_files_that_are_no_use(tmp_path, cells, words):
    path = tmp_path / "a.vtu"
    if "90" in str(cells):
        path.write_text(_with_a_wrong_number(POINTS))
    else:
        meshio.vtu.write(path, meshio.Mesh(POINTS, cells))
    with pytest.raises(FileError, match=words):
        fea.read_mesh(path)


def _with_a_wrong_number(points):
    coordinates = " ".join(f"{x:g}" for x in points.ravel())
    array = '<DataArray type="{}" Name="{}" {}format="ascii">{}</DataArray>'.format
    return (
        '<VTKFile type="UnstructuredGrid" version="0.1" byte_order="LittleEndian">'
        '<UnstructuredGrid><Piece NumberOfPoints="10" NumberOfCells="1"><Points>'
        + array("Float64", "Points", 'NumberOfComponents="3" ', coordinates)
        + "</Points><Cells>"
        + array("Int64", "connectivity", "", "0 1 2 3 4 5 6 7 8 90")
        + array("Int64", "offsets", "", "10")
        + array("Int64", "types", "", "24")
        + "</Cells></Piece></UnstructuredGrid></VTKFile>"
    )


def test_one_name_for_two_kinds_is_refused(tmp_path):
    path = tmp_path / "a.vtu"
    blocks = [("tetra10", [[0, 1, 2, 3, 4, 5, 6, 7, 8, 9]]), ("triangle6", [[0, 1, 2, 4, 5, 6]])]
    meshio.vtu.write(path, meshio.Mesh(POINTS, blocks, cell_data={"zone": [[1], [1]]}))
    with pytest.raises(FileError, match="has the name '1' for tetra10 and for triangle6 cells"):
        fea.read_mesh(path)


def test_a_gmsh_group_without_a_name_keeps_its_number(tmp_path):
    path = tmp_path / "a.msh"
    path.write_text(GMSH.replace('2\n2 7 "lid"', "1"))
    assert set(fea.read_mesh(path).zones) == {"7", "body"}


def test_results_of_solids_are_written(tmp_path, mesh):
    section = fea.SolidSection(fea.Isotropic(youngs_modulus=1000.0, poisson_ratio=0.3))
    model = fea.Model(mesh, {"block": section}, [fea.Support("u0", "ux uy uz")],
                      {"press": [fea.Pressure("face w1", 1.0)]})
    solution = fea.solve(model)["press"]
    path = tmp_path / "solid.vtu"
    write_fields(
        path, mesh, {"displacement": solution.displacement[:, :3],
                     "stress": solution.solid_nodal_stress("block")},
        {"cell stress": {"tetra10": solution.solid_stress("block")}},
    )  # fmt: skip
    read = meshio.vtu.read(path)
    np.testing.assert_array_equal(read.point_data["displacement"], solution.displacement[:, :3])
    stresses = read.cell_data["cell stress"]
    blocks = {cells.type: data for cells, data in zip(read.cells, stresses, strict=True)}
    np.testing.assert_array_equal(blocks["tetra10"], solution.solid_stress("block"))
    assert np.isnan(blocks["triangle6"]).all()

# SPDX-License-Identifier: MIT
"""Loads: resultants, lines of action, signs, chains of edges, refusals."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from small_models import ALL, STEEL, flat, grid, solve_skin

import fea
import fea.errors
from fea.structure.loads import nodal_forces, patch_shares, tributary_areas

PLATE = grid(10, 6, flat(100.0, 60.0), diagonal="random", jitter=0.2)


def resultant(forces, points):
    """Force and moment (6,) about the origin."""
    moment = forces[:, 3:] + np.cross(points, forces[:, :3])
    return np.concatenate([forces[:, :3].sum(axis=0), moment.sum(axis=0)])


def test_point_force_is_shared_equally():
    forces = nodal_forces(fea.PointForce("u1", (7.0, 0, -14.0), (0, 21.0, 0)), PLATE)
    nodes = PLATE.places["u1"]
    assert len(nodes) == 7
    np.testing.assert_allclose(forces[nodes], np.broadcast_to([1, 0, -2, 0, 3, 0], (7, 6)))
    assert np.abs(np.delete(forces, nodes, axis=0)).max() == 0.0


def test_pressure_pushes_along_the_normal_and_surface_force_does_not_care():
    """The triangles turn counter-clockwise seen from +z, so +normal is +z."""
    for value in (0.2, -0.3):
        forces = resultant(nodal_forces(fea.Pressure("skin", value), PLATE), PLATE.points)
        area = 100 * 60
        np.testing.assert_allclose(
            forces, [0, 0, value * area, value * area * 30, -value * area * 50, 0], atol=1e-9
        )
    flipped = fea.Mesh(
        PLATE.points, {"triangle": PLATE.cells["triangle"][:, ::-1]}, PLATE.places, PLATE.zones
    )
    total = resultant(nodal_forces(fea.Pressure("skin", 0.2), flipped), PLATE.points)
    assert total[2] == pytest.approx(-0.2 * 6000)
    total = resultant(nodal_forces(fea.SurfaceForce("skin", (1, 2, 3)), flipped), PLATE.points)
    np.testing.assert_allclose(total[:3], [6000, 12000, 18000])


def test_pressure_inside_a_closed_surface_has_no_resultant():
    points = np.array([[0.0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1]])
    box = [[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]]
    mesh = fea.Mesh(points, {"triangle": box}, zones={"skin": ("triangle", range(4))})
    forces = nodal_forces(fea.Pressure("skin", 1.0), mesh)
    np.testing.assert_allclose(resultant(forces, points), 0.0, atol=1e-16)


def test_edge_force_follows_the_border():
    forces = nodal_forces(fea.EdgeForce("u1", (0, 0, 2.0)), PLATE)
    total = resultant(forces, PLATE.points)
    np.testing.assert_allclose(total, [0, 0, 120, 120 * 30, -120 * 100, 0], atol=1e-10)
    ends, inner = PLATE.places["u1v0"][0], PLATE.places["u1"][3]
    assert forces[ends, 2] == pytest.approx(10.0) and forces[inner, 2] == pytest.approx(20.0)


def test_edge_force_around_the_whole_border_takes_no_inner_edge():
    """A corner triangle has all its nodes on the border; its inner edge carries nothing."""
    total = resultant(nodal_forces(fea.EdgeForce("border", (0, 0, 1.0)), PLATE), PLATE.points)
    assert total[2] == pytest.approx(2 * (100 + 60), rel=1e-12)


def test_edge_force_along_a_line_inside():
    """Nodes of one inner column form a chain of inner edges."""
    plate = grid(10, 6, flat(100.0, 60.0), diagonal="rising")
    line = np.flatnonzero(np.abs(plate.points[:, 0] - 40.0) < 1e-9)
    mesh = plate.with_places({"line": line})
    total = resultant(nodal_forces(fea.EdgeForce("line", (0, 0, 1.0)), mesh), mesh.points)
    np.testing.assert_allclose(total[:5], [0, 0, 60, 60 * 30, -60 * 40], atol=1e-10)


def test_edge_force_along_struts():
    points = [[0, 0, 0], [3, 4, 0], [3, 4, 12]]
    mesh = fea.Mesh(points, {"line": [[0, 1], [1, 2]]}, places={"bar": [0, 1, 2]})
    forces = nodal_forces(fea.EdgeForce("bar", (1.0, 0, 0)), mesh)
    np.testing.assert_allclose(forces[:, 0], [2.5, 8.5, 6.0])


def test_edge_force_needs_an_edge():
    mesh = PLATE.with_places({"two": [0, 40]})
    with pytest.raises(fea.errors.ModelError, match="place 'two' forms no edge of the mesh"):
        nodal_forces(fea.EdgeForce("two", (1, 0, 0)), mesh)


def test_tributary_areas_add_up():
    assert tributary_areas(PLATE, "skin").sum() == pytest.approx(6000.0, rel=1e-12)


@given(st.floats(10, 90), st.floats(10, 50), st.floats(-0.3, 0.3), st.floats(8, 40))
def test_patch_force_is_exact(x, y, slope, radius):
    """Resultant and line of action to 1e-10, and no share below zero."""
    radius = max(radius, 16.0)
    load = fea.PatchForce(("skin",), (100.0 * slope, -20.0, 500.0), (x, y, 0.0), radius)
    try:
        nodes, share = patch_shares(load, PLATE)
    except fea.errors.LoadError:
        # only where the patch of this radius hangs over the edge
        assert min(x, 100 - x, y, 60 - y) < radius
        return
    assert share.min() >= 0.0
    assert share.sum() == pytest.approx(1.0, abs=1e-13)
    total = resultant(nodal_forces(load, PLATE), PLATE.points)
    np.testing.assert_allclose(total[:3], load.force, rtol=1e-12, atol=1e-9)
    moment = np.cross(load.at, load.force)
    assert np.abs(total[3:] - moment).max() < 1e-10 * 500.0 * 100.0
    distance = np.linalg.norm(
        np.cross(PLATE.points[nodes] - load.at, load.force), axis=1
    ) / np.linalg.norm(load.force)
    assert distance.max() <= radius * (1 + 1e-12)


def test_patch_force_spans_two_zones():
    cells = np.arange(len(PLATE.cells["triangle"]))
    halves = {"a": ("triangle", cells[::2]), "b": ("triangle", cells[1::2])}
    mesh = PLATE.with_zones(halves)
    both = fea.PatchForce(("a", "b"), (0, 0, 9.0), (40.0, 30.0, 0.0), 20.0)
    one = fea.PatchForce(("skin",), (0, 0, 9.0), (40.0, 30.0, 0.0), 20.0)
    np.testing.assert_allclose(nodal_forces(both, mesh), nodal_forces(one, mesh), atol=1e-12)


@pytest.mark.parametrize("place", [(103.0, 30.0, 0.0), (100.0, 30.0, 0.0), (50.0, 400.0, 0.0)])
def test_patch_force_beyond_the_edge_is_refused(place):
    load = fea.PatchForce(("skin",), (0, 0, 500.0), place, 20.0)
    with pytest.raises(fea.errors.LoadError, match="move the centre of pressure inwards"):
        patch_shares(load, PLATE)


@pytest.mark.parametrize(
    ("load", "message"),
    [
        (fea.PatchForce(("skin",), (0, 0, 0), (1, 1, 0), 9.0), "force of a patch must not vanish"),
        (fea.PatchForce(("skin",), (0, 0, 1), (1, 1, 0), 0.0), "patch radius must be positive"),
    ],
)
def test_patch_force_without_size_is_refused(load, message):
    with pytest.raises(fea.errors.LoadError, match=message):
        patch_shares(load, PLATE)


def test_a_patch_that_cannot_be_carried_names_its_case():
    load = fea.PatchForce(("skin",), (0, 0, 500.0), (150.0, 30.0, 0.0), 20.0)
    with pytest.raises(fea.errors.LoadError, match=r"case 'case': .* through \(150.0, 30.0, 0.0\)"):
        solve_skin(PLATE, STEEL, 2.0, [fea.Support("u0", ALL)], [load])


def test_a_pressure_on_struts_is_refused():
    mesh = fea.Mesh([[0, 0, 0], [1, 0, 0]], {"line": [[0, 1]]}, zones={"bar": ("line", [0])})
    with pytest.raises(fea.errors.ModelError, match="'bar' is made of line cells; this load needs"):
        nodal_forces(fea.Pressure("bar", 1.0), mesh)


def test_a_force_on_a_node_without_cells_is_refused():
    mesh = fea.Mesh(
        [[0, 0, 0], [1, 0, 0], [0, 1, 0], [5, 5, 5]],
        {"triangle": [[0, 1, 2]]},
        places={"root": [0, 1], "lost": [3]},
        zones={"skin": ("triangle", [0])},
    )
    with pytest.raises(
        fea.errors.LoadError, match=r"of node 3 at \(5, 5, 5\), which belongs to no"
    ):
        solve_skin(
            mesh, STEEL, 1.0, [fea.Support("root", ALL)], [fea.PointForce("lost", (1, 0, 0))]
        )


@pytest.mark.parametrize("jitter", [0.0, 0.3])
def test_edge_force_stretches_any_sheet_evenly(jitter):
    """Couples belong to an in-plane edge load, or the stress would vary by tens of percent."""
    sheet = grid(4, 4, flat(10.0, 10.0), jitter=jitter, diagonal="random")
    supports = [
        fea.Support("u0", "ux uz rx ry rz"),
        fea.Support("u0v0", "uy"),
    ]
    pull = [fea.EdgeForce("u1", (5.0, 0.0, 0.0))]
    solution = solve_skin(sheet, fea.Isotropic(1000.0, 0.3), 1.0, supports, pull)
    stress = solution.stress("skin", "middle")
    assert stress == pytest.approx(np.tile([5.0, 0.0, 0.0], (len(stress), 1)), abs=1e-9)

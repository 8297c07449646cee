# SPDX-License-Identifier: MIT
"""Where stress does not converge is found, and nothing else is."""

import numpy as np
import pytest
from cornered import cut_plate, hollow_strip, l_plate, ribbed_plate, slit_plate
from small_models import ALL, STEEL, flat, grid

import fea
from fea.errors import ModelError
from fea.mesh.mesh import triangle_geometry
from fea.structure.singular import HARDLY_SINGULAR, singular_places

WALL = 4.0


def structure(mesh, wall=WALL, **more):
    return fea.Structure(mesh, {"skin": fea.ShellSection(STEEL, thickness=wall)}, **more)


def reasons(mesh, wall=WALL, loads=(), **more):
    return [place.reason for place in singular_places(structure(mesh, wall, **more), loads)]


def test_the_threshold_follows_from_williams_equation():
    # sin(λα) = −λ sin α between free edges; at the threshold 2^(1−λ) = 1.05
    alpha, exponent = np.pi + HARDLY_SINGULAR, 1 - np.log2(1.05)
    assert np.sin(exponent * alpha) == pytest.approx(-exponent * np.sin(alpha), abs=1e-5)
    # and the classical value of the equation itself: λ = 0.5445 at 270°
    assert np.sin(0.5445 * 1.5 * np.pi) == pytest.approx(0.5445, abs=1e-4)


@pytest.mark.parametrize("cells", [4, 10, 40, 100])  # cells of 25 to 1 mm, wall 4 mm
def test_an_l_has_one_corner_at_any_cell_size(cells):
    (place,) = singular_places(structure(l_plate(cells, jitter=0.2)))
    assert place.reason == "re-entrant corner" and place.name == ""
    np.testing.assert_allclose(place.point, [50, 50, 0])


@pytest.mark.parametrize("cells", [6, 20, 60])
def test_the_end_of_a_slit_is_one_or_two_corners(cells):
    places = singular_places(structure(slit_plate(cells)))
    tips = np.concatenate([place.nodes for place in places])
    assert {place.reason for place in places} == {"re-entrant corner"} and len(tips) == 2


@pytest.mark.parametrize("step", [1.0, 3.0, 6.0, 9.0])
@pytest.mark.parametrize("radius", [8.0, 12.0, 20.0, 60.0])
@pytest.mark.parametrize("bow", [0.0, 200.0])
def test_a_smooth_hollow_rim_is_no_corner(step, radius, bow):
    if step > 0.75 * radius:
        pytest.skip("fewer than nine cells round a circle: such a rim is not smooth")
    assert reasons(hollow_strip(radius, step, bow=bow)) == []


def test_a_rim_too_sharp_for_its_cells_is_a_corner():
    assert set(reasons(hollow_strip(2.0, 1.0))) == {"re-entrant corner"}  # radius half a wall
    assert reasons(hollow_strip(2.0, 0.25)) == []  # the same, followed by cells of an eighth
    assert set(reasons(hollow_strip(5.0, 9.0))) == {"re-entrant corner"}


@pytest.mark.parametrize("count", [12, 24, 60])
def test_a_hole_is_no_corner(count):
    def ring(u, v):
        radius = 10 + 20 * v
        return radius * np.cos(np.pi * u), radius * np.sin(np.pi * u), 0 * u

    assert reasons(grid(count // 2, 6, ring)) == []


def test_a_corner_only_little_above_180_degrees_is_hardly_singular():
    def bent(degrees):
        slope = np.tan(np.radians(degrees) / 2)
        return lambda u, v: (u, slope * np.abs(u - 0.5) * (1 - v) + v * 0.7, 0 * u)

    assert reasons(grid(10, 6, lambda u, v: 50 * np.array(bent(-5)(u, v)))) == []
    assert reasons(grid(10, 6, lambda u, v: 50 * np.array(bent(20)(u, v)))) == []  # it bulges
    assert reasons(grid(10, 6, lambda u, v: 50 * np.array(bent(-20)(u, v)))) == [
        "re-entrant corner"
    ]
    # on cells of three walls a bend of 20° may as well be a curve within one of them
    assert reasons(grid(4, 3, lambda u, v: 50 * np.array(bent(-20)(u, v)))) == []


def test_a_clamped_side_is_held_and_a_plane_of_symmetry_is_not():
    mesh = grid(8, 8, flat(80, 80))
    (place,) = singular_places(structure(mesh, supports=[fea.Support("u0", ALL)]))
    assert place.reason == "held edge" and place.name == "u0"
    np.testing.assert_array_equal(place.nodes, mesh.place("u0"))
    # two mean edges, diagonals among them, are more than two rows of 10 mm: three rows are touched
    assert place.area_mm2 == pytest.approx(80 * 30)
    assert reasons(mesh, supports=[fea.Support("u0", "ux ry rz")]) == []
    assert reasons(mesh, supports=[fea.Support("u0", "uy ry rz")]) == ["held edge"]
    halves = [fea.Support("u0", "ux"), fea.Support("u0", "ry rz")]
    assert reasons(mesh, supports=halves) == []


def test_a_plate_that_is_held_throughout_has_no_held_edge():
    mesh = grid(8, 8, flat(80, 80))
    every = np.arange(len(mesh.points))
    left = np.flatnonzero(mesh.points[:, 0] < 45)
    mesh = mesh.with_places({"all": every, "left": left})
    assert reasons(mesh, supports=[fea.Support("all", "uz")]) == []
    # in its plane and clamped at one side, it has the edge of the side
    held = [fea.Support("all", "uz"), fea.Support("u0", ALL)]
    (place,) = singular_places(structure(mesh, supports=held))
    assert place.name == "u0"
    np.testing.assert_array_equal(place.nodes, mesh.place("u0"))
    # half of it has an edge where the other half begins
    (place,) = singular_places(structure(mesh, supports=[fea.Support("left", "uz")]))
    np.testing.assert_allclose(mesh.points[place.nodes, 0], 40.0)
    assert len(place.nodes) == 9
    # and two halves that are held alike have none
    mesh = mesh.with_places({"right": np.setdiff1d(every, left)})
    assert reasons(mesh, supports=[fea.Support(half, "uz") for half in ("left", "right")]) == []


def test_of_a_held_part_only_the_band_beside_its_edge_is_left_out():
    """Cells of 4 mm: held up to 40 mm, free beyond. Two mean edges reach 3 rows into the free part,
    and of the held part two rows are left out, for recovered stress knows of the edge there."""
    mesh = grid(20, 20, flat(80, 80))
    left = np.flatnonzero(mesh.points[:, 0] < 41)
    mesh = mesh.with_places({"left": left})
    (place,) = singular_places(structure(mesh, supports=[fea.Support("left", ALL)]))
    assert place.reason == "held edge"
    np.testing.assert_allclose(mesh.points[place.nodes, 0], 40.0)
    x = mesh.points[mesh.zone_cells("skin")][place.cells][..., 0]
    assert (x.min(), x.max()) == pytest.approx((32.0, 52.0))
    pulled = [fea.Support("left", ALL, 0.1)]  # moved as one, which is not held
    (moved,) = singular_places(structure(mesh, supports=pulled))
    assert moved.area_mm2 >= place.area_mm2


def test_a_rigid_piece_has_no_peak_within():
    """A place that turns a rigid front lies within it; the peak stands at the edge of the front."""
    mesh = grid(20, 20, flat(80, 80))
    x = mesh.points[:, 0]
    tip = mesh.place("u1v0")
    front = np.setdiff1d(np.flatnonzero(x > 55), tip)
    mesh = mesh.with_places({"front": front, "tip": tip})
    places = singular_places(structure(
        mesh, ties=[fea.Tie("tip", "front", rule="rigid")],
        supports=[fea.Support("tip", ALL, 0.1)],
    ))  # fmt: skip
    assert [place.reason for place in places] == ["rigid edge"]
    np.testing.assert_allclose(x[places[0].nodes], 56.0)
    cells = mesh.points[mesh.zone_cells("skin")][places[0].cells][..., 0]
    assert (cells.min(), cells.max()) == pytest.approx((44.0, 64.0))


def test_solids_are_refused_rather_than_called_free_of_singular_places():
    corners = np.array([[0, 0, 0], [9, 0, 0], [0, 9, 0], [0, 0, 9]], dtype=float)
    ends = [(0, 1), (1, 2), (0, 2), (0, 3), (1, 3), (2, 3)]
    points = [*corners, *(corners[list(pair)].mean(axis=0) for pair in ends)]
    mesh = fea.Mesh(points, {"tetra10": [range(10)]}, zones={"block": ("tetra10", [0])})
    block = fea.Structure(mesh, {"block": fea.SolidSection(STEEL)})
    with pytest.raises(ModelError, match="zone 'block' is of solids.*are not sought"):
        singular_places(block)


def test_held_bodies_beds_and_spread_loads_are_not_singular():
    mesh = grid(8, 8, flat(80, 80))
    ground = [fea.Bed("skin", None, 1.0, 0.1)]
    patch = fea.PatchForce(("skin",), (0, 0, -1.0), (40, 40, 0), 20.0)
    loads = [patch, fea.Pressure("skin", 1.0), fea.EdgeForce("u1", (1.0, 0, 0))]
    assert reasons(mesh, loads=loads, beds=ground) == []


def test_a_force_on_one_node_is_a_point_load_and_on_a_side_it_is_not():
    mesh = grid(8, 8, flat(80, 80))
    assert reasons(mesh, loads=[fea.PointForce("centre", (0, 0, 1.0))]) == ["point load"]
    assert reasons(mesh, loads=[fea.PointForce("u1", (0, 0, 1.0))]) == []
    twice = [fea.PointForce("u0v0", (0, 0, 1.0)), fea.PointForce("u0v0", (1.0, 0, 0))]
    assert reasons(mesh, loads=twice) == ["point load"]


def with_strut(mesh, ends, **places):
    """The sheet with one strut between two nodes or new points."""
    points, line = list(mesh.points), []
    for end in ends:
        if np.ndim(end):
            points.append(end)
            end = len(points) - 1
        line.append(int(end))
    named = {name: [line[int(k)]] for name, k in places.items()}
    return fea.Mesh(
        points,
        {"triangle": mesh.cells["triangle"], "line": [line]},
        places={**mesh.places, **named},
        zones={**mesh.zones, "bar": ("line", [0])},
    )


def tied(rule):
    sheet = grid(16, 16, flat(80, 80))
    ring = np.flatnonzero(np.hypot(*(sheet.points[:, :2] - 40).T) < 9)
    mesh = with_strut(sheet.with_places({"washer": ring}), [(40, 40, 5.0), (40, 40, 50.0)], pin=0)
    bar = fea.StrutSection.rectangle(STEEL, width=5.0, depth=5.0, up=(1, 0, 0))
    sections = {"skin": fea.ShellSection(STEEL, thickness=WALL), "bar": bar}
    return fea.Structure(mesh, sections, ties=[fea.Tie("pin", "washer", rule=rule)]), ring


@pytest.mark.parametrize("rule, reason", [("mean", "under a washer"), ("rigid", "rigid edge")])
def test_a_tie_leaves_out_its_patch_and_what_is_near(rule, reason):
    model, ring = tied(rule)
    (place,) = singular_places(model)
    assert place.reason == reason and place.name == "washer"
    edge = np.any(model.mesh.points[ring, :2] != 40.0, axis=1)  # all but the middle one
    np.testing.assert_array_equal(place.nodes, ring[edge] if rule == "rigid" else ring)
    centres = model.mesh.points[model.mesh.zone_cells("skin")].mean(axis=1)
    from_middle = np.linalg.norm(centres[:, :2] - 40, axis=1)
    assert place.cells[from_middle < 7 + 10].all()  # the patch reaches 7 mm; two cells are 10 mm
    assert not place.cells[from_middle > 9 + 10 + 10].any()


def test_a_strut_ends_at_a_shell():
    sheet = grid(8, 8, flat(80, 80))
    bar = fea.StrutSection.rectangle(STEEL, width=5.0, depth=5.0, up=(1, 1, 1))
    sections = {"skin": fea.ShellSection(STEEL, thickness=WALL), "bar": bar}
    mesh = with_strut(sheet, [sheet.place("centre")[0], (40, 40, 50.0)])
    found = singular_places(fea.Structure(mesh, sections))
    assert [(place.reason, place.point) for place in found] == [("end of a strut", (40, 40, 0))]


def test_a_rib_that_ends_on_the_wall_is_singular_there_and_one_that_runs_to_the_rim_is_not():
    def found(along):
        mesh = ribbed_plate(10, along)
        wall = fea.ShellSection(STEEL, thickness=WALL)
        return singular_places(fea.Structure(mesh, {"skin": wall, "rib": wall}))

    places = found((20, 60))
    assert [place.reason for place in places] == ["end of a rib"] * 2
    np.testing.assert_allclose([place.point for place in places], [[20, 25, 0], [60, 25, 0]])
    np.testing.assert_allclose([place.point for place in found((0, 60))], [[60, 25, 0]])
    assert found((0, 100)) == ()


@pytest.mark.parametrize("cells, wall, radius", [(40, 4.0, 5.0), (100, 4.0, 4.0), (100, 9.0, 9.0)])
def test_what_is_left_out_reaches_a_wall_and_two_cells_and_little_more(cells, wall, radius):
    mesh = l_plate(cells)
    (place,) = singular_places(structure(mesh, wall))
    triangles = mesh.zone_cells("skin")
    centres = mesh.points[triangles].mean(axis=1)
    distance = np.linalg.norm(centres - [50, 50, 0], axis=1)
    assert place.cells[distance < radius].all()
    assert not place.cells[distance > radius + 1.5 * 100 / cells + 0.3 * radius].any()
    area, _ = triangle_geometry(mesh.points, triangles)
    assert place.area_mm2 == pytest.approx(area[place.cells].sum())
    assert place.area_mm2 < 0.75 * np.pi * (1.3 * radius + 1.5 * 100 / cells) ** 2


def test_what_is_left_out_does_not_jump_to_a_near_sheet():
    upper = l_plate(40)
    lower = upper.points + [0, 0, 1.0]
    triangles = upper.zone_cells("skin")
    count = len(upper.points)
    both = fea.Mesh(
        np.concatenate([upper.points, lower]),
        {"triangle": np.concatenate([triangles, triangles + count])},
        zones={"skin": ("triangle", np.arange(2 * len(triangles)))},
    )
    first, second = singular_places(structure(both))
    assert not (first.cells & second.cells).any()


def test_a_plate_without_corners_has_no_singular_place():
    assert reasons(cut_plate(10, 100.0, lambda x, y: x > -1, jitter=0.3)) == []

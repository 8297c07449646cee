# SPDX-License-Identifier: MIT
"""Force, contact and pads where limb and device touch."""

import numpy as np
import pytest
from small_models import flat, grid, solve_one

import fea
from fea.check.touch import Touch, nodal_pressure, pad_means, read_pressures

RIGID = fea.Isotropic(youngs_modulus=1e6, poisson_ratio=0.3)
HELD = "ux uy uz rx ry rz"


def stamp(eccentricity=0.0, bed=0.02):
    """A rigid plate of 80 x 60 pressed by 96 N on a held body: 20 kPa where it is centred."""
    mesh = grid(16, 12, flat(80.0, 60.0))
    place = np.flatnonzero(np.all(np.isclose(mesh.points[:, :2], (40.0 + eccentricity, 30.0)), 1))
    mesh = fea.Mesh(mesh.points, mesh.cells, places={**mesh.places, "at": place}, zones=mesh.zones)
    return solve_one(
        mesh, {"skin": fea.ShellSection(RIGID, thickness=10.0)},
        [fea.Support("shank", HELD), fea.Support("u0", "ux uy rz"), fea.Support("border", "rx")],
        [fea.PointForce("at", (0, 0, -96.0))],
        beds=[fea.Bed("skin", "shank", bed, face="bottom")],
        bodies=[fea.Body("shank", at=(0.0, 0.0, -40.0))],
    )  # fmt: skip


def test_a_centred_stamp_presses_force_over_area():
    (reading,) = read_pressures({"case": stamp()})
    assert reading.force == pytest.approx((0.0, 0.0, -96.0), abs=1e-6)  # on the limb, down
    assert reading.area == pytest.approx(4800.0)
    assert reading.mean == pytest.approx(0.020, rel=1e-6)
    assert reading.peak == pytest.approx(0.020, rel=1e-3)


def test_a_stamp_beyond_its_kern_touches_in_part():
    """Triangle of pressure 3 (b/2 − e) long: 30 of 80 mm, and twice the mean at its end."""
    (reading,) = read_pressures({"case": stamp(eccentricity=30.0)})
    assert reading.area == pytest.approx(30.0 * 60.0, abs=5.0 * 60.0)  # one row of cells
    assert reading.peak == pytest.approx(2 * 96.0 / (30.0 * 60.0), rel=0.03)
    assert reading.mean * reading.area == pytest.approx(96.0, rel=1e-6)
    assert reading.place[0] == pytest.approx(80.0)


def test_the_hardest_pad_lies_at_the_hard_edge_and_carries_its_integral():
    """Over 20 cm², so 33.3 mm of the 60 mm wide plate from its end, of a triangle 30 mm long: all
    96 N on 2000 mm². Nearest wall makes a round pad, which misses little of it."""
    touch = Touch.of({"case": stamp(eccentricity=30.0)}, "shank")
    pads = touch.pads(2000.0)
    assert 0.88 * 0.048 < pads.max() <= 0.048 * (1 + 1e-9)
    assert touch.points[pads[0].argmax(), 0] >= 60.0


def test_flesh_hardly_matters_to_a_pad_under_a_rigid_stamp():
    soft, stiff = (
        Touch.of({"case": stamp(20.0, bed)}, "shank").pads(2000.0).max() for bed in (0.01, 0.04)
    )
    assert soft == pytest.approx(stiff, rel=1e-4)


@pytest.mark.parametrize("pad", [50.0, 500.0, 1e9])
def test_pads_keep_a_constant_and_never_exceed_the_peak(pad):
    rng = np.random.default_rng(3)
    points, area = rng.uniform(0, 100, (300, 3)) * [1, 1, 0.1], rng.uniform(5, 40, 300)
    matrix = pad_means(points, area, pad)
    np.testing.assert_allclose(matrix @ np.ones(300), 1.0, rtol=1e-9)
    values = rng.uniform(0, 1, 300)
    assert (matrix @ values).max() <= values.max()
    if pad > area.sum():
        np.testing.assert_allclose(matrix @ values, values @ area / area.sum())


def test_pressure_at_nodes_is_nothing_where_no_bed_lies():
    solution = stamp()
    field = nodal_pressure(solution)
    assert field == pytest.approx(np.full(len(field), 0.020), rel=1e-3)


def test_a_rigid_device_with_one_narrow_pad_presses_moment_over_lever():
    """300 N, 40 mm ahead of the ankle axis: 12 N·m. The pad lies 235 mm above the axis, so it
    presses 51.06 N, whatever the flesh; statics alone."""
    ankle, top = np.array([0.0, 0.0, 60.0]), 300.0

    def bent(u, v):  # the plate from x = -60 to 60, then the leaf up to the top
        way = 420.0 * u
        return np.minimum(way - 60.0, 60.0), 60.0 * v - 30.0, np.maximum(way - 120.0, 0.0)

    mesh = grid(42, 6, bent)
    z = mesh.points[mesh.cells["triangle"]].mean(axis=1)[:, 2]
    mesh = mesh.with_zones({
        "sole": ("triangle", np.flatnonzero(z < 1e-9)),
        "pad": ("triangle", np.flatnonzero(z > top - 10.0)),
    })  # fmt: skip
    for bed in (0.01, 0.04):
        solution = solve_one(
            mesh, {"skin": fea.ShellSection(RIGID, thickness=10.0)}, [fea.Support("shank", HELD)],
            [fea.PatchForce(("sole",), (0.0, 0.0, 300.0), (40.0, 0.0, 0.0), 15.0)],
            beds=[fea.Bed("sole", "foot", 0.05, 0.005), fea.Bed("pad", "shank", bed, face="top")],
            bodies=[fea.Body("shank", at=tuple(ankle)),
                    fea.Body("foot", at=tuple(ankle), joined_to="shank", axis=(0.0, 1.0, 0.0))],
        )  # fmt: skip
        pad = next(one for one in read_pressures({"case": solution}) if one.zone == "pad")
        assert pad.force[0] == pytest.approx(-300.0 * 40.0 / 235.0, rel=2e-3)  # backward, on shin
        assert pad.mean == pytest.approx(51.06 / (60.0 * 10.0), rel=5e-3)
        nodes, forces = solution.bed_forces("pad")
        lever = mesh.points[nodes, 2] - ankle[2]
        assert forces[:, 0] @ lever == pytest.approx(300.0 * 40.0, rel=1e-8)

# SPDX-License-Identifier: MIT
"""Elastic beds and rigid bodies against closed forms, and the free body between them.

Beam on an elastic foundation: Hetényi M, Beams on Elastic Foundation, 1946.
"""

import numpy as np
import pytest
from small_models import ALL, STEEL, at, flat, grid, solve_one, solve_skin

import fea
import fea.errors

BED = 0.3  # N/mm³


def test_semi_infinite_beam_on_a_bed():
    """End force P on a long strip: w = 2 P λ/(k b), λ⁴ = k b/(4 E I); decays as e^(−λx) cos λx."""
    width, wall, length, modulus = 10.0, 2.0, 400.0, 70e3
    strip = grid(160, 2, flat(length, width))
    material = fea.Isotropic(youngs_modulus=modulus, poisson_ratio=0.0)
    supports = [fea.Support("u1", "ux uy rz")]
    load = [fea.PointForce("u0", (0, 0, -50.0))]
    solution = solve_skin(strip, material, wall, supports, load, beds=[fea.Bed("skin", None, BED)])
    rate = (BED * width / (4 * modulus * width * wall**3 / 12)) ** 0.25
    assert rate * length > 6
    end = -2 * 50.0 * rate / (BED * width)
    assert at(solution, "u0")[2] == pytest.approx(end, rel=3e-3)
    x = strip.points[:, 0]
    expected = end * np.exp(-rate * x) * np.cos(rate * x)
    assert np.abs(solution.displacement[:, 2] - expected).max() < 5e-3 * abs(end)
    nodes, forces = solution.bed_forces("skin")
    assert forces[:, 2].sum() == pytest.approx(50.0, rel=1e-8)
    # the bed's centre of pressure lies under the end force
    assert abs(forces[:, 2] @ strip.points[nodes, 0]) < 1e-6 * 50.0 * length


@pytest.mark.parametrize("on_body", [False, True], ids=["ground", "held body"])
def test_rigid_plate_on_a_bed(on_body):
    """Sinks by F/(k A) and tilts by M/(k I); a tangential bed shears by F/(k_t A)."""
    a, b = 60.0, 40.0
    plate = grid(24, 16, flat(a, b))
    bodies = [fea.Body("floor", (10.0, -5.0, -30.0))] if on_body else []
    supports = [fea.Support("floor", ALL)] if on_body else []
    centre = np.array([a / 2, b / 2, 0])
    force, moment = np.array([3.0, -2.0, -90.0]), np.array([200.0, 300.0, 50.0])
    loads = [fea.PointForce("centre", tuple(force), tuple(moment))]
    bed = fea.Bed("skin", "floor" if on_body else None, BED, 0.1 * BED)
    # a thicker wall would be no more rigid at these tolerances, and rounding of its stiffness,
    # over that of the bed, would reach the balance asked for below
    solution = solve_skin(plate, STEEL, 12.0, supports, loads, beds=[bed], bodies=bodies)
    moved = at(solution, "centre")
    np.testing.assert_allclose(plate.points[plate.places["centre"][0]], centre)
    area, i_x, i_y = a * b, a * b**3 / 12, b * a**3 / 12
    edges = plate.places["border"]
    tilt = np.linalg.lstsq(
        np.column_stack([plate.points[edges] - centre, np.ones(len(edges))])[:, [0, 1, 3]],
        solution.displacement[edges, 2],
        rcond=None,
    )[0]
    assert moved[0] == pytest.approx(3.0 / (0.1 * BED * area), rel=2e-3)
    assert tilt[2] == pytest.approx(-90.0 / (BED * area), rel=2e-3)
    # nodes carry their areas lumped, which widens the plate's second moments by (h/a)² or so
    assert tilt[1] == pytest.approx(200.0 / (BED * i_x), rel=1e-2)
    assert tilt[0] == pytest.approx(-300.0 / (BED * i_y), rel=1e-2)
    if on_body:
        reaction = solution.reaction("floor")
        np.testing.assert_allclose(reaction[:3], -force, rtol=1e-8)
        arm = centre - [10.0, -5.0, -30.0]
        np.testing.assert_allclose(reaction[3:], -(moment + np.cross(arm, force)), rtol=1e-8)
    nodes, bed_forces = solution.bed_forces("skin")
    np.testing.assert_allclose(bed_forces.sum(axis=0), -force, rtol=1e-8)


ANKLE = (0.0, 0.0, 60.0)


def shin(axis, tangential=0.0):
    """A held panel at the shin's front; shank and foot joined at the ankle, a bed in between."""
    panel = grid(20, 20, lambda u, v: (0 * u + 30.0, 80 * (u - 0.5), 250 + 100 * v))
    panel = panel.with_places({"all": panel.zone_nodes("skin")})

    def solve(moment, force=(0.0, 0.0, 0.0)):
        return solve_one(
            panel,
            {"skin": fea.ShellSection(STEEL, thickness=4.0)},
            [fea.Support("all", ALL), fea.Support("foot", ALL)],
            [fea.PointForce("shank", force, moment)],
            beds=[fea.Bed("skin", "shank", BED, tangential)],
            bodies=[
                fea.Body("shank", ANKLE, joined_to="foot", axis=axis),
                fea.Body("foot", (50.0, 10.0, 0.0)),
            ],
        )

    return solve


def test_hinge_turns_about_its_axis_only():
    """θ = M/(k ∫(z − z_a)² dA); the panel takes M/arm, the foot the opposite force."""
    solution = shin(axis=(0, 2.0, 0))((0.0, 5000.0, 0.0))
    z = np.array([250.0, 350.0]) - ANKLE[2]
    second = 80.0 * (z[1] ** 3 - z[0] ** 3) / 3
    turned = solution.body("shank")
    assert turned[4] == pytest.approx(5000.0 / (BED * second), rel=1e-4)
    np.testing.assert_allclose(np.delete(turned, 4), 0.0, atol=1e-15)
    nodes, forces = solution.bed_forces("skin")
    points = solution.system.structure.mesh.points[nodes]
    arm = points - np.array(ANKLE)
    np.testing.assert_allclose(np.cross(arm, forces).sum(axis=0)[1], 5000.0, rtol=1e-9)
    # the foot holds the shank's hinge: force only, as a moment about the ankle
    reaction = solution.reaction("foot")
    np.testing.assert_allclose(reaction[:3], forces.sum(axis=0), rtol=1e-8, atol=1e-8)
    about_ankle = reaction[3:] + np.cross(np.array([50.0, 10.0, 0]) - ANKLE, reaction[:3])
    np.testing.assert_allclose(about_ankle, 0.0, atol=1e-6)


def test_hinge_passes_moments_across_its_axis_to_the_foot():
    """Nothing of them reaches the panel: it feels no force at all."""
    solution = shin(axis=(0, 1.0, 0))((700.0, 0.0, -400.0), (0.0, 9.0, 0.0))
    reaction = solution.reaction("foot")
    np.testing.assert_allclose(reaction[:3], [0, -9.0, 0], atol=1e-9)
    lever = np.cross(np.subtract(ANKLE, (50.0, 10.0, 0.0)), [0, 9.0, 0])
    np.testing.assert_allclose(reaction[3:], -(lever + [700.0, 0, -400.0]), rtol=1e-9, atol=1e-7)
    assert np.abs(solution.bed_forces("skin")[1]).max() < 1e-9


def test_ball_passes_no_moment():
    """All moments go into the bed; the foot carries a force through the ankle alone."""
    moment = np.array([700.0, 5000.0, -400.0])
    solution = shin(axis=None, tangential=0.2 * BED)(tuple(moment))
    nodes, forces = solution.bed_forces("skin")
    arm = solution.system.structure.mesh.points[nodes] - np.array(ANKLE)
    np.testing.assert_allclose(np.cross(arm, forces).sum(axis=0), moment, rtol=1e-8)
    reaction = solution.reaction("foot")
    about_ankle = reaction[3:] + np.cross(np.array([50.0, 10.0, 0]) - ANKLE, reaction[:3])
    np.testing.assert_allclose(about_ankle, 0.0, atol=1e-6)
    np.testing.assert_allclose(solution.body("shank")[:3], 0.0, atol=1e-15)
    assert abs(solution.body("shank")[3]) > 1e-6


def test_a_hinge_carries_its_foot_along():
    """The joint's centre follows a foot that is moved; with no bed force the shank is free."""
    panel = grid(4, 4, lambda u, v: (0 * u + 30.0, 80 * (u - 0.5), 250 + 100 * v))
    panel = panel.with_places({"all": panel.zone_nodes("skin")})
    solution = solve_one(
        panel,
        {"skin": fea.ShellSection(STEEL, thickness=4.0)},
        [
            fea.Support("all", ALL),
            fea.Support("foot", "ux uy rx ry rz"),
            fea.Support("foot", "uz", 2.0),
        ],
        [],
        beds=[fea.Bed("skin", "shank", BED)],
        bodies=[
            fea.Body("shank", ANKLE, joined_to="foot", axis=(0, 1, 0)),
            fea.Body("foot", (50.0, 10.0, 0.0)),
        ],
    )
    np.testing.assert_allclose(solution.body("shank"), [0, 0, 2.0, 0, 0, 0], atol=1e-12)


def test_hinge_without_a_bed_is_a_mechanism():
    mesh = grid(2, 2, flat(10.0, 10.0))
    bodies = [
        fea.Body("shank", ANKLE, joined_to="foot", axis=(0, 1, 0)),
        fea.Body("foot", (0,) * 3),
    ]
    with pytest.raises(fea.errors.UnsupportedError, match="hinge of body 'shank'"):
        solve_one(
            mesh,
            {"skin": fea.ShellSection(STEEL, thickness=1.0)},
            [fea.Support("u0", ALL), fea.Support("foot", ALL)],
            [],
            bodies=bodies,
        )


def test_ball_on_a_frictionless_bed_is_a_mechanism():
    with pytest.raises(fea.errors.UnsupportedError, match="body 'shank'"):
        shin(axis=None)((0.0, 100.0, 0.0))


def test_a_bed_must_exist_to_be_read():
    solution = solve_skin(grid(2, 2, flat(10, 10)), STEEL, 1.0, [fea.Support("u0", ALL)], [])
    with pytest.raises(fea.errors.ModelError, match="zone 'skin' lies on no bed"):
        solution.bed_forces("skin")

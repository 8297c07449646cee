# SPDX-License-Identifier: MIT
"""Section stiffness: offsets, laminates, thickness fields, material directions, mass."""

import numpy as np
import pytest
from small_models import ALL, STEEL, flat, grid, solve_one

import fea
import fea.errors

PLASTIC = fea.Isotropic(youngs_modulus=1400.0, poisson_ratio=0.4, density=0.9e-6)
PLY = fea.Ply(e1=120e3, e2=9e3, nu12=0.3, g12=4e3, g23=3e3, density=1.5e-6)


def test_an_isotropic_wall_by_hand():
    stiffness = fea.ShellSection(PLASTIC, thickness=3.0).stiffness(1)[0]
    membrane = 1400 * 3 / (1 - 0.16)
    assert stiffness[0, 0] == pytest.approx(membrane)
    assert stiffness[0, 1] == pytest.approx(0.4 * membrane)
    assert stiffness[2, 2] == pytest.approx(500 * 3)
    assert stiffness[3, 3] == pytest.approx(membrane * 9 / 12)
    assert stiffness[6, 6] == stiffness[7, 7] == pytest.approx(5 / 6 * 500 * 3)
    assert np.abs(stiffness[:3, 3:6]).max() == 0.0


def test_an_isotropic_wall_equals_a_laminate_of_the_same_layers():
    layers = fea.Laminate([PLASTIC] * 3, [0, 37, 90], [1.0, 0.5, 1.5])
    one = fea.ShellSection(PLASTIC, thickness=3.0, offset=0.7).stiffness(1)
    two = fea.ShellSection(layers, offset=0.7).stiffness(1)
    np.testing.assert_allclose(two, one, rtol=1e-12, atol=1e-9)


def test_offset_is_the_parallel_axis_rule():
    """D about the mesh = D + d² A, coupling d A: positive when the wall lies on the +normal."""
    plain = fea.ShellSection(PLASTIC, thickness=3.0).stiffness(1)[0]
    shifted = fea.ShellSection(PLASTIC, thickness=3.0, offset=2.0).stiffness(1)[0]
    np.testing.assert_allclose(shifted[:3, 3:6], 2 * plain[:3, :3])
    np.testing.assert_allclose(shifted[3:6, 3:6], plain[3:6, 3:6] + 4 * plain[:3, :3])
    np.testing.assert_allclose(shifted, shifted.T)


def test_an_offset_of_a_coupled_laminate_refers_to_another_surface():
    """The energy of one strain state is the same, seen from the mid-plane or from the mesh."""
    laminate = fea.Laminate(PLY, [0, 30, -45], 0.5)
    strain, curvature, offset = np.array([1e-3, 2e-3, -1e-3]), np.array([0.01, -0.02, 0.03]), 1.3
    middle = np.concatenate([strain + offset * curvature, curvature])
    seen = np.concatenate([strain, curvature])
    stiffness = fea.ShellSection(laminate, offset=offset).stiffness(1)[0, :6, :6]
    assert seen @ stiffness @ seen == pytest.approx(middle @ laminate.abd @ middle, rel=1e-12)


def test_thickness_may_differ_from_cell_to_cell():
    section = fea.ShellSection(PLASTIC, thickness=[1.0, 2.0, 4.0], offset=0.5)
    assert section.walls(3).tolist() == [1.0, 2.0, 4.0]
    assert section.heights(3, "top").tolist() == [1.0, 1.5, 2.5]
    assert section.heights(3, "bottom").tolist() == [0.0, -0.5, -1.5]
    one = fea.ShellSection(PLASTIC, thickness=2.0, offset=0.5).stiffness(1)[0]
    np.testing.assert_array_equal(section.stiffness(3)[1], one)


def test_mass_per_area():
    np.testing.assert_allclose(
        fea.ShellSection(PLASTIC, thickness=[1.0, 2.0]).areal_mass(2), [0.9e-6, 1.8e-6]
    )
    laminate = fea.ShellSection(fea.Laminate(PLY, [0, 90], 0.5))
    np.testing.assert_allclose(laminate.areal_mass(2), 1.5e-6)
    with pytest.raises(fea.errors.ModelError, match="mass asked for, but the material has no"):
        fea.ShellSection(STEEL, thickness=1.0).areal_mass(1)


def pulled(angle, direction):
    """A square of one ply pulled along x by 10 per length.

    The drilling rotations are held at zero, as they are in this state: forces on an edge without
    the couples at its corners would disturb the constant strain nearby.
    """
    mesh = grid(4, 4, flat(40.0, 40.0), diagonal="random", jitter=0.2)
    mesh = mesh.with_places({"all": mesh.zone_nodes("skin")})
    section = fea.ShellSection(fea.Laminate(PLY, [angle], 1.0), direction=direction)
    held = [fea.Support("all", "uz rx ry rz"), fea.Support("u0v0", "ux uy")]
    pull = [fea.EdgeForce("u1", (10.0, 0, 0)), fea.EdgeForce("u0", (-10.0, 0, 0))]
    return mesh, solve_one(mesh, {"skin": section}, held, pull)


@pytest.mark.parametrize(
    ("direction", "modulus", "component"), [((1, 0, 0), 120e3, 0), ((0, 1, 0.5), 9e3, 1)]
)
def test_material_direction(direction, modulus, component):
    """Along the fibres and across them; the direction need not lie in the surface."""
    mesh, solution = pulled(0.0, direction)
    stress = solution.stress("skin", "middle")
    np.testing.assert_allclose(stress[:, component], 10.0, rtol=1e-7)
    np.testing.assert_allclose(np.delete(stress, component, axis=1), 0.0, atol=1e-6)
    stretch = solution.displacement[mesh.places["u1v0"][0], 0]
    assert stretch == pytest.approx(10.0 / modulus * 40.0, rel=1e-7)


def test_stress_of_an_off_axis_ply_is_in_ply_axes():
    """σ11 = σ cos²θ, σ22 = σ sin²θ, τ12 = −σ sinθ cosθ for a pull along x, fibres at θ."""
    _, solution = pulled(30.0, (1, 0, 0))
    cos, sin = np.cos(np.pi / 6), 0.5
    expected = [10 * cos**2, 10 * sin**2, -10 * sin * cos]
    plies = solution.ply_stress("skin")
    np.testing.assert_allclose(plies[:, 0, 1], np.broadcast_to(expected, (32, 3)), rtol=1e-7)
    laminate_axes = solution.stress("skin", "middle")
    np.testing.assert_allclose(laminate_axes[:, 0], 10.0, rtol=1e-7)
    np.testing.assert_allclose(laminate_axes[:, 1:], 0.0, atol=1e-6)


def test_default_direction_is_up_the_wall_and_forward_on_the_flat():
    wall = grid(2, 2, lambda u, v: (0 * u, 10 * u, 10 * v))
    floor = grid(2, 2, flat(10.0, 10.0))
    for mesh, axis in ((wall, [0, 0, 1.0]), (floor, [1.0, 0, 0])):
        held = [fea.Support("u0", ALL)]
        section = fea.ShellSection(STEEL, thickness=1.0)
        system = fea.prepare(fea.Structure(mesh, {"skin": section}, held))
        np.testing.assert_allclose(
            system.shells.facets.axes[:, 0], np.broadcast_to(axis, (8, 3)), atol=1e-12
        )

# SPDX-License-Identifier: MIT
"""Plies and laminates: limits, shapes, symmetries, and what happens to wrong input."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fea.errors import MaterialError
from fea.material.isotropic import Isotropic
from fea.material.laminate import Laminate, Ply

UD = Ply(e1=103e3, e2=7.36e3, nu12=0.37, g12=4.04e3, g23=2.5e3, density=1.58e-6)


def test_isotropic_moduli():
    material = Isotropic(youngs_modulus=1400.0, poisson_ratio=0.4)
    assert material.shear_modulus == pytest.approx(500.0)
    # E/(1-ν²) = 1400/0.84
    assert material.plane_stress[0, 0] == pytest.approx(1666.6667)
    assert Isotropic(1.0, 0.0).plane_stress.tolist() == [[1, 0, 0], [0, 1, 0], [0, 0, 0.5]]


@pytest.mark.parametrize("ratio", [-1.0, 0.5, 0.6, float("nan")])
def test_isotropic_refuses_impossible_poisson_ratio(ratio):
    with pytest.raises(MaterialError, match="below 0.5"):
        Isotropic(1000.0, ratio)


@pytest.mark.parametrize("modulus", [0.0, -1.0, float("inf"), float("nan")])
def test_isotropic_refuses_impossible_modulus(modulus):
    with pytest.raises(MaterialError, match="Young's modulus"):
        Isotropic(modulus, 0.3)
    with pytest.raises(MaterialError, match="density"):
        Isotropic(1000.0, 0.3, density=modulus)


@pytest.mark.parametrize("name", ["e1", "e2", "g12", "g13", "g23", "density"])
def test_ply_refuses_constants_that_are_not_positive(name):
    constants = {"e1": 100.0, "e2": 10.0, "nu12": 0.3, "g12": 5.0}
    with pytest.raises(MaterialError, match=name):
        Ply(**{**constants, name: -1.0})


@pytest.mark.parametrize("nu12", [3.2, -3.2, float("nan")])
def test_ply_refuses_poisson_ratio_beyond_positive_energy(nu12):
    # limit: sqrt(100 / 10) = 3.162
    with pytest.raises(MaterialError, match="exchanged"):
        Ply(e1=100.0, e2=10.0, nu12=nu12, g12=5.0)
    Ply(e1=100.0, e2=10.0, nu12=3.16, g12=5.0)


def test_ply_default_transverse_moduli():
    assert Ply(100.0, 10.0, 0.3, 4.0).transverse_moduli == (4.0, 4.0)
    assert Ply(100.0, 10.0, 0.3, 8.0).transverse_moduli == (8.0, 5.0)
    assert Ply(100.0, 10.0, 0.3, 8.0, g13=3.0).transverse_moduli == (3.0, 3.0)
    assert Ply(100.0, 10.0, 0.3, 8.0, g13=6.0, g23=7.0).transverse_moduli == (6.0, 7.0)


@pytest.mark.parametrize(
    ("plies", "angles", "thicknesses"),
    [(UD, [], 1.0), (UD, [0.0, 90.0], [1.0]), ([UD], [0.0, 90.0], 1.0), ([UD, UD], [0.0], [1.0])],
)
def test_laminate_counts_must_agree(plies, angles, thicknesses):
    with pytest.raises(MaterialError, match="one angle, thickness and material per ply"):
        Laminate(plies, angles, thicknesses)


def test_laminate_refuses_bad_plies():
    with pytest.raises(MaterialError, match="thickness of ply 2"):
        Laminate(UD, [0.0, 0.0], [1.0, 0.0])
    with pytest.raises(MaterialError, match="angle of ply 1"):
        Laminate(UD, [float("nan")], 1.0)


def test_mass_and_thickness_add_up():
    aluminium = Isotropic(70e3, 0.33, density=2.7e-6)
    wall = Laminate([UD, aluminium], [0.0, 0.0], [0.5, 2.0])
    assert wall.thickness == 2.5
    assert wall.areal_mass == pytest.approx(0.5 * 1.58e-6 + 2.0 * 2.7e-6)
    with pytest.raises(MaterialError, match="ply 1 has no density"):
        _ = Laminate(Ply(100.0, 10.0, 0.3, 4.0), [0.0], 1.0).areal_mass


def test_one_isotropic_layer_is_a_plate():
    sheet = Isotropic(1400.0, 0.4)
    abd = Laminate(sheet, [33.0], 5.0).abd
    np.testing.assert_allclose(abd[:3, :3], 5.0 * sheet.plane_stress, rtol=1e-12, atol=1e-9)
    np.testing.assert_allclose(abd[3:, 3:], 125.0 / 12 * sheet.plane_stress, rtol=1e-12, atol=1e-9)
    np.testing.assert_allclose(abd[:3, 3:], 0.0, atol=1e-9)


def test_positive_angle_turns_axis_1_towards_axis_2():
    abd = Laminate(UD, [30.0], 1.0).abd
    assert abd[0, 2] > 0.0 and abd[1, 2] > 0.0


def test_single_turned_ply_turns_its_transverse_shear():
    c, s = np.cos(np.radians(30.0)), np.sin(np.radians(30.0))
    g13, g23 = UD.transverse_moduli
    expected = 5.0 / 6.0 * 2.0 * np.array(
        [[c * c * g13 + s * s * g23, c * s * (g13 - g23)],
         [c * s * (g13 - g23), s * s * g13 + c * c * g23]]
    )
    np.testing.assert_allclose(Laminate(UD, [30.0], 2.0).transverse_shear, expected, rtol=1e-12)


def test_one_isotropic_layer_has_the_factor_five_sixths():
    sheet = Isotropic(youngs_modulus=1000.0, poisson_ratio=0.25)
    layers = Laminate(sheet, [0.0, 20.0, 50.0], [1.0, 2.0, 3.0])
    np.testing.assert_allclose(
        layers.transverse_shear, 5.0 / 6.0 * 400.0 * 6.0 * np.eye(2), rtol=1e-12, atol=1e-9
    )


def test_sandwich_shear_is_carried_by_the_core():
    # Faces far stiffer in bending than the core: uniform core shear, S = G (c + t)² / c.
    face = Isotropic(70e3, 0.3)
    core = Isotropic(1.0, 0.3)
    panel = Laminate([face, core, face], [0, 0, 0], [0.1, 10.0, 0.1])
    expected = core.shear_modulus * 10.1**2 / 10.0
    assert panel.transverse_shear[0, 0] == pytest.approx(expected, rel=2e-3)


def test_stress_of_pure_bending_in_one_layer():
    # M = 60 N·mm/mm on 6 mm: σ = 6 M / t² = 10 MPa at the surfaces, top in tension
    wall = Laminate(Isotropic(1400.0, 0.4), [0.0], 6.0)
    response = np.linalg.solve(wall.abd, [0, 0, 0, 60.0, 0, 0])
    stress = wall.ply_stresses(response[:3], response[3:])
    np.testing.assert_allclose(stress[0, :, 0], [-10.0, 0.0, 10.0], atol=1e-12)


def test_ply_stresses_take_any_leading_shape():
    wall = Laminate(UD, [0.0, 45.0], 1.0)
    assert wall.ply_stresses(np.zeros((4, 5, 3)), np.zeros((4, 5, 3))).shape == (4, 5, 2, 3, 3)
    assert wall.interlaminar_shear(np.zeros((7, 6)), np.zeros((7, 6))).shape == (7, 3, 2)


def test_interlaminar_shear_of_one_layer_is_a_parabola():
    wall = Laminate(Isotropic(1400.0, 0.4), [0.0], 6.0)
    slopes = [0, 0, 0, 4.0, 0, 0], [0, 0, 0, 0, -2.0, 0]
    stress = wall.interlaminar_shear(*slopes, heights=[-3.0, -1.5, 0.0, 1.5, 3.0])
    parabola = np.array([0.0, 0.75, 1.0, 0.75, 0.0])
    np.testing.assert_allclose(stress[:, 0], 1.5 * 4.0 / 6.0 * parabola, atol=1e-14)
    np.testing.assert_allclose(stress[:, 1], -1.5 * 2.0 / 6.0 * parabola, atol=1e-14)


def test_interlaminar_shear_of_two_layers_by_hand():
    # Moduli 3 and 1, heights 1: neutral axis 0.25 below the interface, first moment of the upper
    # layer 1·1·0.75, second moment 3 (1/12 + 0.25²) + 1 (1/12 + 0.75²) = 13/12
    wall = Laminate([Isotropic(3.0, 0.0), Isotropic(1.0, 0.0)], [0, 0], 1.0)
    peak = 3.0 * 0.75**2 / 2  # the lower part below the neutral axis
    bent = [0, 0, 0, 13 / 12, 0, 0]
    stress = wall.interlaminar_shear(bent, np.zeros(6), heights=[-0.25, 0.0])
    np.testing.assert_allclose(stress[:, 0], [peak, 0.75], rtol=1e-12)


@given(st.lists(st.tuples(st.floats(0.0, 180.0), st.floats(0.05, 5.0)), min_size=1, max_size=6))
def test_interlaminar_shear_carries_the_shear_force(stack):
    angles, thicknesses = zip(*stack, strict=True)
    wall = Laminate(UD, angles, thicknesses)
    slopes = np.array([[2.0, 1.0, -1.0, 3.0, 4.0, 0.5], [0.0, 1.0, -2.0, 2.0, 7.0, -1.5]])
    force = np.zeros(2)
    for low, high in zip(wall.interfaces[:-1], wall.interfaces[1:], strict=True):
        inside = wall.interlaminar_shear(*slopes, heights=[low, (low + high) / 2, high])
        force += np.array([1, 4, 1]) / 6 @ inside * (high - low)  # exact for a parabola
    # Q13 = M11,1 + M12,2 and Q23 = M12,1 + M22,2; N11,1 + N12,2 = N12,1 + N22,2 = 0
    np.testing.assert_allclose(force, [1.5, 7.5], rtol=1e-8)
    np.testing.assert_allclose(wall.interlaminar_shear(*slopes)[[0, -1]], 0.0, atol=1e-9)


@given(
    st.lists(st.tuples(st.floats(-180, 180), st.floats(0.05, 5.0)), min_size=1, max_size=6),
    st.floats(-90, 90),
)
def test_stiffness_is_symmetric_positive_and_turns_as_one(stack, turn):
    angles, thicknesses = zip(*stack, strict=True)
    wall = Laminate(UD, angles, thicknesses)
    for matrix in (wall.abd, wall.transverse_shear):
        np.testing.assert_allclose(matrix, matrix.T, rtol=1e-9, atol=1e-9 * np.abs(matrix).max())
        assert np.linalg.eigvalsh(matrix / np.abs(matrix).max()).min() > 0.0
    turned = Laminate(UD, [angle + turn for angle in angles], thicknesses)
    invariant = [np.trace(w.abd[:2, :2]) + 2 * w.abd[0, 1] for w in (wall, turned)]
    assert invariant[0] == pytest.approx(invariant[1], rel=1e-9)

# SPDX-License-Identifier: MIT
"""Lamination theory against published and closed-form numbers.

Kaw A K. Mechanics of Composite Materials, 2nd ed. CRC Press 2006, examples 4.2 and 4.3: graphite/
epoxy [0/30/-45], plies of 5 mm, z downward from the mid-plane, so that Kaw's top (negative z) is
our bottom.

Tsai S W, Hahn H T. Introduction to Composite Materials. Technomic 1980: T300/5208, E1 = 181,
E2 = 10.3, G12 = 7.17 GPa, nu12 = 0.28; stiffness invariants and the quasi-isotropic laminate.
The flexural moduli follow in closed form from D.

NAFEMS Composites Benchmarks R0031/1: strip [0/90/0/90/0/90/0]; transverse shear.
"""

import numpy as np
import pytest

from fea.material.isotropic import Isotropic
from fea.material.laminate import Laminate, Ply

T300 = Ply(e1=181e3, e2=10.3e3, nu12=0.28, g12=7.17e3)
KAW = Laminate(T300, [0.0, 30.0, -45.0], 5.0)
STRIP = Laminate(
    Ply(e1=1e5, e2=5e3, nu12=0.4, g12=3e3, g13=2e3, g23=2e3),
    [0, 90, 0, 90, 0, 90, 0],
    [0.1, 0.1, 0.1, 0.4, 0.1, 0.1, 0.1],
)


def symmetric(a11, a12, a16, a22, a26, a66):
    return np.array([[a11, a12, a16], [a12, a22, a26], [a16, a26, a66]])


def kaw_response():
    # Kaw: Nx = Ny = 1000 N/m = 1 N/mm
    response = np.linalg.solve(KAW.abd, [1.0, 1.0, 0.0, 0.0, 0.0, 0.0])
    return response[:3], response[3:]


def test_kaw_stiffness():
    # Kaw prints Pa·m, Pa·m² and Pa·m³: in N/mm, N and N·mm that is 1e-3, 1 and 1e3. Four digits
    # are printed, so the last one is worth up to 5e-4.
    a = symmetric(17.39, 3.884, 0.5663, 4.533, -1.141, 4.525) * 1e8 * 1e-3
    b = symmetric(-3.129, 0.9855, -1.072, 1.158, -1.072, 0.9855) * 1e6
    d = symmetric(33.43, 6.461, -5.240, 9.320, -5.596, 7.663) * 1e3 * 1e3
    np.testing.assert_allclose(KAW.abd[:3, :3], a, rtol=5e-4)
    np.testing.assert_allclose(KAW.abd[:3, 3:], b, rtol=5e-4)
    np.testing.assert_allclose(KAW.abd[3:, 3:], d, rtol=5e-4)
    np.testing.assert_array_equal(KAW.abd[3:, :3], KAW.abd[:3, 3:])


def test_kaw_mid_plane_strain_and_curvature():
    strain, curvature = kaw_response()
    np.testing.assert_allclose(strain, [3.123e-7, 3.492e-6, -7.598e-7], rtol=2e-4)
    # 1/m in Kaw
    np.testing.assert_allclose(curvature * 1e3, [2.971e-5, -3.285e-4, 4.101e-4], rtol=2e-4)


def test_kaw_stress_at_the_top_of_the_30_degree_ply():
    top_of_kaw = KAW.ply_stresses(*kaw_response())[1, 0]  # kPa in Kaw
    np.testing.assert_allclose(top_of_kaw * 1e3, [99.7, 43.5, 18.9], atol=0.05)
    c, s = np.cos(np.radians(30.0)), np.sin(np.radians(30.0))
    to_laminate = np.array(
        [[c * c, s * s, -2 * c * s], [s * s, c * c, 2 * c * s], [c * s, -c * s, c * c - s * s]]
    )
    np.testing.assert_allclose(to_laminate @ top_of_kaw * 1e3, [69.3, 73.9, 33.8], atol=0.05)


def test_ply_stresses_integrate_to_the_forces_and_moments():
    strain, curvature = kaw_response()
    stress = KAW.ply_stresses(strain, curvature)
    forces, moments = np.zeros(3), np.zeros(3)
    for number, angle in enumerate(np.radians(KAW.angles_deg)):
        c, s = np.cos(angle), np.sin(angle)
        turn = np.array(
            [[c * c, s * s, -2 * c * s], [s * s, c * c, 2 * c * s], [c * s, -c * s, c * c - s * s]]
        )
        z = KAW.interfaces[number : number + 2]
        heights = np.array([z[0], z.mean(), z[1]])
        weights = np.array([1.0, 4.0, 1.0]) / 6.0 * np.diff(z)  # Simpson: exact here
        forces += turn @ (weights @ stress[number])
        moments += turn @ ((weights * heights) @ stress[number])
    np.testing.assert_allclose(forces, [1.0, 1.0, 0.0], atol=1e-12)
    np.testing.assert_allclose(moments, 0.0, atol=1e-12)


@pytest.mark.parametrize(
    "angles",
    [[0, 45, -45, 90, 90, -45, 45, 0], [90, 0, 45, -45, -45, 45, 0, 90], [0, 60, -60, -60, 60, 0]],
)
def test_quasi_isotropic_engineering_constants(angles):
    laminate = Laminate(T300, angles, 0.125)
    compliance = np.linalg.inv(laminate.abd[:3, :3] / laminate.thickness)
    assert 1.0 / compliance[0, 0] == pytest.approx(69.68e3, rel=1e-4)
    assert 1.0 / compliance[2, 2] == pytest.approx(26.88e3, rel=2e-4)
    assert -compliance[0, 1] / compliance[0, 0] == pytest.approx(0.296, abs=5e-4)
    np.testing.assert_allclose(compliance[:2, 2], 0.0, atol=1e-18)


def test_stiffness_invariants():
    q = T300.plane_stress
    u1 = (3 * q[0, 0] + 3 * q[1, 1] + 2 * q[0, 1] + 4 * q[2, 2]) / 8
    u4 = (q[0, 0] + q[1, 1] + 6 * q[0, 1] - 4 * q[2, 2]) / 8
    u5 = (q[0, 0] + q[1, 1] - 2 * q[0, 1] + 4 * q[2, 2]) / 8
    np.testing.assert_allclose([u1, u4, u5], [76.37e3, 22.61e3, 26.88e3], rtol=2e-4)
    turned = Laminate(T300, [37.0], 1.0).abd[:3, :3]
    assert turned[0, 0] + turned[1, 1] + 2 * turned[0, 1] == pytest.approx(2 * (u1 + u4))


@pytest.mark.parametrize(
    ("angles", "modulus_gpa"),
    [
        ([0, 90, 90, 0], 160.1),
        ([90, 0, 0, 90], 31.73),
        ([45, -45, -45, 45], 22.71),
        ([0, 45, -45, 90, 90, -45, 45, 0], 116.6),
    ],
)
def test_flexural_modulus(angles, modulus_gpa):
    laminate = Laminate(T300, angles, 0.125)
    compliance = np.linalg.inv(laminate.abd[3:, 3:])
    modulus = 12.0 / (laminate.thickness**3 * compliance[0, 0])
    assert modulus == pytest.approx(modulus_gpa * 1e3, rel=1e-3)


def test_strip_transverse_shear_factor():
    # k = S / (G h) with G13 = G23 = 2000 MPa and h = 1 mm
    assert STRIP.transverse_shear[0, 0] / 2e3 == pytest.approx(0.8857, abs=5e-5)


def test_strip_interlaminar_shear():
    # 10 N/mm on 10 mm width at mid-span: 5 N/mm of shear force; 0.4 mm above the mid-plane
    height = np.flatnonzero(np.isclose(STRIP.interfaces, 0.4))[0]
    shear = STRIP.interlaminar_shear([-5.0, 0.0])
    assert shear[height, 0] == pytest.approx(-4.1, abs=0.05)
    np.testing.assert_allclose(shear[[0, -1]], 0.0, atol=1e-12)


def test_strip_extreme_bending_stress():
    # Simply supported over 30 mm, 10 N/mm at mid-span: M = 10·30/4 = 75 N·mm/mm in cylindrical
    # bending of a narrow strip (M22 = 0); R0031/1 gives 683.9 MPa at the outer fibre.
    curvature = np.linalg.solve(STRIP.abd, [0, 0, 0, 75.0, 0, 0])
    stress = STRIP.ply_stresses(curvature[:3], curvature[3:])
    assert stress[-1, 2, 0] == pytest.approx(683.9, rel=1e-3)


def test_one_isotropic_layer_has_the_factor_five_sixths():
    sheet = Isotropic(youngs_modulus=1000.0, poisson_ratio=0.25)
    layers = Laminate(sheet, [0.0, 20.0, 50.0], [1.0, 2.0, 3.0])
    np.testing.assert_allclose(
        layers.transverse_shear, 5.0 / 6.0 * 400.0 * 6.0 * np.eye(2), rtol=1e-12, atol=1e-9
    )

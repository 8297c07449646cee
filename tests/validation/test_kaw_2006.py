# SPDX-License-Identifier: MIT
"""Lamination theory: Kaw A K, Mechanics of Composite Materials, 2nd ed., 2006, examples 4.2, 4.3.

Graphite/epoxy [0/30/-45], plies of 5 mm, E1 = 181, E2 = 10.3, G12 = 7.17 GPa, ν12 = 0.28, under
Nx = Ny = 1000 N/m. Kaw's z points down from the mid-plane, so his top (negative z) is our bottom.
"""

import numpy as np
import pytest
from jitter import BOTH
from small_models import flat, grid, solve_one

import fea

pytestmark = pytest.mark.source("Kaw 2006")

T300 = fea.Ply(e1=181e3, e2=10.3e3, nu12=0.28, g12=7.17e3)
KAW = fea.Laminate(T300, [0.0, 30.0, -45.0], 5.0)


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


@pytest.mark.parametrize("kind", BOTH)
def test_a_plate_of_shells_has_kaws_strain_and_stress(kind):
    """Constant strain and curvature: exact on any mesh, coupling of stretching and twist included.

    The sheet floats, held at three corners against rigid motion only.
    """
    mesh = grid(5, 4, flat(300.0, 200.0), **BOTH[kind])
    pulls = {"u0": (-1, 0, 0), "u1": (1, 0, 0), "v0": (0, -1, 0), "v1": (0, 1, 0)}
    loads = [fea.EdgeForce(place, force) for place, force in pulls.items()]
    held = [fea.Support("u0v0", "ux uy uz"), fea.Support("u1v0", "uy uz"),
            fea.Support("u0v1", "uz")]  # fmt: skip
    section = fea.ShellSection(KAW, direction=(1, 0, 0))
    solution = solve_one(mesh, {"skin": section}, held, loads)
    strains = solution.strains("skin")[:, :6]
    expected = np.concatenate(kaw_response())
    np.testing.assert_allclose(strains, np.tile(expected, (len(strains), 1)), atol=1e-11)
    stress = solution.ply_stress("skin")[:, 1, 0] * 1e3
    for component, published in enumerate((99.7, 43.5, 18.9)):
        assert stress[:, component].mean() == pytest.approx(published, abs=0.05)
        assert np.ptp(stress[:, component]) < 1e-4

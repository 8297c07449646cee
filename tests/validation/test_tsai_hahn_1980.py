# SPDX-License-Identifier: MIT
"""Laminates of T300/5208: Tsai S W, Hahn H T, Introduction to Composite Materials, 1980.

E1 = 181, E2 = 10.3, G12 = 7.17 GPa, ν12 = 0.28: stiffness invariants, the quasi-isotropic laminate.
The flexural moduli follow in closed form from D. Strengths 1500, 1500, 40, 246 and 68 MPa; the
coefficients of the quadratic criterion that they print are given from memory.
"""

import numpy as np
import pytest
from jitter import BOTH
from small_models import at, flat, grid, solve_one

import fea
from fea.material.criteria import PlyStrength, tsai_wu
from fea.material.laminate import Laminate

pytestmark = pytest.mark.source("Tsai, Hahn 1980")

T300 = fea.Ply(e1=181e3, e2=10.3e3, nu12=0.28, g12=7.17e3)


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


@pytest.mark.parametrize("kind", BOTH)
@pytest.mark.parametrize("direction", [0.0, 37.0])
def test_a_quasi_isotropic_sheet_of_shells(direction, kind):
    """E and ν of a stretched sheet, whichever way the laminate lies in it."""
    mesh = grid(4, 4, flat(40.0, 40.0), **BOTH[kind])
    laminate = Laminate(T300, [0, 45, -45, 90, 90, -45, 45, 0], 0.125)
    along = np.radians(direction)
    section = fea.ShellSection(laminate, direction=(np.cos(along), np.sin(along), 0.0))
    held = [fea.Support("u0", "ux rz"), fea.Support("u0v0", "uy"), fea.Support("border", "uz")]
    solution = solve_one(mesh, {"skin": section}, held, [fea.EdgeForce("u1", (100.0, 0, 0))])
    strain = at(solution, "u1")[0] / 40.0
    across = (at(solution, "v1")[1] - at(solution, "v0")[1]) / 40.0
    assert 100.0 / strain == pytest.approx(69.68e3, rel=1e-4)  # wall of 1 mm
    assert -across / strain == pytest.approx(0.296, abs=5e-4)


# Fxx, Fyy, Fxy, Fss in 1/GPa² and Fx, Fy in 1/GPa
QUADRATIC = 0.444, 101.6, -3.360, 216.2, 0.0, 20.93


@pytest.mark.parametrize("sense", ["tension", "compression"])
@pytest.mark.parametrize("angle", [0.0, 15.0, 45.0, 75.0, 90.0])
def test_strength_off_the_axis_by_the_quadratic_criterion(angle, sense):
    """The strength ratio R solves the printed quadratic for a pull or push of 100 MPa."""
    c, s = np.cos(np.radians(angle)), np.sin(np.radians(angle))
    stress = {"tension": 100.0, "compression": -100.0}[sense] * np.array([c * c, s * s, -c * s])
    fxx, fyy, fxy, fss, fx, fy = QUADRATIC
    x, y, shear = stress / 1e3
    a = fxx * x * x + fyy * y * y + fss * shear * shear + 2 * fxy * x * y
    b = fx * x + fy * y
    published = (-b + np.sqrt(b * b + 4 * a)) / (2 * a)
    strength = PlyStrength(1500.0, 1500.0, 40.0, 246.0, 68.0)
    assert 1.0 / tsai_wu(stress, strength) == pytest.approx(published, rel=1e-3)

# SPDX-License-Identifier: MIT
"""Cylindrical bending of angle-ply walls: Pagano N J, J Compos Mater 1970;4:330-343.

A wall of infinite width over the span a, pressure q sin(πx/a) on top, exact elasticity of layers
whose fibres lie askew: E1 = 25, E2 = 1, G12 = G13 = 0.5, G23 = 0.2, ν = 0.25, layers alike,
S = a/h. The wall moves sideways, alike over its width. A mesh would need edges that move alike, so
the wall is tested by itself: its stiffness and its interlaminar shear in the closed form of the
shear-flexible plate.
"""

import numpy as np
import pytest
from comparison import missed
from laminate_theory import Fibre, PlateWave, SolidWave, Stack, strain_of_wave

import fea

pytestmark = pytest.mark.source("elasticity after Pagano 1970")

FIBRE = Fibre(e1=25.0, e2=1.0, nu12=0.25, g12=0.5, g13=0.5, g23=0.2, nu23=0.25)
PLY = fea.Ply(e1=25.0, e2=1.0, nu12=0.25, g12=0.5, g13=0.5, g23=0.2)
STACKS = {
    "45 -45": (45, -45), "15 -15": (15, -15), "30 -45 0": (30, -45, 0), "0 30 60": (0, 30, 60),
    "quasi-isotropic": (0, 45, 90, -45, -45, 90, 45, 0),
}  # fmt: skip
# Percent by which the shear-flexible wall sinks more than the exact one.
DISTANCE = {
    "45 -45": {4: 9.98, 10: 2.12, 20: 0.56},
    "15 -15": {4: 8.08, 10: 2.15, 20: 0.60},
    "30 -45 0": {4: 8.26, 10: 1.70, 20: 0.46},
    "0 30 60": {4: 5.49, 10: 1.13, 20: 0.30},
    "quasi-isotropic": {4: 4.31, 10: 1.21, 20: 0.37},
}
THEORY = "first-order shear theory with Whitney's shear stiffness"


def wall(name):
    return fea.Laminate(PLY, STACKS[name], 1 / len(STACKS[name]))


def stack(name):
    return Stack(FIBRE, STACKS[name], (1 / len(STACKS[name]),) * len(STACKS[name]))


def response(name, s):
    """Motion (5,) and strains (8,) of the wall, from its own stiffness."""
    p = np.pi / s
    operator = np.zeros((8, 5))
    operator[:3, :2] = operator[3:6, 3:] = strain_of_wave(p, 0.0)
    operator[6:, 2:] = [[p, 1, 0], [0, 0, 1]]
    plate = np.zeros((8, 8))
    plate[:6, :6], plate[6:, 6:] = wall(name).abd, wall(name).transverse_shear
    motion = np.linalg.solve(operator.T @ plate @ operator, [0, 0, 1, 0, 0])
    return motion, operator @ motion


@pytest.mark.parametrize("name", STACKS)
def test_classical_limit(name):
    """S = 1000: elasticity, the shear-flexible plate of the test and the wall are one."""
    exact = SolidWave(stack(name), np.pi / 1000, 0.0).state(0.0)[2]
    theory = PlateWave(stack(name), np.pi / 1000, 0.0).motion[2]
    assert theory == pytest.approx(exact, rel=1e-3)
    assert response(name, 1000)[0][2] == pytest.approx(exact, rel=1e-3)


@pytest.mark.parametrize(("name", "s"), [(name, s) for name in STACKS for s in (4, 10, 20)])
def test_deflection_against_elasticity(name, s):
    exact = SolidWave(stack(name), np.pi / s, 0.0).state(0.0)[2]
    known = exact * (1 + DISTANCE[name][s] / 100)
    assert response(name, s)[0][2] == missed(exact, known=known, rel=2e-4, because=THEORY)


@pytest.mark.parametrize("height", [-0.25, 0.0, 0.3])
@pytest.mark.parametrize("name", STACKS)
def test_interlaminar_shear_is_exact_in_a_thin_wall(name, height):
    """Both stresses, S = 200: the slope along x of forces that are sines."""
    s = 200
    strains = response(name, s)[1][:6]
    slopes = np.pi / s * wall(name).abd @ strains
    ours = wall(name).interlaminar_shear(slopes, np.zeros(6), heights=[height])[0]
    exact = SolidWave(stack(name), np.pi / s, 0.0).state(height)[3:5]
    np.testing.assert_allclose(ours, exact, atol=2e-3 * np.abs(exact).max())


@pytest.mark.parametrize("name", STACKS)
def test_ply_stress_is_exact_in_a_thin_wall(name):
    s = 200
    strains = response(name, s)[1]
    stress = wall(name).ply_stresses(strains[:3], strains[3:6])
    exact = SolidWave(stack(name), np.pi / s, 0.0)
    for layer, angle in enumerate(np.radians(STACKS[name])):
        c, d = np.cos(angle), np.sin(angle)
        turn = np.array([[c * c, d * d, 2 * c * d], [d * d, c * c, -2 * c * d],
                         [-c * d, c * d, c * c - d * d]])  # fmt: skip
        low, high = stack(name).spans[layer]
        for number, z in enumerate((low, (low + high) / 2, high)):
            turned = turn @ exact.stress(layer, z)
            np.testing.assert_allclose(
                stress[layer, number], turned, atol=2e-3 * np.abs(stress).max()
            )

# SPDX-License-Identifier: MIT
"""Cylindrical bending of laminates: Pagano N J, J Compos Mater 1969;3:398-411, exact elasticity.

A plate of infinite width, simply supported over the span a, pressure q sin(πx/a) on top; layers
alike, E1 = 25, E2 = 1, G12 = G13 = 0.5, G23 = 0.2, ν = 0.25, S = a/h. [0/90] has 0 below and
couples bending and stretching. As for the square plate, the shell owes first-order shear theory up
to the error of the mesh. Deflection w̄ = 100 E2 h³ w/(q a⁴), stress σ̄ = σ/(q S²), shear τ̄ = τ/(q S).
"""

from functools import cache

import numpy as np
import pytest
from comparison import missed
from jitter import BOTH
from laminate_theory import Fibre, PlateWave, SolidWave, Stack
from sine_plate import wide_plate

import fea
from fea.solver.interlaminar import interlaminar_shear

pytestmark = pytest.mark.source("Pagano 1969")

FIBRE = Fibre(e1=25.0, e2=1.0, nu12=0.25, g12=0.5, g13=0.5, g23=0.2, nu23=0.25)
PLY = fea.Ply(e1=25.0, e2=1.0, nu12=0.25, g12=0.5, g13=0.5, g23=0.2)
ANGLES = {"0": (0.0,), "0-90-0": (0.0, 90.0, 0.0), "0-90": (0.0, 90.0)}
DEFLECTION = {
    "0": {4: 1.949, 10: 0.7319, 20: 0.5519, 100: 0.4940},
    "0-90-0": {4: 2.8872, 10: 0.9316, 20: 0.6173, 100: 0.5140},
    "0-90": {4: 4.6953, 10: 2.9538, 20: 2.7027, 100: 2.6222},
}
STRESS_AT_TOP = {4: 1.1755, 10: 0.7367, 20: 0.6579, 100: 0.6315}  # of 0-90-0
THEORY = "first-order shear theory, which the shell meets above, not the mesh"
CASES = [(name, s) for name in DEFLECTION for s in DEFLECTION[name]]


def stack(name):
    angles = ANGLES[name]
    return Stack(FIBRE, angles, (1 / len(angles),) * len(angles))


def theory(name, s):
    return PlateWave(stack(name), np.pi / s, 0.0)


def elasticity(name, s):
    return SolidWave(stack(name), np.pi / s, 0.0)


@cache
def shells(name, s, n=24, kind="structured"):
    wall = fea.Laminate(PLY, ANGLES[name], 1 / len(ANGLES[name]))
    return wide_plate(wall, float(s), n, kind)


def deflection(amplitude, s):
    return 100 * amplitude / s**4


@pytest.mark.parametrize(("name", "s"), CASES)
def test_elasticity_in_the_test_is_the_published_one(name, s):
    exact = elasticity(name, s)
    assert deflection(exact.state(0.0)[2], s) == pytest.approx(DEFLECTION[name][s], abs=6e-5)
    if name == "0-90-0":
        assert exact.stress(2, 0.5)[0] / s**2 == pytest.approx(STRESS_AT_TOP[s], abs=6e-5)


@pytest.mark.parametrize("kind", BOTH)
@pytest.mark.parametrize(("name", "s"), CASES)
def test_shell_is_shear_theory(name, s, kind):
    plate, wave = shells(name, s, kind=kind), theory(name, s)
    top = len(ANGLES[name]) - 1
    along = {0.0: 0, 90.0: 1}[ANGLES[name][top]]  # the ply's own axis that points along the span
    assert plate.deflection == pytest.approx(wave.motion[2], rel=0.003)
    assert plate.stress(top, 2, along) == pytest.approx(wave.stress(top, 0.5)[0], rel=0.004)
    assert plate.stress(0, 0, 0) == pytest.approx(wave.stress(0, -0.5)[0], rel=0.004)


@pytest.mark.parametrize(("name", "s"), CASES)
def test_deflection_against_elasticity(name, s):
    computed, exact = deflection(shells(name, s).deflection, s), DEFLECTION[name][s]
    known = deflection(theory(name, s).motion[2], s)
    if abs(known / exact - 1) < 0.003:
        assert computed == pytest.approx(exact, rel=0.006)
    else:
        assert computed == missed(exact, known=known, rel=0.003, because=THEORY)


@pytest.mark.parametrize("s", STRESS_AT_TOP)
def test_stress_against_elasticity(s):
    computed = shells("0-90-0", s).stress(2, 2, 0) / s**2
    known = theory("0-90-0", s).stress(2, 0.5)[0] / s**2
    if s == 100:
        assert computed == pytest.approx(STRESS_AT_TOP[s], rel=0.004)
    else:
        assert computed == missed(STRESS_AT_TOP[s], known=known, rel=0.004, because=THEORY)


@pytest.mark.parametrize("height", [-0.3, 0.0, 0.2])
@pytest.mark.parametrize("name", ANGLES)
def test_interlaminar_shear_is_exact_in_a_thin_wall(name, height):
    """Equilibrium of the bending stress, in cylindrical bending of S = 100."""
    shear = shells(name, 100).shear_stress(height)[0]
    assert shear == pytest.approx(elasticity(name, 100).state(height)[3], rel=0.006)


@pytest.mark.parametrize("name", ANGLES)
def test_the_recovered_interlaminar_shear_is_exact_in_a_thin_wall(name):
    """The largest through the wall, as a check of strength reads it at the corners of cells.

    As the amplitude of its wave, by least squares over the inner half of the strip.
    """
    plate = shells(name, 100, 48)
    recovered = plate.solution.system.recovery([plate.solution])
    shear = interlaminar_shear(recovered, "skin")
    mesh = plate.solution.system.structure.mesh
    x = mesh.points[mesh.cells["triangle"]][..., 0]
    inner = (x > 10.0) & (x < 40.0)
    wave, values = np.cos(plate.p * x[inner]), shear.stress[0, inner][..., 0]
    amplitude = np.abs(wave @ values / (wave @ wave))
    level = int(amplitude.argmax())
    exact = elasticity(name, 100).state(shear.heights[level])[3]
    assert amplitude[level] == pytest.approx(abs(exact), rel=0.006)


@pytest.mark.parametrize("kind", BOTH)
def test_coupling_is_carried(kind):
    """[0/90]: 5.3 times the deflection of [0]; the mid-plane stretches though no force acts."""
    plate, wave = shells("0-90", 100, kind=kind), theory("0-90", 100)
    alone = theory("0", 100).motion[2]
    assert plate.deflection / alone == pytest.approx(wave.motion[2] / alone, rel=0.003)
    assert plate.strain(0) == pytest.approx(wave.strains[0], rel=0.003)
    blocked = abs(wave.stack.plate[0, 0] * wave.strains[0])  # the force if A alone carried it
    assert plate.force(0) / blocked == pytest.approx(0.0, abs=2e-3)


@pytest.mark.parametrize("name", ANGLES)
def test_order_of_convergence(name):
    exact = theory(name, 4).motion[2]
    coarse, fine = (abs(shells(name, 4, n).deflection / exact - 1) for n in (6, 24))
    assert np.log(coarse / fine) / np.log(4) > 1.9

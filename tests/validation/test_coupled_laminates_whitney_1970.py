# SPDX-License-Identifier: MIT
"""Plates that couple bending and stretching: Whitney J M, Leissa A W, J Appl Mech 1969;36:261-266.

Also Jones R M, Mechanics of Composite Materials, 2nd ed., 1999, section 5.3, and with transverse
shear Whitney J M, Pagano N J, J Appl Mech 1970;37:1031-1036. Square plates under q sin(πx/a)
sin(πy/a), E1 = 40, E2 = 1, G12 = G13 = 0.5, G23 = 0.2, ν = 0.25. Antisymmetric cross-ply stretches
under bending (B11), antisymmetric angle-ply twists (B16). By the classical theory

    w = q a⁴/(2π⁴ (D11 + D12 + 2 D66 − C)),
    C = B11²/(A11 − A12) for [0/90]n,   C = 16 B16²/(A11 + A12 + 2 A66) for [±45]n.
"""

from functools import cache

import numpy as np
import pytest
from jitter import BOTH
from laminate_theory import Fibre, PlateWave, Stack
from sine_plate import square_plate

import fea

pytestmark = pytest.mark.source("Whitney, Leissa 1969; Jones 1999")

FIBRE = Fibre(e1=40.0, e2=1.0, nu12=0.25, g12=0.5, g13=0.5, g23=0.2, nu23=0.25)
PLY = fea.Ply(e1=40.0, e2=1.0, nu12=0.25, g12=0.5, g13=0.5, g23=0.2)
ANGLES = {
    "0-90": (0.0, 90.0), "0-90 thrice": (0.0, 90.0) * 3,
    "45": (45.0, -45.0), "45 thrice": (45.0, -45.0) * 3, "30": (30.0, -30.0),
}  # fmt: skip
KIND = {name: "cross" if name.startswith("0") else "angle" for name in ANGLES}
CLASSICAL = [name for name in ANGLES if name != "30"]


def stack(name):
    return Stack(FIBRE, ANGLES[name], (1 / len(ANGLES[name]),) * len(ANGLES[name]))


def theory(name, s, **more):
    return PlateWave(stack(name), np.pi / s, np.pi / s, kind=KIND[name], **more)


def classical_deflection(name, s, coupled=True):
    a, b, d = (stack(name).plate[k : k + 3, j : j + 3] for k, j in ((0, 0), (0, 3), (3, 3)))
    if KIND[name] == "cross":
        softening = b[0, 0] ** 2 / (a[0, 0] - a[0, 1])
    else:
        softening = 16 * b[0, 2] ** 2 / (a[0, 0] + a[0, 1] + 2 * a[2, 2])
    stiffness = d[0, 0] + d[0, 1] + 2 * d[2, 2] - softening * coupled
    return s**4 / (2 * np.pi**4 * stiffness)


@cache
def shells(name, s, n=16, kind="structured"):
    """n cells along half an edge; of angle-ply, which has no mirror plane, the whole plate."""
    wall = fea.Laminate(PLY, ANGLES[name], 1 / len(ANGLES[name]))
    if KIND[name] == "angle":
        return square_plate(wall, float(s), 2 * n, kind, edges="across")
    return square_plate(wall, float(s), n, kind)


@pytest.mark.parametrize("name", CLASSICAL)
def test_shear_theory_in_the_test_tends_to_the_classical_form(name):
    stiff = theory(name, 100, shear=1e6).motion[2]
    assert stiff == pytest.approx(classical_deflection(name, 100), rel=2e-5)


@pytest.mark.parametrize("name", CLASSICAL)
def test_thin_plates_against_the_classical_form(name):
    """S = 500: transverse shear adds less than 0.02 %."""
    expected = classical_deflection(name, 500)
    assert shells(name, 500).deflection == pytest.approx(expected, rel=0.004)


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("0-90", 2.837),  # D11 + D12 + 2 D66 = 1.8152, C = 4.8826²/20.2817 = 1.1755
        ("45", 3.112),  # 3.4220, C = 16·2.4413²/41.064 = 2.3222
        ("0-90 thrice", 1.078),  # B11 is a third: C = 0.1306
        ("45 thrice", 1.082),  # B16 is a third: C = 0.2580
    ],
)
def test_what_coupling_costs(name, expected):
    """Two layers bend far more than D alone says; with more of them the effect dies out."""
    ours = shells(name, 500).deflection / classical_deflection(name, 500, coupled=False)
    assert ours == pytest.approx(expected, rel=0.006)


@pytest.mark.parametrize("kind", BOTH)
@pytest.mark.parametrize("s", [10, 50])
@pytest.mark.parametrize("name", ANGLES)
def test_deflection_with_shear(name, s, kind):
    expected = theory(name, s).motion[2]
    assert shells(name, s, kind=kind).deflection == pytest.approx(expected, rel=0.006)


@pytest.mark.parametrize("kind", BOTH)
@pytest.mark.parametrize("name", ANGLES)
def test_moments_and_stretch(name, kind):
    plate, wave = shells(name, 10, kind=kind), theory(name, 10)
    assert plate.force(3) == pytest.approx(wave.forces[3], rel=0.006)
    if KIND[name] == "cross":
        assert plate.strain(0) == pytest.approx(wave.strains[0], rel=0.006)
        assert plate.stress(0, 0, 0) == pytest.approx(wave.stress(0, -0.5)[0], rel=0.006)
    else:
        assert plate.strain(0, "cc") == pytest.approx(wave.strains[0], rel=0.01)
        assert plate.strain(2, "ss") == pytest.approx(wave.strains[2], rel=0.01)


@pytest.mark.parametrize("name", ["0-90", "45"])
def test_order_of_convergence(name):
    exact = theory(name, 10).motion[2]
    coarse, fine = (abs(shells(name, 10, n).deflection / exact - 1) for n in (6, 24))
    assert np.log(coarse / fine) / np.log(4) > 1.8

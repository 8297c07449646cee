# SPDX-License-Identifier: MIT
"""Struts on the beams of MacNeal R H, Harder R L, Finite Elem Anal Des 1985;1:3-20.

Straight (6 x 0.2 x 0.1), curved (radius 4.22, quarter circle) and twisted (12 x 1.1 x 0.32, 90
degrees) beam with 6, 48 and 48 struts, the last two also of uneven length. Closed forms beside the
printed numbers: Euler and Bernoulli with shear; Castigliano on the mean line with Saint-Venant's
torsion constant; for the twisted beam ∫ M²/(E I) with axes that turn along it.
"""

import numpy as np
import pytest
from jitter import moves
from scipy.integrate import quad
from small_models import ALL, at, chain, solve_one

import fea

STRAIGHT = fea.Isotropic(youngs_modulus=1e7, poisson_ratio=0.3)
CURVED = fea.Isotropic(youngs_modulus=1e7, poisson_ratio=0.25)
TWISTED = fea.Isotropic(youngs_modulus=29e6, poisson_ratio=0.22)
HELD = [fea.Support("root", ALL)]
MACNEAL = "MacNeal, Harder 1985"
SPACING = ("even", "uneven")


def stations(count, spacing):
    """Positions (count + 1,) along a beam of length 1."""
    s = np.linspace(0, 1, count + 1)
    if spacing == "even":
        return s
    move = moves(s, 0.5 + 0 * s, np.array([1 / count, 0.0]), 0.25)
    return s + move[:, 0]


def tip(mesh, sections, force, moment=None):
    return at(solve_one(mesh, sections, HELD, [fea.PointForce("tip", force, moment)]), "tip")


@pytest.mark.source(MACNEAL)
@pytest.mark.parametrize(
    ("component", "published"),
    [(0, 3.0e-5), (1, 0.1081), (2, 0.4321)],
    ids=["extension", "in plane", "out of plane"],
)
def test_straight_beam(component, published):
    line = chain(np.outer(np.linspace(0, 6, 7), [1, 0, 0]))
    bar = fea.StrutSection.rectangle(STRAIGHT, width=0.2, depth=0.1, up=(0, 1, 0))
    moved = tip(line, {"bar": bar}, tuple(np.eye(3)[component]))[component]
    assert moved == pytest.approx(published, rel=5e-4)


@pytest.mark.source("Saint-Venant")
def test_straight_beam_in_torsion():
    """Published is 0.03208, 6 % below."""
    line = chain(np.outer(np.linspace(0, 6, 7), [1, 0, 0]))
    bar = fea.StrutSection.rectangle(STRAIGHT, width=0.2, depth=0.1, up=(0, 1, 0))
    twist = tip(line, {"bar": bar}, (0, 0, 0), (1, 0, 0))[3]
    expected = 6.0 / (STRAIGHT.shear_modulus * 0.2287 * 0.2 * 0.1**3)
    assert twist == pytest.approx(expected, rel=5e-4)


def quarter_circle(spacing):
    angle = np.pi / 2 * stations(48, spacing)
    return chain(4.22 * np.column_stack([np.sin(angle), np.cos(angle), 0 * angle]))


@pytest.mark.source("Castigliano")
@pytest.mark.parametrize("spacing", SPACING)
def test_curved_beam_in_plane(spacing):
    """Golovin's exact value is 0.08857, the published one 0.08734."""
    radius, area, inertia = 4.22, 0.02, 0.1 * 0.2**3 / 12
    bar = fea.StrutSection.rectangle(CURVED, width=0.1, depth=0.2, up=(0, 0, 1))
    moved = tip(quarter_circle(spacing), {"bar": bar}, (1, 0, 0))[0]
    expected = np.pi * radius**3 / (4 * 1e7 * inertia)
    expected += np.pi * radius / 4 * (1 / (1e7 * area) + 1.2 / (CURVED.shear_modulus * area))
    assert moved == pytest.approx(expected, rel=0.0004)


@pytest.mark.source("Castigliano, Saint-Venant")
@pytest.mark.parametrize("spacing", SPACING)
def test_curved_beam_out_of_plane(spacing):
    """The published value is 0.5022."""
    radius, shear = 4.22, CURVED.shear_modulus
    bar = fea.StrutSection.rectangle(CURVED, width=0.1, depth=0.2, up=(0, 0, 1))
    moved = tip(quarter_circle(spacing), {"bar": bar}, (0, 0, 1))[2]
    bending = np.pi / (4 * 1e7 * 0.2 * 0.1**3 / 12)
    torsion = (0.75 * np.pi - 2) / (shear * 0.2287 * 0.2 * 0.1**3)
    expected = radius**3 * (bending + torsion) + np.pi * radius / 2 * 1.2 / (shear * 0.02)
    assert moved == pytest.approx(expected, rel=0.0004)


def twisted_bar(spacing, count=48):
    """One zone and one section for each strut: its width turns with the middle of the strut."""
    s = stations(count, spacing)
    mesh = chain(np.outer(12 * s, [1, 0, 0]))
    zones = {f"bar {k}": ("line", [k]) for k in range(count)}
    sections = {}
    for k, middle in enumerate(0.5 * (s[1:] + s[:-1])):
        angle = np.pi / 2 * middle
        up = (0.0, float(np.sin(angle)), float(np.cos(angle)))
        sections[f"bar {k}"] = fea.StrutSection.rectangle(TWISTED, width=1.1, depth=0.32, up=up)
    return fea.Mesh(mesh.points, mesh.cells, mesh.places, zones), sections


def turning_beam(direction):
    """Tip deflection along y or z under a unit force, by ∫ M²/(E I) ds and shear."""
    strong, weak = 0.32 * 1.1**3 / 12, 1.1 * 0.32**3 / 12
    shear = 12.0 / (5 / 6 * TWISTED.shear_modulus * 1.1 * 0.32)

    def integrand(x):
        angle = np.pi / 2 * x / 12
        along_width = np.sin(angle) if direction == 1 else np.cos(angle)
        return (12 - x) ** 2 / 29e6 * (along_width**2 / strong + (1 - along_width**2) / weak)

    return quad(integrand, 0, 12)[0] + shear


TIPS = {"in plane": (1, 5.424e-3), "out of plane": (2, 1.754e-3)}


def twisted_tip(load, spacing):
    mesh, sections = twisted_bar(spacing)
    direction, _ = TIPS[load]
    return tip(mesh, sections, tuple(np.eye(3)[direction]))[direction]


@pytest.mark.source("∫ M²/(E I)")
@pytest.mark.parametrize("spacing", SPACING)
@pytest.mark.parametrize("load", TIPS)
def test_twisted_beam_by_integration(load, spacing):
    assert twisted_tip(load, spacing) == pytest.approx(turning_beam(TIPS[load][0]), rel=0.0004)


@pytest.mark.source(MACNEAL)
@pytest.mark.parametrize("load", TIPS)
def test_twisted_beam(load):
    assert twisted_tip(load, "even") == pytest.approx(TIPS[load][1], rel=0.003)

# SPDX-License-Identifier: MIT
"""Struts against closed forms: Timoshenko S P, Strength of Materials, part I, 3rd ed., 1955.

Deflections by Castigliano's theorem on the mean line; each form is written out where it is used.
Torsion constants of rectangles: Timoshenko S P, Goodier J N, Theory of Elasticity, 3rd ed., 1970,
table of k1 in J = k1 b t³.
"""

import numpy as np
import pytest
from scipy.integrate import quad
from small_models import ALL, STEEL, at, chain, solve_one

import fea

E, G = 200e3, 200e3 / 2.6
LENGTH, WIDTH, DEPTH = 250.0, 25.0, 4.0
AREA, I_WIDE, I_FLAT = 100.0, DEPTH * WIDTH**3 / 12, WIDTH * DEPTH**3 / 12
BAR = fea.StrutSection.rectangle(STEEL, width=WIDTH, depth=DEPTH, up=(0, 0, 1))
BAR_ACROSS = fea.StrutSection.rectangle(STEEL, width=WIDTH, depth=DEPTH, up=(0, 1, 0))
HELD = [fea.Support("root", ALL)]


def cantilever(force, moment=None, section=BAR, points=((0, 0, 0), (LENGTH, 0, 0))):
    return solve_one(chain(points), {"bar": section}, HELD, [fea.PointForce("tip", force, moment)])


def test_cantilever():
    extension = at(cantilever((7, 0, 0)), "tip")[0]
    assert extension == pytest.approx(7 * LENGTH / (E * AREA), rel=1e-10)
    for axis, inertia in ((2, I_WIDE), (1, I_FLAT)):
        force = 3.0 * np.eye(3)[axis]
        moved = at(cantilever(tuple(force)), "tip")
        shear = 3 * LENGTH / (G * AREA * 5 / 6)
        assert moved[axis] == pytest.approx(3 * LENGTH**3 / (3 * E * inertia) + shear, rel=1e-10)
        slope = 3 * LENGTH**2 / (2 * E * inertia)
        assert abs(moved[3:]).max() == pytest.approx(slope, rel=1e-10)
    assert at(cantilever((0, 0, 3)), "tip")[4] < 0 < at(cantilever((0, 3, 0)), "tip")[5]
    twist = at(cantilever((0, 0, 0), (500, 0, 0)), "tip")[3]
    assert twist == pytest.approx(500 * LENGTH / (G * BAR.j), rel=1e-10)


def test_section_forces_and_fibre_stress():
    solution = cantilever((11, 3, 5), (70, 0, 0))
    forces = solution.strut_forces("bar")[0]
    np.testing.assert_allclose(forces[:, [0, 1, 2, 3]], [[11, 3, 5, 70]] * 2, rtol=1e-9)
    np.testing.assert_allclose(forces[0, 4:], [-5 * LENGTH, 3 * LENGTH], rtol=1e-9)
    np.testing.assert_allclose(forces[1, 4:], 0.0, atol=1e-6)
    # root: tension on the −z and −y faces, where the loads stretch the bar
    stress = solution.fibre_stress("bar")[0, 0]
    expected = [
        11 / AREA - 5 * LENGTH * z / I_WIDE - 3 * LENGTH * y / I_FLAT
        for y, z in np.asarray(BAR.fibre_points)
    ]
    np.testing.assert_allclose(stress, expected, rtol=1e-8)
    assert stress.argmax() == 0 and tuple(BAR.fibre_points[0]) == (-2.0, -12.5)


def test_offset_ends():
    """A bar beside its nodes: an axial force at the node bends it with F e."""
    section = fea.StrutSection.rectangle(STEEL, width=WIDTH, depth=DEPTH, up=(0, 0, 1))
    shifted = fea.StrutSection(
        **{**vars(section), "offset_start": (0, 0, 10.0), "offset_end": (0, 0, 10.0)}
    )
    moved = at(cantilever((1000, 0, 0), section=shifted), "tip")
    rotation = 1000 * 10 * LENGTH / (E * I_WIDE)
    assert abs(moved[4]) == pytest.approx(rotation, rel=1e-9)
    assert moved[2] == pytest.approx(rotation * LENGTH / 2, rel=1e-9)
    stretch = 1000 * LENGTH / (E * AREA) + 10 * rotation
    assert moved[0] == pytest.approx(stretch, rel=1e-9)
    forces = cantilever((1000, 0, 0), section=shifted).strut_forces("bar")[0]
    np.testing.assert_allclose(np.abs(forces[:, 4]), 10000, rtol=1e-9)


def test_quarter_circle_in_its_plane():
    """R = 60: along the end load ∫ (F R sin φ)²/EI R dφ = π F R³/(4 EI), plus stretch and shear."""
    radius, count = 60.0, 64
    angle = np.linspace(0, np.pi / 2, count + 1)
    points = radius * np.column_stack([np.sin(angle), 0 * angle, 1 - np.cos(angle)])
    moved = at(cantilever((1, 0, 0), section=BAR_ACROSS, points=points), "tip")[0]
    bending = np.pi * radius**3 / (4 * E * I_FLAT)
    rest = np.pi * radius / 4 * (1 / (E * AREA) + 1 / (G * AREA * 5 / 6))
    assert moved == pytest.approx(bending + rest, rel=4e-4)


def test_quarter_circle_out_of_its_plane():
    """F R³ (π/4 EI + (3π/4 − 2)/GJ) plus shear F π R/(2 G κ A)."""
    radius, count = 60.0, 64
    angle = np.linspace(0, np.pi / 2, count + 1)
    points = radius * np.column_stack([np.sin(angle), 0 * angle, 1 - np.cos(angle)])
    moved = at(cantilever((0, 1, 0), section=BAR_ACROSS, points=points), "tip")[1]
    expected = radius**3 * (np.pi / (4 * E * I_WIDE) + (0.75 * np.pi - 2) / (G * BAR.j))
    expected += np.pi * radius / 2 / (G * AREA * 5 / 6)
    assert moved == pytest.approx(expected, rel=4e-4)


@pytest.mark.parametrize("force", [(1.0, 0.0), (0.0, 1.0)])
def test_s_bend(force):
    """Two opposite arcs of 60 degrees, as an upright that steps around the ankle."""
    radius, half, count = 80.0, np.radians(60.0), 48

    def position(s):
        if s <= radius * half:
            a = s / radius
            return radius * np.array([np.sin(a), 1 - np.cos(a)])
        a = (2 * radius * half - s) / radius
        end = radius * np.array([np.sin(half), 1 - np.cos(half)])
        return 2 * end - radius * np.array([np.sin(a), 1 - np.cos(a)])

    def tangent(s):
        a = min(s, 2 * radius * half - s) / radius
        return np.array([np.cos(a), np.sin(a)])

    length = 2 * radius * half
    plane = np.array([position(s) for s in np.linspace(0, length, 2 * count + 1)])
    points = np.column_stack([plane[:, 0], 0 * plane[:, 0], plane[:, 1]])
    solution = cantilever((force[0], 0, force[1]), section=BAR_ACROSS, points=points)
    moved = at(solution, "tip")[[0, 2]] @ np.array(force)

    def cross_integrand(s):
        (x, z), (fx, fz) = position(length) - position(s), force
        along = tangent(s) @ np.array(force)
        across = (1 - along**2) / (G * AREA * 5 / 6)
        return (x * fz - z * fx) ** 2 / (E * I_FLAT) + along**2 / (E * AREA) + across

    expected = quad(cross_integrand, 0, length, epsrel=1e-10, limit=200)[0]
    assert moved == pytest.approx(expected, rel=5e-4)


@pytest.mark.parametrize(
    ("ratio", "k1"),
    [(1.0, 0.1406), (1.2, 0.166), (1.5, 0.196), (2.0, 0.229), (2.5, 0.249), (3.0, 0.263),
     (4.0, 0.281), (5.0, 0.291), (10.0, 0.312), (100.0, 0.333)],
)  # fmt: skip
def test_torsion_constant_of_a_rectangle(ratio, k1):
    """J = k1 b t³; the table prints three figures (0.1406 four). b/t = 100 stands for infinity,
    where 1/3 (1 − 0.63 t/b) is 0.331."""
    exact = {100.0: 0.3312}.get(ratio, k1)
    for width, depth in ((ratio * 3.0, 3.0), (3.0, ratio * 3.0)):
        bar = fea.StrutSection.rectangle(STEEL, width=width, depth=depth, up=(0, 0, 1))
        assert bar.j / (ratio * 3.0**4) == pytest.approx(exact, abs=6e-4)
    if ratio == 1.0:
        assert bar.j / 3.0**4 == pytest.approx(0.1406, abs=5e-5)

# SPDX-License-Identifier: MIT
"""Laminated strip: NAFEMS, Composites Benchmarks, report R0031, 2001, benchmark R0031/1.

[0/90/0/90/0/90/0], t = 0.1 0.1 0.1 0.4 0.1 0.1 0.1, supports 30 apart, 10 from the ends of 50,
width 10, line load 10 per length at midspan. Published at midspan: bending stress 683.9 at the
bottom, deflection -1.06; transverse shear -4.1 at z = 0.4. By hand: 1.0258 of bending and 0.0423 of
shear make 1.068.
"""

from functools import cache

import numpy as np
import pytest
from jitter import BOTH
from small_models import at, flat, grid, solve_one

import fea

pytestmark = pytest.mark.source("NAFEMS R0031/1")

PLY = fea.Ply(e1=1e5, e2=5e3, nu12=0.4, g12=3e3, g13=2e3, g23=2e3)
WALL = fea.Laminate(PLY, [0, 90, 0, 90, 0, 90, 0], [0.1, 0.1, 0.1, 0.4, 0.1, 0.1, 0.1])
HALF, OVERHANG = 15.0, 10.0


@cache
def strip(kind):
    """Half the strip with its overhang: symmetry at u0, the support's line 15 away."""
    mesh = grid(50, 16, flat(HALF + OVERHANG, 10.0), **BOTH[kind])
    points = mesh.points.copy()  # the line of the support stays straight
    line = np.isclose(np.arange(len(points)) // 17, 30)
    points[line, 0] = HALF
    mesh = mesh.with_points(points).with_places({"support": np.flatnonzero(line)})
    held = [
        fea.Support("u0", "ux ry rz"),
        fea.Support("support", "uz"),
        fea.Support("centre", "uy"),
    ]
    section = fea.ShellSection(WALL, direction=(1, 0, 0))
    return solve_one(mesh, {"skin": section}, held, [fea.EdgeForce("u0", (0, 0, -5.0))])


def cells(solution, near, reach):
    """Centres (c, 3) of the cells, and which lie near x in the middle half of the width."""
    mesh = solution.system.structure.mesh
    middle = mesh.points[mesh.cells["triangle"]].mean(axis=1)
    return middle, (np.abs(middle[:, 1] - 5.0) < 2.5) & (np.abs(middle[:, 0] - near) < reach)


@pytest.mark.parametrize("kind", BOTH)
def test_deflection(kind):
    """Half a percent below the beam by hand: the strip cannot curve across where it is held."""
    assert at(strip(kind), "u0")[2] == pytest.approx(-1.06, rel=0.01)
    assert at(strip(kind), "u0")[2] == pytest.approx(-1.068, rel=0.01)


@pytest.mark.parametrize("kind", BOTH)
def test_bending_stress(kind):
    """Linear in x; carried from the cells near midspan to midspan."""
    middle, near = cells(strip(kind), 2.5, 2.5)
    bottom = strip(kind).ply_stress("skin")[near, 0, 0, 0]
    at_midspan = np.polyval(np.polyfit(middle[near, 0], bottom, 1), 0.0)
    assert at_midspan == pytest.approx(683.9, rel=0.01)


@pytest.mark.parametrize("kind", BOTH)
def test_interlaminar_shear(kind):
    """At z = 0.4, from the slopes of the forces and moments along the strip."""
    middle, near = cells(strip(kind), 7.5, 5.0)
    forces = strip(kind).section_forces("skin")[near, :6]
    slopes = np.polyfit(middle[near, 0], forces, 1)[0]
    assert abs(slopes[3]) == pytest.approx(5.0, rel=0.01)
    shear = WALL.interlaminar_shear(slopes, np.zeros(6), heights=[0.4])[0, 0]
    assert abs(shear) == pytest.approx(4.1, rel=0.01)


@pytest.mark.parametrize("kind", BOTH)
def test_shear_force_of_the_cells(kind):
    """From the cells' own shear strain, which is less exact than the slope of the moment."""
    _, near = cells(strip(kind), 7.5, 5.0)
    assert abs(strip(kind).section_forces("skin")[near, 6].mean()) == pytest.approx(5.0, rel=0.02)


def test_by_hand():
    """Three-point bending of a narrow strip: 75 per width at midspan, shear moduli of 2000 MPa."""
    curvature = np.linalg.solve(WALL.abd, [0, 0, 0, 75.0, 0, 0])
    stress = WALL.ply_stresses(curvature[:3], curvature[3:])
    assert stress[-1, 2, 0] == pytest.approx(683.9, rel=1e-3)
    assert WALL.transverse_shear[0, 0] / 2e3 == pytest.approx(0.8857, abs=5e-5)
    bent = [0, 0, 0, -5.0, 0, 0]
    shear = WALL.interlaminar_shear(bent, np.zeros(6), heights=[0.4])[0, 0]
    assert shear == pytest.approx(-4.1, rel=0.01)

# SPDX-License-Identifier: MIT
"""Laminated strip: NAFEMS, Composites Benchmarks, report R0031, 2001, benchmark R0031/1.

[0/90/0/90/0/90/0], t = 0.1 0.1 0.1 0.4 0.1 0.1 0.1, supports 30 apart, width 10, line load 10 per
length at midspan. Published: bending stress 683.9 at the bottom of the middle, transverse shear
−4.1 at z = 0.4, deflection −1.06. By hand: 1.0258 of bending and 0.0423 of shear make 1.068.
"""

import numpy as np
import pytest
from small_models import at, flat, grid, solve_one

import fea

PLY = fea.Ply(e1=1e5, e2=5e3, nu12=0.4, g12=3e3, g13=2e3, g23=2e3)
WALL = fea.Laminate(PLY, [0, 90, 0, 90, 0, 90, 0], [0.1, 0.1, 0.1, 0.4, 0.1, 0.1, 0.1])


@pytest.fixture(scope="module")
def strip():
    """Half the span: symmetry at u0, the support at u1."""
    mesh = grid(60, 20, flat(15.0, 10.0))
    held = [
        fea.Support("u0", "ux ry rz"),
        fea.Support("u1", "uz"),
        fea.Support("centre", "uy"),
    ]
    load = fea.EdgeForce("u0", (0, 0, -5.0))
    section = fea.ShellSection(WALL, direction=(1, 0, 0))
    return solve_one(mesh, {"skin": section}, held, [load])


def test_deflection(strip):
    assert at(strip, "u0")[2] == pytest.approx(-1.06, rel=0.02)
    assert at(strip, "u0")[2] == pytest.approx(-1.068, rel=0.01)


def test_bending_stress(strip):
    """Linear in x, carried from the cells to midspan, along the middle of the width."""
    mesh = strip.system.structure.mesh
    middle = mesh.points[mesh.cells["triangle"]].mean(axis=1)
    row = (np.abs(middle[:, 1] - 5.0) < 0.5) & (middle[:, 0] < 3.0)
    bottom = strip.stress("skin", "bottom")[row, 0]
    at_midspan = np.polyval(np.polyfit(middle[row, 0], bottom, 1), 0.0)
    assert at_midspan == pytest.approx(683.9, rel=0.01)


def test_interlaminar_shear(strip):
    mesh = strip.system.structure.mesh
    middle = mesh.points[mesh.cells["triangle"]].mean(axis=1)
    inside = (np.abs(middle[:, 1] - 5.0) < 2) & (np.abs(middle[:, 0] - 7.5) < 4)
    force = np.abs(strip.section_forces("skin")[inside, 6].mean())
    assert force == pytest.approx(5.0, rel=0.01)
    shear = WALL.interlaminar_shear([5.0, 0.0])[:, 0]
    assert WALL.interfaces[6] == pytest.approx(0.4)
    assert abs(shear[6]) == pytest.approx(4.1, rel=0.01)

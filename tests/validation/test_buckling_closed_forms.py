# SPDX-License-Identifier: MIT
"""Buckling of struts and plates with closed forms.

Timoshenko S P, Gere J M, Theory of Elastic Stability, 2nd ed., McGraw-Hill, 1961: pinned strut
π²EI/L²; square plate, simply supported: compression k = 4, shear k = 9.34 (exact 9.325), both in
units of π²D/b². The wave numbers of the higher compression factors follow from
k = (m + n²/m)² with n = 1, m = 1, 2, 3: 4, 6.25, 11.11.
"""

import numpy as np
import pytest
from small_models import chain, grid

import fea
from fea.solver.buckling import buckle

YOUNG, POISSON, WALL = 70e3, 0.3, 0.01
RIGIDITY = YOUNG * WALL**3 / (12.0 * (1.0 - POISSON**2))
LINE_LOAD = np.pi**2 * RIGIDITY


def plate(cells, edge_forces, **mesh):
    square = grid(cells, cells, lambda u, v: (u, v, 0.0), **mesh)
    x, y = square.points[:, 0], square.points[:, 1]
    edge = np.flatnonzero((x == 0) | (x == 1) | (y == 0) | (y == 1))
    square = square.with_places(
        {
            "edge": edge,
            "origin": np.flatnonzero((x == 0) & (y == 0)),
            "along": np.flatnonzero((x == 1) & (y == 0)),
        }
    )
    section = fea.ShellSection(fea.Isotropic(YOUNG, POISSON), thickness=WALL)
    supports = [
        fea.Support("edge", "uz"),
        fea.Support("origin", "ux uy"),
        fea.Support("along", "uy"),
    ]
    loads = [fea.EdgeForce(place, force) for place, force in edge_forces.items()]
    return fea.Model(square, {"skin": section}, supports, {"load": loads})


COMPRESSION = {"u0": (1.0, 0.0, 0.0), "u1": (-1.0, 0.0, 0.0)}
SHEAR = {"u0": (0, -1.0, 0), "u1": (0, 1.0, 0), "v0": (-1.0, 0, 0), "v1": (1.0, 0, 0)}


def test_a_compressed_square_plate_buckles_at_k_4_and_the_next_waves_follow():
    result = buckle(plate(16, COMPRESSION), "load", 3)
    assert result.factors / LINE_LOAD == pytest.approx([4.0, 6.25, 11.11], rel=0.01)
    assert result.factors[0] / LINE_LOAD == pytest.approx(4.0, rel=1e-3)
    assert result.proved


@pytest.mark.parametrize("diagonal", ["rising", "falling", "alternate"])
def test_a_sheared_square_plate_buckles_at_k_9_325_on_any_diagonal(diagonal):
    factor = buckle(plate(16, SHEAR, diagonal=diagonal), "load", 2).factors[0]
    assert factor / LINE_LOAD == pytest.approx(9.325, rel=0.012)


def strut(force, cells=20):
    """Pinned strut of length 100 along x under an axial force at its head, and its section."""
    mesh = chain([(x, 0.0, 0.0) for x in np.linspace(0.0, 100.0, cells + 1)])
    section = fea.StrutSection.rectangle(
        fea.Isotropic(200e3, 0.3), width=4.0, depth=2.0, up=(0, 0, 1)
    )
    supports = [fea.Support("root", "ux uy uz rx"), fea.Support("tip", "uy uz")]
    cases = {"load": [fea.PointForce("tip", (force, 0.0, 0.0))]}
    return fea.Model(mesh, {"bar": section}, supports, cases), section


def test_a_pinned_strut_buckles_at_its_euler_load():
    model, section = strut(-1.0)
    euler = np.pi**2 * 200e3 * np.array([section.i_z, 4.0 * section.i_z]) / 100.0**2
    shear = np.array([1.0 + load / (200e3 / 2.6 * section.area * 5 / 6) for load in euler])
    assert buckle(model, "load", 2).factors == pytest.approx(euler / shear, rel=1e-3)


def test_tension_never_buckles_a_strut():
    model, _ = strut(1.0, cells=4)
    assert len(buckle(model, "load", 2).factors) == 0

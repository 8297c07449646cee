# SPDX-License-Identifier: MIT
"""Buckling on the frozen contact set: a bed that lets go does not hold a column."""

import numpy as np
import pytest
from small_models import flat, grid

import fea


def column(face, side=1.0):
    """A pinned strip 100 x 10 x 1 under axial load, on a bed along its upper or lower face, with a
    small push across that presses it onto a bed at the bottom and off a bed at the top."""
    mesh = grid(40, 4, flat(100.0, 10.0))
    material = fea.Isotropic(youngs_modulus=1000.0, poisson_ratio=0.0)
    return fea.Model(
        mesh, {"skin": fea.ShellSection(material, thickness=1.0)},
        [fea.Support("u0", "ux uy uz"), fea.Support("u1", "uy uz")],
        {"push": [fea.EdgeForce("u1", (-0.01, 0, 0)), fea.Pressure("skin", -1e-9 * side)]},
        beds=[] if face is None else [fea.Bed("skin", None, 1e-3, face=face)],
    )  # fmt: skip


EULER = np.pi**2 * 1000.0 * (1.0 / 12.0) / 100.0**2  # N/mm of width


def test_euler_without_a_bed():
    assert fea.buckle(column(None), "push", 1).factors[0] * 0.01 == pytest.approx(EULER, rel=2e-3)


def test_a_bed_that_lets_go_holds_nothing():
    loose = fea.buckle(column("top"), "push", 1)
    assert loose.factors[0] * 0.01 == pytest.approx(EULER, rel=2e-3)
    assert loose.proved


def test_a_bed_that_touches_holds_as_one_that_pulls():
    """P = n² P_E + k L²/(n π)², least over n (Winkler): k = 1e-3 N/mm³ gives n = 2 or 3 waves."""
    held = fea.buckle(column("bottom"), "push", 1).factors[0] * 0.01
    waves = [n**2 * EULER + 1e-3 * 100.0**2 / (n * np.pi) ** 2 for n in range(1, 9)]
    assert held == pytest.approx(min(waves), rel=5e-3)

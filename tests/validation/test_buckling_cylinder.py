# SPDX-License-Identifier: MIT
"""Cylinder under axial compression: classical N = E t²/(R √(3 (1 − ν²))), 0.605 E t²/R at ν = 0.3.

Timoshenko S P, Gere J M, Theory of Elastic Stability, 1961, § 11.1. Ends held round and free
to turn; three half-waves of the ring-shaped buckle, π √(R t)/(12 (1 − ν²))^¼ each, fit the length.
With ν = 0 the state before buckling is even, as the classical form takes it to be. Real cylinders
reach a share of it, the knock-down of NASA SP-8007: 1 − 0.901 (1 − e^−φ), φ = √(R/t)/16.
"""

import numpy as np
import pytest
from jitter import BOTH
from small_models import grid

import fea
from fea.check.stability import knock_down

YOUNG, RADIUS, WALL = 70e3, 100.0, 1.0
CLASSICAL = YOUNG * WALL**2 / (RADIUS * np.sqrt(3.0))


@pytest.mark.parametrize("mesh", BOTH)
def test_axial_compression(mesh):
    height = 3.0 * np.pi * np.sqrt(RADIUS * WALL) / 12.0**0.25

    def quarter(u, v):
        angle = 0.5 * np.pi * u
        return RADIUS * np.cos(angle), RADIUS * np.sin(angle), height * v

    shell = grid(52, 18, quarter, **BOTH[mesh])
    supports = [
        fea.Support("u0", "uy rx rz"), fea.Support("u1", "ux ry rz"),
        fea.Support("v0", "ux uy uz"), fea.Support("v1", "ux uy"),
    ]  # fmt: skip
    model = fea.Model(
        shell, {"skin": fea.ShellSection(fea.Isotropic(YOUNG, 0.0), thickness=WALL)}, supports,
        {"load": [fea.EdgeForce("v1", (0, 0, -1.0))]},
    )  # fmt: skip
    result = fea.buckle(model, "load", 1)
    assert result.proved is True
    found = result.factors[0]
    assert found == pytest.approx(CLASSICAL, rel=1.5e-2)


@pytest.mark.parametrize(
    ("slenderness", "share"),
    # by hand: φ = 0.198, 0.442, 0.625, 1.398
    [(10.0, 0.838), (50.0, 0.678), (100.0, 0.581), (500.0, 0.322)],
)
@pytest.mark.source("NASA SP-8007, from memory and from works that quote it")
def test_knock_down(slenderness, share):
    found = knock_down(slenderness).value
    assert found == pytest.approx(share, abs=1e-3)

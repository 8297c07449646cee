# SPDX-License-Identifier: MIT
"""Torsion of flat strips: Saint-Venant, and the same in the theory of plates flexible in shear.

Saint-Venant B de, Mém Acad Sci Savants Étrangers 1855;14:233-560; series as in Timoshenko S P,
Goodier J N, Theory of Elasticity, 3rd ed., 1970, § 109. In plate theory with shear flexibility
(Reissner E, J Appl Mech 1945;12:69-77) a strip of width b turning freely at its ends has
J = (b t³/3) (1 − tanh λ/λ), λ = √10 b/(2 t) for a shear correction of 5/6: 0.1396 b t³ at b = t,
beside Saint-Venant's 0.1406. The ends turn as rigid lines and warp freely, so the twist is uniform.
"""

import numpy as np
import pytest
from jitter import BOTH
from readings import held_at, order
from small_models import STEEL, flat, grid, solve_skin

import fea

TURN = 1e-3
ACROSS = {1: 32, 2: 32, 5: 40, 10: 60}  # cells


def plate_torsion(ratio):
    """J/(b t³) in plate theory."""
    half = np.sqrt(10.0) * ratio / 2.0
    return (1.0 - np.tanh(half) / half) / 3.0


def saint_venant(ratio):
    """J/(b t³), exact."""
    odd = np.arange(1, 101, 2)
    series = np.sum(np.tanh(odd * np.pi * ratio / 2.0) / odd**5)
    return (1.0 - 192.0 / np.pi**5 / ratio * series) / 3.0


def torsion_constant(ratio, n, mesh):
    """J/(b t³) of a strip of t = 1, b = ratio, length 2 b, n cells across."""
    width, length = float(ratio), 2.0 * ratio
    strip = grid(2 * n, n, flat(length, width), **mesh)
    strip = strip.with_points(strip.points - [0.0, width / 2, 0.0])
    y = strip.points[strip.place("u1"), 1]
    strip, supports = held_at(strip, "u1", {"uz": TURN * y, "rx": TURN + 0 * y})
    supports += [
        fea.Support("u0", "uz rx"),
        fea.Support("u0v0", "ux uy"),
        fea.Support("u0v1", "ux"),
    ]
    solution = solve_skin(strip, STEEL, 1.0, supports, [])
    # about the strip's axis, not the mean of jittered nodes
    reaction = solution.reaction("u1")
    moment = reaction[3] + y.mean() * reaction[2]
    return moment * length / (TURN * STEEL.shear_modulus) / width


@pytest.mark.source("Reissner 1945")
@pytest.mark.parametrize("mesh", BOTH)
@pytest.mark.parametrize("ratio", ACROSS)
def test_strip_in_plate_theory(ratio, mesh):
    found = torsion_constant(ratio, ACROSS[ratio], BOTH[mesh])
    assert found == pytest.approx(plate_torsion(ratio), rel=0.003)


@pytest.mark.source("Saint-Venant 1855")
@pytest.mark.parametrize("ratio", ACROSS)
def test_strip(ratio):
    found = torsion_constant(ratio, ACROSS[ratio], BOTH["structured"])
    assert found == pytest.approx(saint_venant(ratio), rel=0.006 if ratio == 1 else 0.002)


@pytest.mark.source("Reissner 1945")
@pytest.mark.parametrize("mesh", BOTH)
def test_order_two_once_the_edge_is_resolved(mesh):
    exact = plate_torsion(2)
    errors = [torsion_constant(2, n, BOTH[mesh]) - exact for n in (8, 16, 32)]
    assert order(errors) == pytest.approx(2.0, abs=0.15)

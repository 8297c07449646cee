# SPDX-License-Identifier: MIT
"""Elastic supports of places and bodies."""

import numpy as np
import pytest
from small_models import ALL, STEEL, chain, flat, grid, solve_one

import fea
import fea.errors

BAR = fea.StrutSection.rectangle(STEEL, width=10.0, depth=10.0, up=(0, 0, 1))


def test_a_propped_cantilever_by_hand():
    """Tip force F on a cantilever EI, L with a spring k at the tip: w = F / (3EI/L³ + k)."""
    mesh = chain([[0, 0, 0], [100.0, 0, 0]])
    slender = fea.StrutSection(STEEL, area=100.0, i_y=833.0, i_z=833.0, j=1400.0, up=(0, 0, 1))
    solution = solve_one(
        mesh, {"bar": slender}, [fea.Support("root", ALL)], [fea.PointForce("tip", (0, 0, -10.0))],
        springs=[fea.Spring("tip", "uz", 50.0)],
    )  # fmt: skip
    own = 3 * 200e3 * 833.0 / 100.0**3
    assert solution.displacement[1, 2] == pytest.approx(-10.0 / (own + 50.0))
    assert solution.reaction("tip")[2] == pytest.approx(10.0 * 50.0 / (own + 50.0))
    assert solution.work == pytest.approx(2 * solution.strain_energy)


def test_springs_alone_can_hold_a_part():
    mesh = grid(2, 2, flat(10.0, 10.0))
    section = {"skin": fea.ShellSection(STEEL, thickness=1.0)}
    load = [fea.PointForce("u1", (0, 0, 6.0))]
    with pytest.raises(fea.errors.UnsupportedError, match="nothing resists turn about"):
        solve_one(mesh, section, [], load, springs=[fea.Spring("u0v0", "ux uy uz", 5.0)])
    held = solve_one(mesh, section, [], load, springs=[fea.Spring("border", "ux uy uz", 5.0)])
    np.testing.assert_allclose(held.reaction("border")[:3], [0, 0, -6.0], atol=1e-9)


def test_a_turning_spring_at_a_hinged_body():
    """A lever hinged to a held body turns by M / k."""
    mesh = chain([[0, 0, 0], [10.0, 0, 0]])
    solution = solve_one(
        mesh, {"bar": BAR}, [fea.Support("root", ALL), fea.Support("shank", ALL)],
        [fea.PointForce("foot", (0, 0, 0), (0, -300.0, 0))],
        bodies=[fea.Body("shank", (0, 0, 50.0)),
                fea.Body("foot", (0, 0, 50.0), joined_to="shank", axis=(0, 1, 0))],
        springs=[fea.Spring("foot", "ry", 6000.0)],
    )  # fmt: skip
    assert solution.body("foot")[4] == pytest.approx(-300.0 / 6000.0)


def test_refusals():
    with pytest.raises(fea.errors.ModelError, match="spring of 'a': stiffness 0.0 must be above 0"):
        fea.Spring("a", "uz", 0.0)
    with pytest.raises(fea.errors.ModelError, match="unknown degree of freedom 'w'"):
        fea.Spring("a", "w", 1.0)

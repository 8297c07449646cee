# SPDX-License-Identifier: MIT
"""Absurd numbers end in a clear error or in the right result, never in a warning beside one."""

import numpy as np
import pytest
from small_models import ALL, grid

import fea
from fea.errors import GateError, ModelError, SolveError

BEYOND = "beyond the range of numbers.*wrong unit"


def sheet(modulus=200e3, thickness=2.0, force=-10.0):
    mesh = grid(2, 1, lambda u, v: (100 * u, 50 * v, 0 * u))
    steel = fea.Isotropic(youngs_modulus=modulus, poisson_ratio=0.3)
    section = fea.ShellSection(steel, thickness=thickness)
    loads = {"push": [fea.EdgeForce("u1", (force, 0, 0))]}
    return fea.Model(mesh, {"skin": section}, [fea.Support("u0", ALL)], loads)


def bar(modulus):
    mesh = fea.Mesh([[0, 0, 0], [100, 0, 0]], {"line": [[0, 1]]},
                    places={"root": [0], "tip": [1]}, zones={"bar": ("line", [0])})
    steel = fea.Isotropic(youngs_modulus=modulus, poisson_ratio=0.3)
    section = fea.StrutSection.rectangle(steel, width=10.0, depth=2.0, up=(0, 0, 1))
    loads = {"push": [fea.PointForce("tip", (-10.0, 0, 0))]}
    return fea.Model(mesh, {"bar": section}, [fea.Support("root", ALL)], loads)


@pytest.mark.parametrize("modulus", [1e-300, 1e-160, 1e160, 1e300])
def test_a_modulus_in_range_scales_the_displacements_whatever_its_size(modulus):
    moved = fea.solve(sheet(modulus))["push"].displacement[:, :3] * (modulus / 200e3)
    usual = fea.solve(sheet())["push"].displacement[:, :3]
    np.testing.assert_allclose(moved, usual, rtol=1e-9, atol=1e-12 * np.abs(usual).max())


@pytest.mark.parametrize("model", [
    sheet(modulus=1e-320), sheet(modulus=1e308), sheet(thickness=1e200), sheet(force=1e300),
    bar(1e308),
], ids=["softest", "stiffest", "thickest", "strongest", "bar"])
def test_numbers_beyond_range_are_refused(model):
    with pytest.raises(GateError, match=BEYOND):
        fea.solve(model)


@pytest.mark.parametrize("model", [sheet(thickness=1e-300), bar(1e-320)], ids=["sheet", "bar"])
def test_a_stiffness_that_vanishes_is_refused(model):
    with pytest.raises(SolveError, match="has no stiffness"):
        fea.solve(model)


@pytest.mark.parametrize("count", [np.nan, np.inf, 2.5, 0, -1, "3", None])
def test_a_count_of_buckling_factors_is_a_whole_number(count):
    with pytest.raises(ModelError, match=f"count is {count!r}; ask for at least one factor"):
        fea.buckle(sheet(), "push", count)


def test_counts_may_come_from_arrays():
    assert len(fea.buckle(sheet(), "push", np.int64(2)).factors) == 2


def test_recovery_says_what_it_takes():
    system = fea.prepare(sheet())
    solutions = fea.solve(sheet())
    one = solutions["push"]
    for wrong, words in (
        ([], "no solutions"), (one, r"give a list, as \[solution\]"),
        (solutions, r"list\(found.values\(\)\)"), (["push"], "takes solutions; got str"),
        ([*fea.solve(bar(200e3)).values()], "'push' is of another structure"),
    ):  # fmt: skip
        with pytest.raises(ModelError, match=words):
            system.recovery(wrong)
    listed, lazy = system.recovery([one]), system.recovery(each for each in (one,))
    np.testing.assert_array_equal(lazy.energy_error, listed.energy_error)
    assert len(lazy.relative_energy_error) == 1

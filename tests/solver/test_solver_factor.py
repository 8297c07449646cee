# SPDX-License-Identifier: MIT
"""Both factorisations solve the same matrix, find the softest motion, and refuse what they must."""

import importlib.util

import numpy as np
import pytest
from scipy.sparse import csr_matrix, diags
from small_models import ALL, STEEL, grid

import fea
import fea.errors
from fea.solver import factor as module
from fea.solver.factor import ScaledFactor, UnscaledError, choose_backend

INSTALLED = importlib.util.find_spec("pypardiso") is not None
needs_pardiso = pytest.mark.skipif(
    not INSTALLED, reason='PARDISO is not installed: pip install "stanchion[fast]"'
)
BACKENDS = ["superlu", pytest.param("pardiso", marks=needs_pardiso)]


def springs(count, ground=1.0):
    """A chain of unit springs, held by a spring at its start; the last row is scaled by 1e6."""
    main = np.r_[1.0 + ground, np.full(count - 2, 2.0), 1.0]
    matrix = diags([main, -np.ones(count - 1), -np.ones(count - 1)], [0, 1, -1])
    scale = diags(np.r_[np.ones(count - 1), 1e3])
    return csr_matrix(scale @ matrix @ scale)


@pytest.mark.parametrize("backend", BACKENDS)
def test_solves_many_right_sides(backend):
    matrix = springs(60)
    right = np.random.default_rng(4).standard_normal((60, 5))
    found = ScaledFactor(matrix, backend).solve(right)
    np.testing.assert_allclose(found, np.linalg.solve(matrix.toarray(), right), rtol=1e-9)


@pytest.mark.parametrize("backend", BACKENDS)
def test_two_factors_live_side_by_side(backend):
    first, second = ScaledFactor(springs(30), backend), ScaledFactor(springs(40), backend)
    right = np.ones((30, 1))
    before = first.solve(right)
    second.solve(np.ones((40, 1)))
    del second
    np.testing.assert_array_equal(first.solve(right), before)


@pytest.mark.parametrize("backend", BACKENDS)
def test_softest_value_and_mode(backend):
    """Where the softest mode matters it is close; a value never lies below the true one."""
    matrix = springs(200, ground=1e-9)
    scale = 1 / np.sqrt(matrix.diagonal())
    exact, modes = np.linalg.eigh(scale[:, None] * matrix.toarray() * scale)
    value, mode = ScaledFactor(matrix, backend).softest()
    assert exact[0] * (1 - 1e-3) <= value <= 1.01 * exact[0]
    shape = mode / scale
    assert abs(shape @ modes[:, 0]) / np.linalg.norm(shape) == pytest.approx(1.0, abs=1e-6)


@pytest.mark.parametrize("backend", BACKENDS)
def test_a_singular_matrix_gives_its_mechanism_and_no_solution(backend):
    matrix = csr_matrix(np.array([[2.0, -2.0, 0.0], [-2.0, 2.0, 0.0], [0.0, 0.0, 5.0]]))
    factor = ScaledFactor(matrix, backend)
    value, mode = factor.softest()
    assert value < 1e-15
    np.testing.assert_allclose(np.abs(mode / mode[0]), [1, 1, 0], atol=1e-6)


@needs_pardiso
def test_an_indefinite_matrix_is_refused_by_pardiso():
    factor = ScaledFactor(csr_matrix(np.array([[1.0, 0.5], [0.5, 1.0]])), "pardiso")
    assert factor.softest()[0] == pytest.approx(0.5, rel=0.2)
    with pytest.raises(fea.errors.UnsupportedError, match="singular"):
        ScaledFactor(csr_matrix(np.array([[1.0, 2.0], [2.0, 1.0]])), "pardiso")  # shift is no cure


@pytest.mark.parametrize("value", [0.0, -1.0, np.nan])
def test_a_diagonal_without_stiffness_says_where(value):
    matrix = csr_matrix(diags([1.0, 2.0, value, 4.0]))
    with pytest.raises(UnscaledError) as caught:
        ScaledFactor(matrix, "superlu")
    assert caught.value.position == 2


def test_a_failed_factorisation_never_solves(monkeypatch):
    """Whatever the back end says of a matrix, the shifted stand-in only names the mechanism."""

    class Refusing:
        name = "refusing"
        made = 0

        def __init__(self, matrix):
            Refusing.made += 1
            if Refusing.made == 1:
                raise fea.errors.UnsupportedError("the stiffness matrix is singular (pivot 7)")
            self.matrix = matrix.toarray()

        def solve(self, right):
            return np.linalg.solve(self.matrix, right)

    monkeypatch.setattr(module, "_SuperLU", Refusing)
    factor = ScaledFactor(csr_matrix(np.array([[2.0, -2.0], [-2.0, 2.0]])), "superlu")
    value, mode = factor.softest()
    assert value == 0.0
    assert mode[0] == pytest.approx(mode[1])
    with pytest.raises(fea.errors.UnsupportedError, match="pivot 7"):
        factor.solve(np.ones((2, 1)))


def test_choice_of_a_backend():
    assert choose_backend("superlu") == "superlu"
    assert choose_backend() == ("pardiso" if INSTALLED else "superlu")
    with pytest.raises(fea.errors.ModelError, match="unknown solver 'lu'; use auto, superlu or"):
        choose_backend("lu")


@pytest.mark.skipif(INSTALLED, reason="PARDISO is installed")
def test_a_missing_extra_names_its_cure():
    with pytest.raises(fea.errors.MissingExtraError, match=r'pip install "stanchion\[fast\]"'):
        choose_backend("pardiso")


@needs_pardiso
def test_both_give_the_same_displacements():
    mesh = grid(12, 8, lambda u, v: (100 * u, 60 * v, 20 * u * v))
    model = fea.Model(
        mesh,
        {"skin": fea.ShellSection(STEEL, thickness=2.0)},
        [fea.Support("u0", ALL)],
        {"a": [fea.Pressure("skin", 0.01)], "b": [fea.PointForce("u1", (1, 2, 3))]},
    )
    one, two = fea.solve(model, solver="superlu"), fea.solve(model, solver="pardiso")
    for case in "ab":
        expected = one[case].displacement
        assert two[case].system.factor.name == "PARDISO"
        np.testing.assert_allclose(
            two[case].displacement, expected, atol=1e-9 * np.abs(expected).max()
        )

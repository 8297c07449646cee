# SPDX-License-Identifier: MIT
"""What every element owes: rigid motion, symmetry, patch, frame, size, and rate of convergence."""

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.linalg import block_diag
from small_models import random_rotation

from fea.element import membrane, plate, shell, strut
from fea.material.isotropic import Isotropic
from fea.material.laminate import Laminate, Ply
from fea.solver.kinematics import rigid_motion
from fea.structure.sections import ShellSection

PLASTIC = Isotropic(youngs_modulus=1400.0, poisson_ratio=0.42)
CLOTH = Ply(e1=120e3, e2=9e3, nu12=0.3, g12=4e3, g23=3e3)
SECTIONS = {
    "thin": ShellSection(PLASTIC, thickness=0.1),
    "thick": ShellSection(PLASTIC, thickness=8.0),
    "unsymmetric laminate": ShellSection(Laminate(CLOTH, [0, 30, -45], 0.7), offset=0.4),
}
TRIANGLE = np.array([[0.0, 0, 0], [11.0, 1.0, 2.0], [3.0, 7.0, -1.0]])
ENDS = np.array([[[0.0, 0, 0], [30.0, 12.0, -7.0]]])
OFFSETS = np.array([[1.0, 2.0, -3.0]]), np.array([[-2.0, 0.5, 4.0]])
STRUT = strut.StrutProperties(*np.array([[1e5], [3e5], [1e6], [2e5], [4e4], [6e4]]))


def shell_matrix(points, section, direction=(0.1, 0.2, 1.0)):
    cells = np.array([[0, 1, 2]])
    stiffness = section.stiffness(1)
    facets = shell.facets(points, cells, np.array([direction]))
    factor = shell.higher_order_factor(points, cells, facets, stiffness)
    return shell.stiffness_matrices(facets, stiffness, factor)[0]


def strut_matrix(ends, up=(0.3, -0.2, 1.0), offsets=OFFSETS):
    return strut.stiffness_matrices(strut.frames(ends, np.array([up]), *offsets), STRUT)[0]


def rigid_modes(points):
    return rigid_motion(points).reshape(-1, 6)


MATRICES = {name: (shell_matrix(TRIANGLE, each), TRIANGLE) for name, each in SECTIONS.items()}
MATRICES["strut with offsets"] = (strut_matrix(ENDS), ENDS[0])


@pytest.mark.parametrize("name", MATRICES)
def test_rigid_motion_costs_no_force(name):
    matrix, points = MATRICES[name]
    modes = rigid_modes(points)
    forces = matrix @ modes
    size = np.abs(matrix).max() * np.abs(modes).max()
    assert np.abs(forces).max() <= 1e-13 * size


@pytest.mark.parametrize("name", MATRICES)
def test_no_other_motion_is_free(name):
    """Six zero eigenvalues and no seventh, with lengths scaled so that turns weigh like shifts."""
    matrix, points = MATRICES[name]
    scale = np.tile([1.0] * 3 + [1.0 / np.ptp(points)] * 3, len(points))
    values = np.linalg.eigvalsh(scale[:, None] * matrix * scale)
    assert np.abs(values[:6]).max() <= 1e-13 * values[-1]
    assert values[6] >= 1e-7 * values[-1]


@pytest.mark.parametrize("name", MATRICES)
def test_stiffness_is_symmetric(name):
    matrix, _ = MATRICES[name]
    assert np.abs(matrix - matrix.T).max() <= 1e-14 * np.abs(matrix).max()


@pytest.mark.parametrize("name", SECTIONS)
def test_a_turned_shell_is_the_same_shell(name):
    matrix, points = MATRICES[name]
    rotation = random_rotation()
    turn = block_diag(*[rotation] * 6)
    moved = points @ rotation.T + [5.0, -3.0, 2.0]
    again = shell_matrix(moved, SECTIONS[name], rotation @ [0.1, 0.2, 1.0])
    assert np.abs(turn.T @ again @ turn - matrix).max() <= 1e-11 * np.abs(matrix).max()


def test_a_turned_strut_is_the_same_strut():
    rotation = random_rotation()
    turn = block_diag(*[rotation] * 4)
    offsets = [offset @ rotation.T for offset in OFFSETS]
    again = strut_matrix(ENDS @ rotation.T, rotation @ [0.3, -0.2, 1.0], offsets)
    matrix, _ = MATRICES["strut with offsets"]
    assert np.abs(turn.T @ again @ turn - matrix).max() <= 1e-12 * np.abs(matrix).max()


@pytest.mark.parametrize("name", SECTIONS)
def test_the_first_node_is_not_special(name):
    matrix, points = MATRICES[name]
    order = np.r_[6:18, 0:6]
    again = shell_matrix(points[[1, 2, 0]], SECTIONS[name])
    assert np.abs(again - matrix[np.ix_(order, order)]).max() <= 1e-12 * np.abs(matrix).max()


angles = st.floats(0.2, 2.0)


def triangle(first, second):
    """A triangle on a side of length 1, from its two angles there (rad)."""
    assume(first + second < 2.9)
    side = np.sin(second) / np.sin(first + second)
    return np.array([[[0.0, 0.0], [1.0, 0.0], [side * np.cos(first), side * np.sin(first)]]])


@given(angles, angles, st.floats(0.01, 0.5))
def test_constant_strains_are_exact_on_any_triangle(first, second, factor):
    """Linear displacements with their rotation give the constant membrane strain everywhere."""
    xy = triangle(first, second)
    gradient = np.array([[0.3, -0.2], [0.5, 0.1]])
    rotation = 0.5 * (gradient[1, 0] - gradient[0, 1])
    motion = np.column_stack([xy[0] @ gradient.T, np.full(3, rotation)]).ravel()
    strain = membrane.constant_strain(xy) @ motion
    np.testing.assert_allclose(strain[0], [0.3, 0.1, 0.3], rtol=1e-11, atol=1e-12)
    extra = np.sqrt(factor) * membrane.deviatoric_strain(xy, shell.CORNERS) @ motion
    np.testing.assert_allclose(extra, 0.0, atol=1e-11)


@given(angles, angles, st.floats(0.0, 10.0))
def test_constant_curvature_is_exact_on_any_triangle(first, second, factor):
    """w = ½(a x² + b y²) + c x y with its slopes: constant curvature, no shear, for any φ."""
    xy = triangle(first, second)
    x, y = xy[0].T
    a, b, c = 0.4, -0.7, 0.2
    w, slopes = 0.5 * (a * x**2 + b * y**2) + c * x * y, (-(a * x + c * y), -(b * y + c * x))
    motion = np.column_stack([w, *slopes]).ravel()
    factors = np.full((1, 3), factor)
    rotations = plate.side_rotations(xy, factors)
    curvature = plate.curvature(xy, rotations, shell.CORNERS) @ motion
    expected = np.broadcast_to([-a, -b, -2 * c], (3, 3))
    np.testing.assert_allclose(curvature[0], expected, rtol=1e-10, atol=1e-11)
    shear = plate.shear_strain(xy, rotations, factors, shell.CORNERS) @ motion
    np.testing.assert_allclose(shear, 0.0, atol=1e-11)


def test_higher_order_strains_have_no_mean():
    """Then they are orthogonal to the constant part for any section and cannot spoil the patch."""
    xy = TRIANGLE[None, :, :2]
    mean = np.tensordot(shell.WEIGHTS, membrane.deviatoric_strain(xy, shell.CORNERS), (0, 1))
    np.testing.assert_allclose(mean, 0.0, atol=1e-14)


def test_the_higher_order_factor_of_a_flat_sheet_is_optimal():
    """½(1 − 4ν²) where the sheet is flat, kept above 0.01. Source: felippa-2003."""
    points = np.array([[0.0, 0, 0], [1, 0, 0], [1, 1, 0], [0, 1, 0]])
    cells = np.array([[0, 1, 2], [0, 2, 3]])
    for nu, expected in ((0.0, 0.5), (0.3, 0.32), (0.25, 0.375), (0.499, 0.01)):
        stiffness = ShellSection(Isotropic(1.0, nu), thickness=0.1).stiffness(2)
        facets = shell.facets(points, cells)
        factor = shell.higher_order_factor(points, cells, facets, stiffness)
        np.testing.assert_allclose(factor, expected, rtol=1e-12)


def test_the_higher_order_factor_ignores_folds():
    """Two flat strips at 90 degrees: the fold is no curvature, so both stay optimal."""
    points = np.array([[0.0, 0, 0], [1, 0, 0], [1, 1, 0], [0, 1, 0], [0, 0, 1], [1, 0, 1]])
    cells = np.array([[0, 1, 2], [0, 2, 3], [0, 5, 1], [0, 4, 5]])
    stiffness = ShellSection(Isotropic(1.0, 0.3), thickness=0.01).stiffness(4)
    facets = shell.facets(points, cells)
    factor = shell.higher_order_factor(points, cells, facets, stiffness)
    np.testing.assert_allclose(factor, 0.32, rtol=1e-12)

# SPDX-License-Identifier: MIT
"""Shear between plies from the recovered section forces, against closed forms."""

from functools import cache

import numpy as np
import pytest
from jitter import BOTH
from sine_plate import wide_plate
from small_models import STEEL, flat, grid, solve_one

import fea
from fea.errors import ModelError
from fea.solver.interlaminar import interlaminar_shear

LENGTH, WIDTH, FORCE = 60.0, 20.0, 5.0
CLAMP = fea.Support("u0", "ux uy uz rx ry rz")
BLOCK = fea.Laminate(fea.Isotropic(1000.0, 0.0), [0.0] * 4, 1.0)
PLY = fea.Ply(e1=25.0, e2=1.0, nu12=0.25, g12=0.5, g13=0.5, g23=0.2)


@cache
def cantilever(kind, offset=0.0, refined=1):
    """A strip along x that carries FORCE N/mm downwards at its end; its shear and its cells."""
    mesh = grid(24 * refined, 8 * refined, flat(LENGTH, WIDTH), **BOTH[kind])
    section = fea.ShellSection(BLOCK, offset=offset, direction=(1, 0, 0))
    end = fea.EdgeForce("u1", (0, 0, -FORCE))
    solution = solve_one(mesh, {"skin": section}, [CLAMP], [end])
    return interlaminar_shear(solution.system.recovery([solution]), "skin"), away(mesh, 10.0, 50.0)


def away(mesh, low, high):
    """Cells between two stations and off the long edges."""
    x, y, _ = mesh.points[mesh.cells["triangle"]].mean(axis=1).T
    return (x > low) & (x < high) & (np.abs(y - WIDTH / 2) < WIDTH / 4)


@pytest.mark.parametrize("offset", [0.0, 1.5])
def test_one_material_gives_the_parabola(offset):
    shear, inside = cantilever("structured", offset)
    np.testing.assert_allclose(shear.heights, [-1.5, -1.0, -0.5, 0.0, 0.5, 1.0, 1.5])
    expected = 1.5 * FORCE / 4.0 * (1.0 - (shear.heights / 2.0) ** 2)
    stress = shear.stress[0, inside]
    np.testing.assert_allclose(np.abs(stress[..., 0]).mean((0, 1)), expected, rtol=5e-3)
    np.testing.assert_allclose(np.abs(stress[..., 0]) / expected, 1.0, atol=0.06)
    np.testing.assert_allclose(stress[..., 1], 0.0, atol=0.01)
    assert shear.error[0, inside].max() < 0.04 * expected.max()


@pytest.mark.parametrize("refined", [1, 2])
def test_the_error_of_irregular_cells_covers_the_parabola(refined):
    """Slopes scatter where cells are irregular, however small these are; the error says so."""
    shear, inside = cantilever("jittered", 0.0, refined)
    expected = 1.5 * FORCE / 4.0 * (1.0 - (shear.heights / 2.0) ** 2)
    size, error = np.linalg.norm(shear.stress[0, inside], axis=-1), shear.error[0, inside]
    assert (np.abs(size - expected) / expected).mean() < 0.02
    assert (size + error >= expected).all() and (size - error <= expected).all()
    assert (error / expected).mean() < 0.2


def test_finer_regular_cells_leave_less_error():
    (coarse, at), (fine, beside) = (cantilever("structured", 0.0, refined) for refined in (1, 2))
    assert fine.error[0, beside].mean() < 0.25 * coarse.error[0, at].mean()


@pytest.mark.parametrize("angles", [(0.0,), (0.0, 90.0, 0.0), (0.0, 90.0)])
def test_cylindrical_bending_of_layers(angles):
    """Closed form: slopes of the bending stress under Q = q a / π cos, summed from the bottom."""
    span = 100.0
    wall = fea.Laminate(PLY, angles, 1 / len(angles))
    plate = wide_plate(wall, span, 24).solution
    shear = interlaminar_shear(plate.system.recovery([plate]), "skin")
    x = plate.system.structure.mesh.points[plate.system.structure.mesh.cells["triangle"]][..., 0]
    inside = (x > 5.0) & (x < 30.0)
    force = span / np.pi * np.cos(np.pi * x / span)
    bent = np.array([0, 0, 0, 1.0, 0, 0])
    bent[4] = bending_across(wall)
    unit = wall.interlaminar_shear(bent, np.zeros(6), shear.heights)[:, 0]
    ratio = shear.stress[0, inside][..., 0] / (force[inside][:, None] * unit)
    np.testing.assert_allclose(ratio.mean(axis=0), 1.0, atol=0.01)
    np.testing.assert_allclose(ratio, 1.0, atol=0.06)


def bending_across(wall):
    """M22 beside M11 = 1 in a plate that neither curves nor stretches across, N = 0."""
    a, b, d = wall.abd[:3, :3], wall.abd[:3, 3:], wall.abd[3:, 3:]
    strain = -b[0, 0] / a[0, 0]  # ε11 per κ11 under N11 = 0, with ε22 = 0
    return (b[1, 0] * strain + d[1, 0]) / (b[0, 0] * strain + d[0, 0])


@pytest.mark.parametrize("radius", [20.0, 60.0])
def test_a_curved_wall_has_free_faces_and_the_parabola(radius):
    """A quarter ring, clamped, with a force across its end along the radius there.

    The shear force is the cosine of the angle from the loaded end. Thick curved bars bend and shear
    a little otherwise, by t / R and less.
    """
    turn = np.pi / 2

    def ring(u, v):
        return radius * np.sin(turn * u), 20.0 * v, radius * (1.0 - np.cos(turn * u))

    mesh = grid(32, 8, ring)
    section = fea.ShellSection(BLOCK, direction=(1, 0, 1))
    load = fea.EdgeForce("u1", (FORCE, 0, 0))  # the ring's normal there is -x
    solution = solve_one(mesh, {"skin": section}, [CLAMP], [load])
    shear = interlaminar_shear(solution.system.recovery([solution]), "skin")
    x, y, z = mesh.points[mesh.cells["triangle"]].mean(axis=1).T
    from_end = turn - np.arctan2(x, radius - z)
    inside = (from_end > 0.3) & (from_end < 1.1) & (np.abs(y - 10.0) < 5.0)
    middle = np.abs(shear.stress[0, inside, :, 3, 0]).mean(axis=1)
    expected = 1.5 * FORCE * np.cos(from_end[inside]) / 4.0
    np.testing.assert_allclose(middle / expected, 1.0, atol=0.05)
    both = np.abs(shear.stress[0, inside][..., 0]).mean((0, 1))
    np.testing.assert_allclose(both / both[3], 1.0 - (shear.heights / 2.0) ** 2, atol=0.02)


def test_a_wall_of_one_piece_has_no_plies():
    mesh = grid(2, 2, flat(LENGTH, WIDTH))
    solution = solve_one(mesh, {"skin": fea.ShellSection(STEEL, 2.0)}, [CLAMP],
                         [fea.EdgeForce("u1", (0, 0, -1.0))])  # fmt: skip
    with pytest.raises(ModelError, match="no plies"):
        interlaminar_shear(solution.system.recovery([solution]), "skin")

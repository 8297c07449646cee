# SPDX-License-Identifier: MIT
"""Shear between plies at a free edge: the short sides of a twisted narrow rectangle.

Elasticity (Timoshenko, Goodier, Theory of Elasticity, 1970, section 109): at the middle of a short
side of a narrow rectangle 0.742 of the shear stress on the faces. Shear moduli that differ scale
the width by their root, and the stress with it.
"""

import numpy as np
import pytest
from scipy.sparse import diags
from scipy.sparse.linalg import spsolve
from small_models import STEEL, flat, grid, solve_one

import fea
from fea.errors import ModelError
from fea.solver.edgeshear import BELOW, beside_an_edge, edge_shear, per_twisting_moment

LENGTH, WIDTH, WALL, TORQUE = 80.0, 20.0, 4.0, 100.0
CLAMP = fea.Support("u0", "ux uy uz rx ry rz")
ONE = fea.Laminate(fea.Isotropic(1000.0, 0.3), [0.0] * 4, 1.0)
SOFT = fea.Laminate(fea.Ply(60e3, 60e3, 0.05, 2700.0, g13=1500.0, g23=1500.0), [0.0] * 4, 1.0)


def twisted(wall, cells, offset=0.0):
    mesh = grid(4 * cells, cells, flat(LENGTH, WIDTH))
    section = fea.ShellSection(wall, offset=offset, direction=(1, 0, 0))
    couple = [fea.PointForce("u1v1", (0, 0, TORQUE / WIDTH)),
              fea.PointForce("u1v0", (0, 0, -TORQUE / WIDTH))]
    solution = solve_one(mesh, {"skin": section}, [CLAMP], couple)
    return mesh, solution.system.recovery([solution])


@pytest.mark.parametrize("cells", [4, 8, 16])
@pytest.mark.parametrize(("wall", "softer"), [(ONE, 1.0), (SOFT, np.sqrt(1500 / 2700))])
def test_the_edge_of_a_twisted_strip(wall, softer, cells):
    """Cells from 1.25 wall thicknesses down to a third of one say the same."""
    mesh, recovered = twisted(wall, cells)
    edge = edge_shear(recovered, "skin")
    middle = np.abs(mesh.points[edge.nodes, 0] - LENGTH / 2) < 10.0
    faces = 3.0 * TORQUE / (WIDTH * WALL**2) / (1.0 - 0.63 * WALL / WIDTH / softer)
    stress, error = edge.stress[0, middle], edge.error[0, middle]
    np.testing.assert_allclose(stress / (0.742 * softer * faces), 1.0, atol=0.19)
    assert (stress + error >= 0.742 * softer * faces * 0.99).all()
    assert error.max() < 0.45 * stress.max()


def test_the_offset_of_a_wall_changes_nothing():
    at, moved = (edge_shear(twisted(ONE, 8, offset)[1], "skin") for offset in (0.0, 2.0))
    np.testing.assert_allclose(moved.stress, at.stress, rtol=0.05, atol=0.01)


def twisted_layers(moduli, through, width=6.0, cells=4):
    """Largest shear stress at a short side per twisting moment, of layers of unit thickness in all.

    Prandtl's stress function by finite differences: (φ,z / G12),z + (φ,y / G13),y = -2 θ, zero all
    round; the shear stress through the wall is its slope across the short side.
    """
    g12 = np.repeat(np.asarray(moduli, dtype=float), cells)
    high, wide = len(g12), round(width * len(g12))
    h = 1.0 / high
    inner = high - 1
    up = np.tile(1.0 / g12[:-1] + 1.0 / g12[1:] + 2.0 / through, wide - 1)
    next_up = np.tile(np.append(-1.0 / g12[1:-1], 0.0), wide - 1)[:-1]
    beside = np.full((wide - 2) * inner, -1.0 / through)
    matrix = diags([up, next_up, next_up, beside, beside], [0, 1, -1, inner, -inner], format="csc")
    phi = spsolve(matrix, np.full(len(up), 2.0 * h * h)).reshape(wide - 1, inner)
    slope = (4.0 * phi[0] - phi[1]) / (2.0 * h)
    faces = np.linspace(-0.5, 0.5, len(moduli) + 1)
    twisting = np.sum(np.asarray(moduli) * np.diff(faces**3) / 3.0)
    return np.abs(slope).max() / (2.0 * twisting)


@pytest.mark.parametrize(
    "moduli",
    [[2700] * 10, [2700, 29000] * 2 + [2700] * 2 + [29000, 2700] * 2,
     [29000] * 3 + [2700] * 4 + [29000] * 3, [2700] * 4 + [29000] * 2 + [2700] * 4,
     [29000] + [2700] * 8 + [29000]],
)  # fmt: skip
def test_layers_of_different_stiffness_in_shear(moduli):
    """No more than `BELOW` under the stress function, and no more than 20 % above it."""
    plies = [fea.Ply(60e3, 60e3, 0.03, one, g13=2700.0, g23=2700.0) for one in moduli]
    ours, _ = per_twisting_moment(fea.Laminate(plies, [0.0] * len(plies), 1 / len(plies)), 0)
    assert 1.0 - BELOW < ours / twisted_layers(moduli, 2700.0) < 1.20


def test_corners_within_one_wall_thickness_of_the_edge():
    mesh, recovered = twisted(ONE, 8)
    y, x = (mesh.points[mesh.cells["triangle"]][..., k] for k in (1, 0))
    away = np.minimum.reduce([x, LENGTH - x, y, WIDTH - y])
    np.testing.assert_array_equal(beside_an_edge(recovered, "skin"), away < WALL - 1e-9)


def test_corners_within_one_wall_thickness_of_where_plies_end():
    mesh = grid(16, 8, flat(LENGTH, WIDTH))
    x = mesh.points[mesh.cells["triangle"]][..., 0]
    left = x.mean(axis=1) < 40.0
    zones = {name: ("triangle", np.flatnonzero(half)) for name, half in
             (("left", left), ("right", ~left))}
    mesh = fea.Mesh(mesh.points, dict(mesh.cells), dict(mesh.places), zones)
    thin = fea.Laminate(fea.Isotropic(1000.0, 0.3), [0.0] * 3, 1.0)
    solution = solve_one(mesh, {"left": fea.ShellSection(ONE, direction=(1, 0, 0)),
                                "right": fea.ShellSection(thin, direction=(1, 0, 0))},
                         [CLAMP], [fea.EdgeForce("u1", (0, 0, -1.0))])  # fmt: skip
    recovered = solution.system.recovery([solution])
    inner = np.abs(mesh.points[mesh.zone_cells("right")][..., 1] - WIDTH / 2) < 6.0
    near = mesh.points[mesh.zone_cells("right")][..., 0] < 43.0 - 1e-9
    beside = beside_an_edge(recovered, "right")
    away = mesh.points[mesh.zone_cells("right")][..., 0] < 77.0
    np.testing.assert_array_equal(beside[inner & away], near[inner & away])


def test_a_closed_wall_has_no_edge_and_one_material_no_plies():
    round_tube = grid(24, 6, lambda u, v: (20 * np.cos(2 * np.pi * u), 20 * np.sin(2 * np.pi * u),
                                           40 * v))
    plain = solve_one(round_tube, {"skin": fea.ShellSection(STEEL, 2.0)},
                      [fea.Support("v0", "ux uy uz rx ry rz")],
                      [fea.EdgeForce("v1", (0, 0, -1.0))])  # fmt: skip
    with pytest.raises(ModelError, match="no plies"):
        edge_shear(plain.system.recovery([plain]), "skin")


def test_a_zone_one_cell_wide_is_said_to_be_unread():
    mesh, recovered = twisted(ONE, 1)
    edge = edge_shear(recovered, "skin")
    assert edge.stress.shape == (1, 0) and np.isfinite(edge.error).all()
    np.testing.assert_array_equal(np.sort(edge.unread), np.arange(len(mesh.points)))
    assert len(edge_shear(twisted(ONE, 4)[1], "skin").unread) == 0

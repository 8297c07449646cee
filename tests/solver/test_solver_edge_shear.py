# SPDX-License-Identifier: MIT
"""Shear between plies at a free edge: the short sides of a twisted narrow rectangle.

Elasticity (Timoshenko, Goodier, Theory of Elasticity, 1970, section 109): at the middle of a short
side of a narrow rectangle 0.742 of the shear stress on the faces. Shear moduli that differ scale
the width by their root, and the stress with it.
"""

import numpy as np
import pytest
from small_models import STEEL, flat, grid, solve_one

import fea
from fea.errors import ModelError
from fea.solver.edgeshear import edge_shear, within_the_edge

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


def test_layers_that_twist_stiffly_outside_shear_the_edge_more():
    ply = fea.Ply(60e3, 60e3, 0.05, 2700.0)
    stress = {}
    for angles in ((0, 0, 0, 0), (45, 0, 0, 45)):
        mesh, recovered = twisted(fea.Laminate(ply, angles, 1.0), 8)
        edge = edge_shear(recovered, "skin")
        middle = np.abs(mesh.points[edge.nodes, 0] - LENGTH / 2) < 10.0
        stress[angles[0]] = edge.stress[0, middle].mean()
    # by hand, two faces at distance 3 mm carry the twist: Q = M √(S / D66) is less, as D66 grows
    assert stress[45] < stress[0]


def test_corners_within_one_wall_thickness_of_the_edge():
    mesh, recovered = twisted(ONE, 8)
    y, x = (mesh.points[mesh.cells["triangle"]][..., k] for k in (1, 0))
    away = np.minimum.reduce([x, LENGTH - x, y, WIDTH - y])
    np.testing.assert_array_equal(within_the_edge(recovered, "skin"), away < WALL - 1e-9)


def test_a_closed_wall_has_no_edge_and_one_material_no_plies():
    round_tube = grid(24, 6, lambda u, v: (20 * np.cos(2 * np.pi * u), 20 * np.sin(2 * np.pi * u),
                                           40 * v))
    plain = solve_one(round_tube, {"skin": fea.ShellSection(STEEL, 2.0)},
                      [fea.Support("v0", "ux uy uz rx ry rz")],
                      [fea.EdgeForce("v1", (0, 0, -1.0))])  # fmt: skip
    with pytest.raises(ModelError, match="no plies"):
        edge_shear(plain.system.recovery([plain]), "skin")

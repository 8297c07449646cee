# SPDX-License-Identifier: MIT
"""Twisted narrow rectangle: Timoshenko S P, Goodier J N, Theory of Elasticity, 1970, section 109.

Strip of 80 × 20 × 4 of four like layers, clamped at one end, twisted by a couple of 100 at the
other. Shear stress at the middle of a short side: 0.742 of that on the long sides, which is
3 T / (b t²) / (1 - 0.63 t / b). Ours comes from the twisting moment beside the edge.
"""

import numpy as np
import pytest
from small_models import flat, grid, solve_one

import fea
from fea.solver.edgeshear import edge_shear

pytestmark = pytest.mark.source("Timoshenko, Goodier 1970")

B, T, TORQUE = 20.0, 4.0, 100.0
PUBLISHED = 0.742 * 3.0 * TORQUE / (B * T**2) / (1.0 - 0.63 * T / B)


@pytest.mark.parametrize("across", [4, 8])
def test_shear_at_the_short_side(across):
    mesh = grid(4 * across, across, flat(80.0, B))
    wall = fea.Laminate(fea.Isotropic(1000.0, 0.3), [0.0] * 4, 0.25 * T)
    couple = [fea.PointForce("u1v1", (0, 0, TORQUE / B)),
              fea.PointForce("u1v0", (0, 0, -TORQUE / B))]  # fmt: skip
    solution = solve_one(mesh, {"skin": fea.ShellSection(wall, direction=(1, 0, 0))},
                         [fea.Support("u0", "ux uy uz rx ry rz")], couple)  # fmt: skip
    edge = edge_shear(solution.system.recovery([solution]), "skin")
    middle = np.abs(mesh.points[edge.nodes, 0] - 40.0) < 10.0
    assert edge.stress[0, middle].mean() == pytest.approx(PUBLISHED, rel=0.07)

# SPDX-License-Identifier: MIT
"""A round hole in a sheet under tension: Kirsch E G, Z Ver Dtsch Ing 1898;42:797-807.

Plane-stress solution as in Timoshenko S P, Goodier J N, Theory of Elasticity, 3rd ed., 1970, § 35:
3 S at the hole beside the axis of tension, −S on it. Modelled is a quarter of the ring from the
hole's radius a to 4 a; the outer rim follows the exact displacement, so the ring stands for the
unlimited sheet. Cells grow with the radius, as it were squares. Stress at the hole is fitted to
the cells nearest to the point.
"""

import numpy as np
import pytest
from jitter import BOTH
from readings import held_at, order, value_at
from small_models import grid, solve_skin

import fea

E, NU, A, RATIO, TENSION = 70e3, 0.3, 5.0, 4.0, 10.0
SHEET = fea.Isotropic(youngs_modulus=E, poisson_ratio=NU)


def exact_displacement(r, angle):
    """Radial and circumferential displacement under tension along x."""
    k, g, c = (3 - NU) / (1 + NU), E / (2 * (1 + NU)), np.cos(2 * angle)
    scale = TENSION * A / (8 * g)
    radial = r / A * (k - 1 + 2 * c) + 2 * A / r * (1 + (k + 1) * c - (A / r) ** 2 * c)
    around = -2 * np.sin(2 * angle) * (r / A + (k - 1) * A / r + (A / r) ** 3)
    return scale * radial, scale * around


def exact_motion(points):
    """Displacement (n, 2) along x and y."""
    x, y, _ = points.T
    r, angle = np.hypot(x, y), np.arctan2(y, x)
    radial, around = exact_displacement(r, angle)
    return np.stack([radial * x - around * y, radial * y + around * x], axis=1) / r[:, None]


def ring(n, mesh):
    """2n cells around the quarter, n cells across: the solution."""

    def surface(u, v):
        r, angle = A * RATIO**u, np.pi / 2 * v
        return r * np.cos(angle), r * np.sin(angle), 0 * u

    sheet = grid(n, 2 * n, surface, **mesh)
    motion = exact_motion(sheet.points[sheet.place("u1")])
    rim, supports = held_at(sheet, "u1", {"ux": motion[:, 0], "uy": motion[:, 1]})
    plane = rim.with_places({**rim.places, "all": rim.zone_nodes("skin")})
    supports += [
        fea.Support("all", "uz rx ry"),
        fea.Support("v0", "uy rz"),
        fea.Support("v1", "ux rz"),
    ]
    return solve_skin(plane, SHEET, 1.0, supports, [])


@pytest.mark.parametrize("mesh", BOTH)
@pytest.mark.parametrize(("point", "factor"), [("across", 3.0), ("along", -1.0)])
def test_stress_at_the_hole(mesh, point, factor):
    """48 cells around the quarter, 24 across."""
    solution = ring(24, BOTH[mesh])
    stress = solution.stress("skin", "middle")
    if point == "across":
        found = value_at(solution, stress[:, 0], (0, A, 0))
    else:
        found = value_at(solution, stress[:, 1], (A, 0, 0))
    assert found / TENSION == pytest.approx(factor, rel=0.005)


@pytest.mark.parametrize("mesh", BOTH)
def test_displacement_converges_with_order_two(mesh):
    """Root mean square over the nodes, over three halvings."""
    errors = []
    for n in (8, 16, 32, 64):
        solution = ring(n, BOTH[mesh])
        exact = exact_motion(solution.system.structure.mesh.points)
        errors.append(np.sqrt(np.mean((solution.displacement[:, :2] - exact) ** 2)))
    assert order(errors) == pytest.approx(2.0, abs=0.05 if mesh == "structured" else 0.2)

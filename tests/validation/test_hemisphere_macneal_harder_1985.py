# SPDX-License-Identifier: MIT
"""Hemisphere with a hole of 18 degrees: MacNeal R H, Harder R L, Finite Elem Anal Des 1985;1:3-20.

R = 10, t = 0.04, E = 6.825e7, ν = 0.3, forces of 2 outward and inward in turn at the free equator,
1 on each plane of symmetry of the quarter. Published 0.0940; Simo J C, Fox D D, Rifai M S, Comput
Methods Appl Mech Eng 1989;73:53-92 give 0.093, and finer meshes end between the two. The element's
higher-order factor was found on the mesh with rising diagonals: the others are independent.
"""

import numpy as np
import pytest
from comparison import missed
from jitter import BOTH
from small_models import at, grid, solve_skin

import fea

MESHES = {**BOTH, "rising": {"diagonal": "rising"}, "falling": {"diagonal": "falling"}}


def hemisphere(n, mesh, wall=0.04):
    """Displacement under the load of a quarter of n x n cells."""
    top = np.radians(72.0)

    def surface(u, v):
        ring = 10 * np.cos(top * v)
        return ring * np.cos(np.pi / 2 * u), ring * np.sin(np.pi / 2 * u), 10 * np.sin(top * v)

    supports = [
        fea.Support("u0", "uy rx rz"),
        fea.Support("u1", "ux ry rz"),
        fea.Support("u0v0", "uz"),
    ]
    loads = [fea.PointForce("u0v0", (1, 0, 0)), fea.PointForce("u1v0", (0, -1, 0))]
    material = fea.Isotropic(youngs_modulus=6.825e7, poisson_ratio=0.3)
    return at(solve_skin(grid(n, n, surface, **mesh), material, wall, supports, loads), "u0v0")[0]


@pytest.mark.parametrize("mesh", ["structured", "rising", "falling"])
def test_hemisphere_of_16_x_16_cells(mesh):
    assert hemisphere(16, MESHES[mesh]) == pytest.approx(0.0940, rel=0.013)


def test_jittered_hemisphere_of_16_x_16_cells():
    because = "h²/(R t) = 2: irregular facets resist bending without stretching"
    assert hemisphere(16, BOTH["jittered"]) == missed(0.0940, known=0.0900, because=because)


@pytest.mark.parametrize("mesh", MESHES)
def test_hemisphere_of_32_x_32_cells(mesh):
    assert hemisphere(32, MESHES[mesh]) == pytest.approx(0.0940, rel=0.018)


@pytest.mark.slow
@pytest.mark.parametrize("mesh", MESHES)
def test_hemisphere_of_64_x_64_cells(mesh):
    assert hemisphere(64, MESHES[mesh]) == pytest.approx(0.0940, rel=0.008)


@pytest.mark.source("inextensional bending, t⁻³")
def test_ten_times_thinner_hemisphere_moves_a_thousand_times_further():
    mesh = MESHES["rising"]
    ratio = hemisphere(32, mesh, wall=0.004) / hemisphere(32, mesh)
    assert ratio == pytest.approx(1000.0, rel=0.03)

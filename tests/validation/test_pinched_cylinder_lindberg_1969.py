# SPDX-License-Identifier: MIT
"""Pinched cylinder on end diaphragms: Lindberg G M, Olson M D, Cowper G R, Natl Res Counc Canada Q
Bull 1969 (Flügge's series): 1.8248e-5 under unit forces.

R = 300, L = 600, t = 3, E = 3e6, ν = 0.3. The target is that of thin shells. A point force on a
wall that is flexible in shear sinks in without bound, by ln(1/h): the target is passed where the
mesh is fine, and the comparison is no measure of error beyond that.
"""

import numpy as np
import pytest
from comparison import missed
from jitter import BOTH
from small_models import at, grid, solve_skin

import fea

MESHES = {**BOTH, "rising": {"diagonal": "rising"}, "falling": {"diagonal": "falling"}}


def cylinder(n, mesh):
    """Deflection under the force of an octant of n x n cells."""

    def surface(u, v):
        angle = np.pi / 2 * u
        return 300 * np.sin(angle), 300 * v, 300 * np.cos(angle)

    supports = [
        fea.Support("u0", "ux ry rz"),
        fea.Support("u1", "uz rx ry"),
        fea.Support("v0", "uy rx rz"),
        fea.Support("v1", "ux uz"),
    ]
    material = fea.Isotropic(youngs_modulus=3e6, poisson_ratio=0.3)
    octant = grid(n, n, surface, **mesh)
    load = fea.PointForce("u0v0", (0, 0, -0.25))
    return -at(solve_skin(octant, material, 3.0, supports, [load]), "u0v0")[2]


@pytest.mark.parametrize("mesh", MESHES)
def test_cylinder_of_16_x_16_cells(mesh):
    assert cylinder(16, MESHES[mesh]) == pytest.approx(1.8248e-5, rel=0.025)


@pytest.mark.parametrize("mesh", MESHES)
def test_cylinder_of_32_x_32_cells(mesh):
    assert cylinder(32, MESHES[mesh]) == pytest.approx(1.8248e-5, rel=0.02)


@pytest.mark.parametrize(("mesh", "known"), [("structured", 0.9403), ("rising", 0.9140)])
def test_cylinder_of_8_x_8_cells(mesh, known):
    because = "the dent under the force is as wide as a cell"
    found = cylinder(8, MESHES[mesh])
    assert found == missed(1.8248e-5, known=known * 1.8248e-5, because=because)

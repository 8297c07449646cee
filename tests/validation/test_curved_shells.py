# SPDX-License-Identifier: MIT
"""Curved shells with published displacements.

Scordelis A C, Lo K S, ACI J 1964;61:539-561; hemisphere with an 18 degree hole: MacNeal R H,
Harder R L, Finite Elem Anal Des 1985;1:3-20; pinched cylinder: Lindberg G M, Olson M D, Cowper G R,
Natl Res Counc Canada Q Bull 1969 (Flügge's series). Each on three patterns of diagonals and on a
jittered mesh. The higher-order factor of the element was fixed on the hemisphere and the twisted
strip, so the roof and the cylinder are the independent ones.
"""

import numpy as np
import pytest
from small_models import at, grid, solve_skin

import fea

PATTERNS = {
    "rising": {"diagonal": "rising"},
    "falling": {"diagonal": "falling"},
    "alternate": {"diagonal": "alternate"},
    "jittered": {"diagonal": "random", "jitter": 0.3},
}


def roof(n, **mesh):
    """Free edge at midspan over the published 0.3024 (deep shell theory converges to 0.3006)."""
    half = np.radians(40.0)
    quarter = grid(
        n, n, lambda u, v: (25 * np.sin(half * u), 25 * v, 25 * np.cos(half * u)), **mesh
    )
    supports = [
        fea.Support("u0", "ux ry rz"),
        fea.Support("v0", "uy rx rz"),
        fea.Support("v1", "ux uz"),
    ]
    material = fea.Isotropic(youngs_modulus=4.32e8, poisson_ratio=0.0)
    weight = fea.SurfaceForce("skin", (0.0, 0.0, -90.0))
    solution = solve_skin(quarter, material, 0.25, supports, [weight])
    return at(solution, "u1v0")[2] / -0.3024


def hemisphere(n, wall=0.04, **mesh):
    """Radial displacement under a unit load of the quarter over 0.0940."""
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
    solution = solve_skin(grid(n, n, surface, **mesh), material, wall, supports, loads)
    return at(solution, "u0v0")[0] / 0.0940


def cylinder(n, **mesh):
    """Deflection under the load over the published 1.8248e-5 of thin-shell theory."""
    octant = grid(
        n,
        n,
        lambda u, v: (300 * np.sin(np.pi / 2 * u), 300 * v, 300 * np.cos(np.pi / 2 * u)),
        **mesh,
    )
    supports = [
        fea.Support("u0", "ux ry rz"),
        fea.Support("u1", "uz rx ry"),
        fea.Support("v0", "uy rx rz"),
        fea.Support("v1", "ux uz"),
    ]
    material = fea.Isotropic(youngs_modulus=3e6, poisson_ratio=0.3)
    load = fea.PointForce("u0v0", (0, 0, -0.25))
    return at(solve_skin(octant, material, 3.0, supports, [load]), "u0v0")[2] / -1.8248e-5


@pytest.mark.parametrize("pattern", PATTERNS)
def test_scordelis_lo_roof(pattern):
    assert roof(8, **PATTERNS[pattern]) == pytest.approx(1.0, abs=0.02)
    assert roof(32, **PATTERNS[pattern]) == pytest.approx(0.3006 / 0.3024, abs=0.0035)


@pytest.mark.parametrize("pattern", PATTERNS)
def test_hemisphere_with_a_hole(pattern):
    """Converges to 0.990 (0.0930, as other accurate elements: the 0.0940 is rounded up)."""
    coarse, medium, fine = (hemisphere(n, **PATTERNS[pattern]) for n in (8, 16, 32))
    assert coarse == pytest.approx(0.962, abs=0.13 if pattern == "jittered" else 0.02)
    assert medium == pytest.approx(0.988, abs=0.04 if pattern == "jittered" else 0.005)
    assert fine == pytest.approx(0.990, abs=0.006)


@pytest.mark.parametrize("pattern", PATTERNS)
def test_pinched_cylinder(pattern):
    """A point load on a wall that is flexible in shear sinks in without bound, by ln(1/h): the
    thin-shell target is passed by 1 to 2 % where the mesh is fine."""
    assert 0.90 < cylinder(8, **PATTERNS[pattern]) < 1.03
    assert cylinder(32, **PATTERNS[pattern]) == pytest.approx(1.012, abs=0.012)


def test_ten_times_thinner_hemisphere_moves_a_thousand_times_further():
    """Inextensional bending: displacement goes with t⁻³, and nothing locks on 32 x 32 cells."""
    ratio = hemisphere(32, wall=0.004, diagonal="rising") / hemisphere(32, diagonal="rising")
    assert ratio == pytest.approx(1000.0, rel=0.06)

# SPDX-License-Identifier: MIT
"""Shells at large rotations: Sze K Y, Liu X H, Lo S H, Finite Elem Anal Des 2004;40:1551-1569.

Their tables come from meshes of quadrilaterals. The pinched half cylinder's values were read as a
table that quotes them; those of the cantilever, the annulus and the hemisphere are from memory
(confidence medium). The cantilever is held against Euler's elastica beside them, and the rolled
strip against the circle, both of which are exact for an inextensible strip.
"""

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.special import ellipeinc, ellipkinc
from small_models import ALL, at, flat, grid

import fea
from fea.solver.corotational import Problem


def along(mesh, material, wall, supports, loads, shares):
    """Solutions at ascending shares of the loads."""
    model = fea.Model(mesh, {"skin": fea.ShellSection(material, wall)}, supports, {"a": loads})
    return list(Problem(fea.prepare(model)).path("a", model.cases["a"], shares))


def strip(length, cells, loads, shares):
    material = fea.Isotropic(youngs_modulus=1.2e6, poisson_ratio=0.0)
    mesh = grid(cells, 1 if length > 10 else 2, flat(length, 1.0))
    return along(mesh, material, 0.1, [fea.Support("u0", ALL)], loads, shares)


def elastica(load):
    """Tip of a cantilever of length 1 and E I = 1 under a dead end force across it: u, w."""

    def modulus(k):
        start = np.arcsin(1.0 / (k * np.sqrt(2.0)))
        return ellipkinc(np.pi / 2, k * k) - ellipkinc(start, k * k) - np.sqrt(load)

    k = brentq(modulus, np.sqrt(0.5) + 1e-9, 1.0 - 1e-9)
    start = np.arcsin(1.0 / (k * np.sqrt(2.0)))
    root = np.sqrt(load)
    w = 1.0 - 2.0 / root * (ellipeinc(np.pi / 2, k * k) - ellipeinc(start, k * k))
    u = 1.0 - np.sqrt(2.0) / root * np.sqrt(2.0 * k * k - 1.0)
    return u, w


@pytest.mark.source("3.1")
def test_cantilever_under_end_shear():
    found = strip(10.0, 16, [fea.EdgeForce("u1", (0.0, 0.0, 4.0))], [0.5, 1.0])
    tip = at(found[-1], "u1")
    assert -tip[0] == pytest.approx(3.286, rel=0.003)
    assert tip[2] == pytest.approx(6.698, rel=0.003)


def test_cantilever_beside_the_elastica():
    """E I = 100, length 10: a load of 4 is 4 in the elastica's measure, one of 2 is 2."""
    found = strip(10.0, 16, [fea.EdgeForce("u1", (0.0, 0.0, 4.0))], [0.5, 1.0])
    for solution, load in zip(found, (2.0, 4.0), strict=True):
        u, w = elastica(load)
        tip = at(solution, "u1")
        assert -tip[0] / 10.0 == pytest.approx(u, rel=0.003)
        assert tip[2] / 10.0 == pytest.approx(w, rel=0.003)


@pytest.mark.source("3.2")
def test_strip_rolled_into_a_circle():
    moment = 2.0 * np.pi * 1.2e6 * 0.1**3 / 12.0 / 12.0
    load = fea.PointForce("u1", (0.0, 0.0, 0.0), (0.0, -moment, 0.0))
    shares = np.array([0.25, 0.5, 0.75, 1.0])
    for share, solution in zip(shares, strip(12.0, 16, [load], shares), strict=True):
        angle = 2.0 * np.pi * share
        tip = at(solution, "u1") / 12.0
        assert 1.0 + tip[0] == pytest.approx(np.sin(angle) / angle, abs=0.002)
        assert tip[2] == pytest.approx((1.0 - np.cos(angle)) / angle, abs=0.002)


@pytest.mark.slow
@pytest.mark.source("3.3")
def test_slit_annulus_lifted_at_one_lip():
    def surface(u, v):
        radius, angle = 6.0 + 4.0 * v, 2.0 * np.pi * u
        return radius * np.sin(angle), -radius * np.cos(angle), 0.0 * u

    material = fea.Isotropic(youngs_modulus=21e6, poisson_ratio=0.0)
    load = [fea.EdgeForce("u1", (0.0, 0.0, 0.8))]
    found = along(grid(40, 8, surface), material, 0.03, [fea.Support("u0", ALL)], load, [0.5, 1.0])
    assert at(found[-1], "u1v0")[2] == pytest.approx(13.891, rel=0.02)
    assert at(found[-1], "u1v1")[2] == pytest.approx(17.528, rel=0.02)


@pytest.mark.slow
@pytest.mark.source("3.4")
def test_hemisphere_with_a_hole():
    """Forces of 400 outward and inward in turn, 200 on each plane of symmetry of the quarter."""
    top = np.radians(72.0)

    def surface(u, v):
        ring = 10 * np.cos(top * v)
        return ring * np.cos(np.pi / 2 * u), ring * np.sin(np.pi / 2 * u), 10 * np.sin(top * v)

    supports = [
        fea.Support("u0", "uy rx rz"),
        fea.Support("u1", "ux ry rz"),
        fea.Support("u0v0", "uz"),
    ]
    loads = [fea.PointForce("u0v0", (200, 0, 0)), fea.PointForce("u1v0", (0, -200, 0))]
    material = fea.Isotropic(youngs_modulus=6.825e7, poisson_ratio=0.3)
    found = along(grid(24, 24, surface), material, 0.04, supports, loads, [0.25, 0.5, 1.0])
    assert at(found[-1], "u0v0")[0] == pytest.approx(4.067, rel=0.02)
    assert -at(found[-1], "u1v0")[1] == pytest.approx(8.178, rel=0.025)


@pytest.mark.slow
@pytest.mark.source("3.6")
def test_half_cylinder_pinched_at_its_free_end():
    """Clamped round one end, its straight sides kept down and level; half of it by symmetry."""

    def surface(u, v):
        angle = np.pi / 2 * u
        return 101.6 * np.sin(angle), 304.8 * v, 101.6 * np.cos(angle)

    mesh = grid(16, 16, surface)
    clamped = mesh.place("v0")
    mesh = mesh.with_places(
        {
            "top": np.setdiff1d(mesh.place("u0"), clamped),
            "side": np.setdiff1d(mesh.place("u1"), clamped),
        }
    )
    supports = [
        fea.Support("v0", ALL), fea.Support("top", "ux ry rz"), fea.Support("side", "uz ry"),
    ]  # fmt: skip
    material = fea.Isotropic(youngs_modulus=2068.5, poisson_ratio=0.3)
    load = [fea.PointForce("u0v1", (0.0, 0.0, -1000.0))]
    found = along(mesh, material, 3.0, supports, load, [0.1, 0.2, 0.3, 0.5, 1.0])
    published = [16.1, 37.582, 66.410, 132.653, 171.505]
    for solution, value in zip(found, published, strict=True):
        assert -at(solution, "u0v1")[2] == pytest.approx(value, rel=0.05 if value < 20 else 0.012)

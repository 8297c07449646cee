# SPDX-License-Identifier: MIT
"""Patch test: MacNeal R H, Harder R L, Finite Elem Anal Des 1985;1:3-20, and a laminate on it.

Plate 0.24 x 0.12, t = 0.001, E = 1e6, ν = 0.25, inner nodes (0.04, 0.02) (0.18, 0.03) (0.16, 0.08)
(0.08, 0.08); the border follows a linear displacement or a quadratic deflection. Published stress:
membrane 1333, 1333, 400; bending moments 1.111e-7, 1.111e-7, 3.333e-8 (surface 0.667, 0.667,
0.200). The exact values are 4000/3, 400 and E t³/(12 (1 − ν²)) times the curvature.
"""

import numpy as np
import pytest
from jitter import BOTH
from readings import held_at
from small_models import flat, grid, random_rotation, sheet, solve_one, turned

import fea

OUTER = [(0, 0), (0.24, 0), (0.24, 0.12), (0, 0.12)]
INNER = [(0.04, 0.02), (0.18, 0.03), (0.16, 0.08), (0.08, 0.08)]
QUADS = [(0, 1, 5, 4), (1, 2, 6, 5), (2, 3, 7, 6), (3, 0, 4, 7), (4, 5, 6, 7)]
TRIANGLES = [t for a, b, c, d in QUADS for t in ((a, b, c), (a, c, d))]
NAMES = ("ux", "uy", "uz", "rx", "ry", "rz")
ISOTROPIC = fea.ShellSection(
    fea.Isotropic(youngs_modulus=1e6, poisson_ratio=0.25), thickness=0.001, direction=(1, 0, 0)
)
PLY = fea.Ply(e1=181e3, e2=10.3e3, nu12=0.28, g12=7.17e3, g13=7e3, g23=4e3)
LAMINATE = fea.ShellSection(
    fea.Laminate(PLY, [0.0, 30.0, -45.0], 0.0005), offset=0.0003, direction=(1, 0, 0)
)


def exact(strain, curvature, xy):
    """Motion (n, 6) of the plane nodes under constant strain ε11 ε22 γ12 and curvature."""
    (x, y), (exx, eyy, gxy), (kxx, kyy, kxy) = xy.T, strain, curvature
    w = -0.5 * (kxx * x**2 + kyy * y**2 + kxy * x * y)
    slope_x, slope_y = -(kxx * x + 0.5 * kxy * y), -(kyy * y + 0.5 * kxy * x)
    u, v = exx * x + 0.5 * gxy * y, eyy * y + 0.5 * gxy * x
    return np.stack([u, v, w, slope_y, -slope_x, 0 * x], axis=1)


def solve_patch(section, strain, curvature, rotation=None):
    rotation = np.eye(3) if rotation is None else rotation
    xy = np.array(OUTER + INNER)
    motion = exact(np.asarray(strain), np.asarray(curvature), xy)
    turned_motion = np.concatenate([motion[:, :3] @ rotation.T, motion[:, 3:] @ rotation.T], axis=1)
    places = {f"corner {i}": [i] for i in range(4)}
    mesh = turned(sheet(np.column_stack([xy, 0 * xy[:, 0]]), TRIANGLES, places), rotation)
    supports = [
        fea.Support(f"corner {i}", name, float(turned_motion[i, k]))
        for i in range(4)
        for k, name in enumerate(NAMES)
    ]
    section = fea.ShellSection(
        section.material, section.thickness, section.offset, tuple(rotation[:, 0])
    )
    return solve_one(mesh, {"skin": section}, supports, []), turned_motion


def test_membrane_patch():
    solution, exact_motion = solve_patch(ISOTROPIC, (1e-3, 1e-3, 1e-3), (0, 0, 0))
    expected = np.broadcast_to([4000 / 3, 4000 / 3, 400.0], (10, 3))
    for at in ("top", "middle", "bottom"):
        np.testing.assert_allclose(solution.stress("skin", at), expected, rtol=1e-9)
    np.testing.assert_allclose(solution.displacement, exact_motion, rtol=0, atol=1e-13)
    mean = solution.stress("skin", "top").mean(axis=0)
    assert mean[0] == pytest.approx(1333, rel=3e-4)
    assert mean[2] == pytest.approx(400, rel=1e-9)


def test_bending_patch():
    solution, exact_motion = solve_patch(ISOTROPIC, (0, 0, 0), (-1e-3, -1e-3, -1e-3))
    moment = 1e6 * 0.001**3 / 12 / (1 - 0.25**2) * 1.25e-3  # 1.111e-7
    twist = 1e6 * 0.001**3 / 12 / (2 * 1.25) * 1e-3  # 3.333e-8
    forces = solution.section_forces("skin")
    np.testing.assert_allclose(forces[:, 3:5], -moment, rtol=1e-8)
    np.testing.assert_allclose(forces[:, 5], -twist, rtol=1e-8)
    np.testing.assert_allclose(forces[:, 6:], 0.0, atol=1e-8 * moment / 0.001)
    top = solution.stress("skin", "top")
    np.testing.assert_allclose(top, np.broadcast_to([-2 / 3, -2 / 3, -0.2], (10, 3)), rtol=1e-8)
    np.testing.assert_allclose(solution.stress("skin", "bottom"), -top, rtol=1e-8)
    np.testing.assert_allclose(solution.displacement, exact_motion, rtol=0, atol=1e-13)
    assert abs(forces[:, 3].mean()) == pytest.approx(1.111e-7, rel=2e-4)
    assert abs(forces[:, 5].mean()) == pytest.approx(3.333e-8, rel=2e-4)


@pytest.mark.parametrize("mesh", BOTH)
def test_larger_patch(mesh):
    """The same strain and curvature on 8 x 4 cells: the largest error of any cell."""
    plate = grid(8, 4, flat(0.24, 0.12), **BOTH[mesh])
    strain, curvature = np.array([1e-3, 1e-3, 1e-3]), np.array([-1e-3, -1e-3, -1e-3])
    motion = exact(strain, curvature, plate.points[plate.place("border"), :2])
    plate, supports = held_at(plate, "border", dict(zip(NAMES, motion.T, strict=True)))
    solution = solve_one(plate, {"skin": ISOTROPIC}, supports, [])
    strains = np.concatenate([strain, curvature, [0, 0]])
    error = np.abs(solution.strains("skin") - strains).max() / 1e-3
    assert error == pytest.approx(0.0, abs=1e-7)


@pytest.mark.parametrize("rotation", [np.eye(3), random_rotation()], ids=["flat", "turned"])
def test_unsymmetric_laminate_with_offset(rotation):
    """Constant strain and curvature at once, with full coupling, about an offset surface."""
    strain, curvature = np.array([1e-3, -4e-4, 7e-4]), np.array([0.2, -0.5, 0.4])
    solution, exact_motion = solve_patch(LAMINATE, strain, curvature, rotation)
    np.testing.assert_allclose(solution.displacement, exact_motion, rtol=0, atol=1e-12)
    strains = np.concatenate([strain, curvature, [0, 0]])
    np.testing.assert_allclose(
        solution.strains("skin"), np.broadcast_to(strains, (10, 8)), rtol=1e-8, atol=1e-9
    )
    # the resultants by hand: mid-plane strain is ε + offset κ, the moment gains offset N
    middle = strain + 0.0003 * curvature
    abd = LAMINATE.material.abd
    force = abd[:3, :3] @ middle + abd[:3, 3:] @ curvature
    moment = abd[3:, :3] @ middle + abd[3:, 3:] @ curvature + 0.0003 * force
    forces = solution.section_forces("skin")
    np.testing.assert_allclose(forces[:, :3], np.broadcast_to(force, (10, 3)), rtol=1e-7)
    np.testing.assert_allclose(forces[:, 3:6], np.broadcast_to(moment, (10, 3)), rtol=1e-7)
    assert solution.work == pytest.approx(2 * solution.strain_energy, rel=1e-10)
    area = 0.24 * 0.12
    assert solution.strain_energy == pytest.approx(
        0.5 * area * (strain @ force + curvature @ moment), rel=1e-9
    )

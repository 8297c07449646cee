# SPDX-License-Identifier: MIT
"""Plates: Timoshenko S P, Woinowsky-Krieger S, Theory of Plates and Shells, 2nd ed., 1959.

Square plates by the table of coefficients (ν = 0.3), circular plates by the closed form with the
shear deflection q R²/(4 κ G t) of the shear-flexible theory, κ = 5/6.
"""

import numpy as np
import pytest
from small_models import at, flat, grid, sheet, solve_skin

import fea

MATERIAL = fea.Isotropic(youngs_modulus=1400.0, poisson_ratio=0.3)
WALL, SIDE, PRESSURE, LOAD = 0.01, 2.0, 1e-6, 1e-6
D = 1400.0 * WALL**3 / (12 * 0.91)


def quarter(clamped, load):
    supports = [
        fea.Support("u1", "uz rx ry" if clamped else "uz rx"),  # no slope along the edge
        fea.Support("v1", "uz rx ry" if clamped else "uz ry"),
        fea.Support("u0", "ry"),
        fea.Support("v0", "rx"),
        fea.Support("u0v0", "ux uy rz"),
        fea.Support("u1v0", "uy"),
    ]
    mesh = grid(32, 32, flat(SIDE / 2, SIDE / 2))
    return solve_skin(mesh, MATERIAL, WALL, supports, [load])


@pytest.mark.parametrize(
    ("clamped", "coefficient", "tolerance"),
    [(False, 0.00406, 0.002), (True, 0.00126, 0.006)],  # three figures: 0.0012653
)
def test_square_plate_under_pressure(clamped, coefficient, tolerance):
    deflection = at(quarter(clamped, fea.Pressure("skin", PRESSURE)), "u0v0")[2]
    assert deflection == pytest.approx(coefficient * PRESSURE * SIDE**4 / D, rel=tolerance)


def test_moments_of_square_plates():
    """Centre 0.0479 q a² supported; clamped 0.0231 at the centre, −0.0513 at the edge's middle."""
    scale = PRESSURE * SIDE**2
    for clamped, centre in ((False, 0.0479), (True, 0.0231)):
        solution = quarter(clamped, fea.Pressure("skin", PRESSURE))
        mesh = solution.system.structure.mesh
        forces = solution.section_forces("skin")
        middle = mesh.points[mesh.cells["triangle"]].mean(axis=1)
        near = np.argsort(np.linalg.norm(middle, axis=1))[:2]
        assert abs(forces[near, 3:5].mean()) / scale == pytest.approx(centre, rel=0.02)
        if clamped:
            # linear in x over the last two columns of cells, carried on to the border
            row = middle[:, 1] < SIDE / 2 / 32
            x, m = middle[row, 0], forces[row, 3]
            order = np.argsort(x)[-4:]
            edge = np.polyval(np.polyfit(x[order], m[order], 1), SIDE / 2)
            assert abs(edge) / scale == pytest.approx(0.0513, rel=0.02)


@pytest.mark.parametrize(("clamped", "coefficient"), [(False, 0.0116), (True, 0.0056)])
def test_square_plate_under_a_central_force(clamped, coefficient):
    deflection = at(quarter(clamped, fea.PointForce("u0v0", (0, 0, LOAD / 4))), "u0v0")[2]
    assert deflection == pytest.approx(coefficient * LOAD * SIDE**2 / D, rel=0.005)


def disc(n, radius):
    """A quarter disc from the unit square: sides u0 and v0 are the axes, u1 and v1 the rim."""

    def surface(u, v):
        size = np.maximum(u, v)
        angle = np.arctan2(v, u)
        bulge = size * np.stack([np.cos(angle), np.sin(angle)])
        square = np.stack([u, v])
        x, y = radius * (size * bulge + (1 - size) * square * 0.8)
        return x, y, 0 * u

    return grid(n, n, surface)


@pytest.mark.parametrize("wall", [0.01, 0.05, 0.2])
@pytest.mark.parametrize("clamped", [True, False], ids=["clamped", "supported"])
def test_circular_plate_under_pressure(wall, clamped):
    mesh = disc(24, 1.0)
    rim = np.union1d(mesh.places["u1"], mesh.places["v1"])
    mesh = mesh.with_places({"rim": rim})
    np.testing.assert_allclose(np.hypot(*mesh.points[rim, :2].T), 1.0, rtol=1e-12)
    supports = [
        fea.Support("rim", "uz rx ry" if clamped else "uz"),
        fea.Support("v0", "uy rx rz"),
        fea.Support("u0", "ux ry rz"),
    ]
    solution = solve_skin(mesh, MATERIAL, wall, supports, [fea.Pressure("skin", PRESSURE)])
    stiffness = 1400.0 * wall**3 / (12 * 0.91)
    bending = PRESSURE / (64 * stiffness) * (1.0 if clamped else 5.3 / 1.3)
    shear = PRESSURE / (4 * 5 / 6 * 1400.0 / 2.6 * wall)
    assert at(solution, "u0v0")[2] == pytest.approx(bending + shear, rel=0.005)


def test_cylindrical_bending_is_exact():
    """A strip bent by end moments with its long sides free to slide: κ = M/D everywhere."""
    mesh = sheet(
        [[0, 0, 0], [3, 0, 0], [3, 1, 0], [0, 1, 0], [1.3, 0.4, 0]],
        [[0, 1, 4], [1, 2, 4], [2, 3, 4], [3, 0, 4]],
        {"root": [0, 3], "tip": [1, 2], "all": [0, 1, 2, 3, 4]},
    )
    supports = [fea.Support("root", "ux uy uz ry"), fea.Support("all", "rx rz uy")]
    solution = solve_skin(
        mesh, MATERIAL, WALL, supports, [fea.PointForce("tip", (0, 0, 0), (0, -2e-5, 0))]
    )
    assert at(solution, "tip")[2] == pytest.approx(2e-5 / D * 3.0**2 / 2, rel=1e-9)
    assert at(solution, "tip")[4] == pytest.approx(-2e-5 / D * 3.0, rel=1e-9)

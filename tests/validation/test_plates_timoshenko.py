# SPDX-License-Identifier: MIT
"""Plates: Timoshenko S P, Woinowsky-Krieger S, Theory of Plates and Shells, 2nd ed., 1959.

Square plates by the tables of coefficients (ν = 0.3; clamped to more figures by Taylor R L,
Govindjee S, Commun Numer Methods Eng 2004;20:757-765: 0.00126532 q a⁴/D, 0.00561202 P a²/D),
circular plates by closed forms, with the shear deflection q R²/(4 κ G t), κ = 5/6. Observed order
against Navier's double series of the plate flexible in shear: (q_mn/(D k²)) (1 + k D/(κ G t)).
Moments are fitted to the cells nearest to the point.
"""

import numpy as np
import pytest
from jitter import BOTH
from readings import order, value_at
from small_models import at, flat, grid, sheet, solve_skin

import fea

MATERIAL = fea.Isotropic(youngs_modulus=1400.0, poisson_ratio=0.3)
WALL, SIDE, PRESSURE, LOAD = 0.01, 2.0, 1e-6, 1e-6
TABLE = "Timoshenko, Woinowsky-Krieger 1959"


def rigidity(wall):
    return 1400.0 * wall**3 / (12 * 0.91)


D = rigidity(WALL)


def quarter(clamped, load, mesh, n=32, wall=WALL):
    """A quarter of a square plate, its centre at u0v0; supported sides do not turn along them."""
    supports = [
        fea.Support("u1", "uz rx ry" if clamped else "uz rx"),
        fea.Support("v1", "uz rx ry" if clamped else "uz ry"),
        fea.Support("u0", "ry"),
        fea.Support("v0", "rx"),
        fea.Support("u0v0", "ux uy rz"),
        fea.Support("u1v0", "uy"),
    ]
    plate = grid(n, n, flat(SIDE / 2, SIDE / 2), **mesh)
    return solve_skin(plate, MATERIAL, wall, supports, [load])


@pytest.mark.parametrize("mesh", BOTH)
@pytest.mark.parametrize(
    ("clamped", "coefficient", "tolerance"),
    [
        pytest.param(False, 0.00406235, 5e-4, marks=pytest.mark.source("Navier")),
        pytest.param(True, 0.00126532, 1.5e-3, marks=pytest.mark.source("Taylor, Govindjee 2004")),
    ],
    ids=["supported", "clamped"],
)
def test_square_plate_under_pressure(clamped, coefficient, tolerance, mesh):
    solution = quarter(clamped, fea.Pressure("skin", PRESSURE), BOTH[mesh])
    found = at(solution, "u0v0")[2] * D / (PRESSURE * SIDE**4)
    assert found == pytest.approx(coefficient, rel=tolerance)


@pytest.mark.parametrize("mesh", BOTH)
@pytest.mark.parametrize(
    ("clamped", "coefficient"),
    [
        pytest.param(False, 0.0116008, marks=pytest.mark.source("Navier")),
        pytest.param(True, 0.00561202, marks=pytest.mark.source("Taylor, Govindjee 2004")),
    ],
    ids=["supported", "clamped"],
)
def test_square_plate_under_a_central_force(clamped, coefficient, mesh):
    solution = quarter(clamped, fea.PointForce("u0v0", (0, 0, LOAD / 4)), BOTH[mesh])
    found = at(solution, "u0v0")[2] * D / (LOAD * SIDE**2)
    assert found == pytest.approx(coefficient, rel=0.004 if clamped else 0.0015)


@pytest.mark.source(TABLE)
@pytest.mark.parametrize("mesh", BOTH)
@pytest.mark.parametrize(
    ("clamped", "point", "coefficient", "tolerance"),
    [
        (False, (0, 0, 0), 0.0479, 0.002),
        (True, (0, 0, 0), 0.0231, 0.01),  # 0.02291 to more figures
        (True, (SIDE / 2, 0, 0), -0.0513, 0.005),
    ],
    ids=["supported centre", "clamped centre", "clamped edge"],
)
def test_moment_of_a_square_plate(clamped, point, coefficient, tolerance, mesh):
    """In q a²; positive where the face opposite to the load is stretched."""
    solution = quarter(clamped, fea.Pressure("skin", PRESSURE), BOTH[mesh])
    moments = solution.section_forces("skin")[:, 3]
    found = value_at(solution, moments, point) / (PRESSURE * SIDE**2)
    assert found == pytest.approx(coefficient, rel=tolerance)


def navier(points, wall):
    """Deflection (n,) of the supported square plate, flexible in shear, from its centre."""
    x, y, _ = points.T
    stiff, shear = rigidity(wall), 5 / 6 * 1400.0 / 2.6 * wall
    result = np.zeros(len(points))
    for m in range(1, 60, 2):
        for n in range(1, 60, 2):
            a, b = m * np.pi / SIDE, n * np.pi / SIDE
            k = a * a + b * b
            load = 16 * PRESSURE / (np.pi**2 * m * n) * (-1) ** ((m - 1) // 2 + (n - 1) // 2)
            result += (
                load / (stiff * k * k) * (1 + k * stiff / shear) * np.cos(a * x) * np.cos(b * y)
            )
    return result


@pytest.mark.source("Navier, shear included")
@pytest.mark.parametrize("mesh", BOTH)
@pytest.mark.parametrize("wall", [0.01, 0.2], ids=["thin", "thick"])
def test_deflection_converges_with_order_two(wall, mesh):
    """Root mean square over the nodes; side/wall = 200 and 10."""
    errors = []
    for n in (4, 8, 16):
        solution = quarter(False, fea.Pressure("skin", PRESSURE), BOTH[mesh], n, wall)
        exact = navier(solution.system.structure.mesh.points, wall)
        errors.append(np.sqrt(np.mean((solution.displacement[:, 2] - exact) ** 2)))
    assert order(errors) == pytest.approx(2.0, abs=0.2)


def disc(n, mesh):
    """A quarter disc of radius 1: u0 and v0 are the axes, place "rim" is u1 and v1."""

    def surface(u, v):
        size = np.maximum(u, v)
        angle = np.arctan2(v, u)
        bulge = size * np.stack([np.cos(angle), np.sin(angle)])
        x, y = size * bulge + (1 - size) * np.stack([u, v]) * 0.8
        return x, y, 0 * u

    # a random diagonal may flatten the rim's corner at u1v1
    plate = grid(n, n, surface, **{**mesh, "diagonal": "alternate"})
    rim = np.union1d(plate.place("u1"), plate.place("v1"))
    np.testing.assert_allclose(np.hypot(*plate.points[rim, :2].T), 1.0, rtol=1e-12)
    return plate.with_places({**plate.places, "rim": rim})


def round_plate(wall, clamped, mesh, n=24):
    plate = disc(n, mesh)
    supports = [
        fea.Support("rim", "uz rx ry" if clamped else "uz"),
        fea.Support("v0", "uy rx rz"),
        fea.Support("u0", "ux ry rz"),
    ]
    return solve_skin(plate, MATERIAL, wall, supports, [fea.Pressure("skin", PRESSURE)])


EDGES = {"clamped": True, "supported": False}


@pytest.mark.source(TABLE)
@pytest.mark.parametrize("mesh", BOTH)
@pytest.mark.parametrize("wall", [0.01, 0.05, 0.2])
@pytest.mark.parametrize("edge", EDGES)
def test_circular_plate_under_pressure(edge, wall, mesh):
    found = at(round_plate(wall, EDGES[edge], BOTH[mesh]), "u0v0")[2]
    bending = PRESSURE / (64 * rigidity(wall)) * (1.0 if EDGES[edge] else 5.3 / 1.3)
    shear = PRESSURE / (4 * 5 / 6 * 1400.0 / 2.6 * wall)
    assert found == pytest.approx(bending + shear, rel=0.0015)


@pytest.mark.source(TABLE)
@pytest.mark.parametrize("mesh", BOTH)
@pytest.mark.parametrize(
    ("edge", "place", "coefficient"),
    [
        ("supported", "centre", 3.3 / 16),
        ("clamped", "centre", 1.3 / 16),
        ("clamped", "edge", -1 / 8),
    ],
)
def test_radial_moment_of_a_circular_plate(edge, place, coefficient, mesh):
    """In q R²: (3 + ν)/16; (1 + ν)/16 and −1/8."""
    solution = round_plate(0.01, EDGES[edge], BOTH[mesh])
    moments = solution.section_forces("skin")[:, 3]
    point = (0, 0, 0) if place == "centre" else (1, 0, 0)
    found = value_at(solution, moments, point) / PRESSURE
    assert found == pytest.approx(coefficient, rel=0.004)


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

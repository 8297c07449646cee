# SPDX-License-Identifier: MIT
"""Walls in their plane and thin tubes.

Cook R D, J Struct Div ASCE 1974;100:1851-1863 (tapered membrane; converged value 23.96). Short
cantilever under an end shear: Timoshenko S P, Goodier J N, Theory of Elasticity, 3rd ed., 1970.
Thin closed and slit tubes: Bredt's formulas and J = Σ b t³/3, in the same book. Pressure by
the membrane formula σ = p R/t.
"""

import numpy as np
import pytest
from small_models import ALL, at, flat, grid, solve_one, solve_skin

import fea


@pytest.mark.parametrize(("n", "tolerance"), [(8, 0.06), (16, 0.025), (32, 0.01)])
@pytest.mark.parametrize("diagonal", ["rising", "falling"])
def test_cook_membrane(n, tolerance, diagonal):
    """From below on both diagonals: Cook's value is not passed."""
    mesh = grid(n, n, lambda u, v: (48 * u, 44 * u + v * (44 - 28 * u), 0 * u), diagonal=diagonal)
    material = fea.Isotropic(youngs_modulus=1.0, poisson_ratio=1 / 3)
    load = fea.EdgeForce("u1", (0, 1 / 16, 0))
    solution = solve_skin(mesh, material, 1.0, [fea.Support("u0", ALL)], [load])
    middle = np.argmin(np.linalg.norm(mesh.points - [48, 52, 0], axis=1))
    assert 23.96 * (1 - tolerance) < solution.displacement[middle, 1] < 23.96


def test_short_cantilever_in_its_plane():
    """48 x 12 x 1, E = 3e4, ν = 0.25, end shear 40: P L³/(3EI) + (4 + 5ν) P L/(2 E h) = 0.3558."""
    mesh = grid(32, 8, flat(48.0, 12.0))
    material = fea.Isotropic(youngs_modulus=3e4, poisson_ratio=0.25)
    y = mesh.points[mesh.places["u1"], 1] / 12.0
    share = 6 * y * (1 - y)
    share /= share.sum()
    places = {f"end {k}": [node] for k, node in enumerate(mesh.places["u1"])}
    loads = [fea.PointForce(f"end {k}", (0, 40 * s, 0)) for k, s in enumerate(share) if s > 0]
    held = [fea.Support("u0", ALL)]
    solution = solve_skin(mesh.with_places({**mesh.places, **places}), material, 1.0, held, loads)
    middle = f"end {len(share) // 2}"
    assert at(solution, middle)[1] == pytest.approx(0.3558, rel=0.004)


def tube(n, length, *, slit=False, radius=20.0, rows=24):
    """A tube about z; closed by joining the last column of nodes to the first."""
    mesh = grid(
        n,
        rows,
        lambda u, v: (
            radius * np.cos(2 * np.pi * u), radius * np.sin(2 * np.pi * u), length * v
        ),
        diagonal="rising",
    )  # fmt: skip
    triangles = mesh.cells["triangle"].copy()
    last = n * (rows + 1)
    points = mesh.points
    if not slit:
        triangles = np.where(triangles >= last, triangles - last, triangles)
        points = points[:last]
    z = points[:, 2]
    n_points = len(points)
    return fea.Mesh(
        np.concatenate([points, [[0, 0, length]]]),
        {"triangle": triangles},
        places={
            "root": np.flatnonzero(z < 1e-9),
            "rim": np.flatnonzero(z > length - 1e-9),
            "hub": [n_points],
        },
        zones={"skin": ("triangle", np.arange(len(triangles)))},
    )


STEEL = fea.Isotropic(youngs_modulus=200e3, poisson_ratio=0.3)
G = 200e3 / 2.6


def loaded_tube(mesh, wall, moment, supports=None, rule="rigid"):
    return solve_one(
        mesh,
        {"skin": fea.ShellSection(STEEL, thickness=wall)},
        supports or [fea.Support("root", ALL)],
        [fea.PointForce("hub", (0, 0, 0), moment)],
        ties=[fea.Tie("hub", "rim", rule)],
    )


def test_closed_tube_in_torsion():
    """θ = T L/(2π R³ t G), τ = T/(2π R² t), of the polygon that stands for the circle."""
    n, radius, wall, length, torque = 48, 20.0, 1.0, 120.0, 5000.0
    held = [fea.Support("root", "ux uy uz")]
    solution = loaded_tube(tube(n, length), wall, (0, 0, torque), held, "mean")
    area = n / 2 * radius**2 * np.sin(2 * np.pi / n)
    around = 2 * n * radius * np.sin(np.pi / n)
    twist = torque * length * around / (4 * area**2 * G * wall)
    assert at(solution, "hub")[5] == pytest.approx(twist, rel=2e-3)
    shear = np.abs(solution.stress("skin", "middle")[:, 2])
    np.testing.assert_allclose(shear, torque / (2 * area * wall), rtol=0.01)


def test_closed_tube_in_bending():
    """Pure bending: κ = M/(E π R³ t), σ = M/(π R² t)."""
    radius, wall, length, moment = 20.0, 1.0, 120.0, 2e5
    mesh = tube(64, length)
    solution = loaded_tube(mesh, wall, (0, moment, 0))
    inertia = np.pi * radius**3 * wall
    turned = moment * length / (200e3 * inertia)
    assert at(solution, "hub")[4] == pytest.approx(turned, rel=0.01)
    middle = mesh.points[mesh.cells["triangle"]].mean(axis=1)
    row = np.abs(middle[:, 2] - length / 2) < 6
    stress = solution.stress("skin", "middle")[row, 0]
    expected = -moment / inertia * middle[row, 0]  # the tube leans to +x: pressed there
    assert np.abs(stress - expected).max() < 0.012 * np.abs(expected).max()


def test_slit_tube_in_torsion():
    """J = 2π R t³/3, some 300 times softer than the closed tube: θ = T L/(G J) with free warping.

    The ends warp freely: the rim passes its torque by a mean, the root is held along the axis at
    three nodes only. The twist is read between two rings away from the ends."""
    radius, wall, length, torque = 10.0, 1.0, 240.0, 1000.0
    mesh = tube(32, length, slit=True, radius=radius, rows=60)
    root = mesh.places["root"]
    mesh = mesh.with_places({"three": root[[0, 11, 21]]})
    held = [fea.Support("root", "ux uy"), fea.Support("three", "uz")]
    solution = loaded_tube(mesh, wall, (0, 0, torque), held, "mean")
    ring = [np.abs(mesh.points[:-1, 2] - z) < 1e-6 for z in (80.0, 160.0)]
    turn = []
    for chosen in ring:
        p, d = mesh.points[:-1][chosen], solution.displacement[:-1][chosen]
        rigid = np.column_stack([p[:, 0], p[:, 1]])
        centred = rigid - rigid.mean(axis=0)
        moved = d[:, :2] - d[:, :2].mean(axis=0)
        cross = centred[:, 0] * moved[:, 1] - centred[:, 1] * moved[:, 0]
        turn.append(cross.sum() / (centred**2).sum())
    expected = torque * 80.0 / (G * 2 * np.pi * radius * wall**3 / 3)
    assert turn[1] - turn[0] == pytest.approx(expected, rel=0.05)


def test_tube_under_inner_pressure():
    """Ends free to widen: hoop stress p R/t, radius grows by p R²/(E t). Nodes lie on the circle,
    so facets are 0.1 % inside it at 72 sides."""
    radius, wall, pressure = 20.0, 1.0, 3.0
    mesh = tube(72, 30.0, rows=8)
    held = [fea.Support("root", "uz")]
    held += [fea.Support("a", "uy"), fea.Support("b", "uy"), fea.Support("c", "ux")]
    quarters = mesh.places["root"]
    places = {"a": [quarters[0]], "b": [quarters[36]], "c": [quarters[18]]}
    mesh = fea.Mesh(mesh.points[:-1], mesh.cells, {"root": quarters, **places}, mesh.zones)
    solution = solve_skin(mesh, STEEL, wall, held, [fea.Pressure("skin", pressure)])
    radial = np.sum(solution.displacement[:, :2] * mesh.points[:, :2], axis=1) / radius
    radial = radial[
        np.abs(mesh.points[:, 2] - 15.0) < 1e-9
    ]  # shares of pressure are uneven at rims
    np.testing.assert_allclose(radial, pressure * radius**2 / (200e3 * wall), rtol=0.01)
    height = mesh.points[mesh.cells["triangle"], 2].mean(axis=1)
    hoop = solution.stress("skin", "middle")[np.abs(height - 15.0) < 4, 1]
    np.testing.assert_allclose(hoop, pressure * radius / wall, rtol=0.01)

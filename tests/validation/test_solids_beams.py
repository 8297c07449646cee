# SPDX-License-Identifier: MIT
"""Bars and strips of quadratic tetrahedra: torsion, bending, twist, and beside the shell.

Torsion of a square bar: J = 0.1406 a⁴, largest shear stress T/(0.208 a³) in the middle of a side
(Timoshenko S P, Goodier J N, Theory of Elasticity, 3rd ed., 1970, § 109). Cantilever: Timoshenko's
beam, P L³/3EI + P L/(5/6 G A) with no lateral contraction, which the clamp would hinder. Column:
Engesser's 1/P = 1/P_Euler + 1/(5/6 G A) (Timoshenko S P, Gere J M, Theory of Elastic Stability, 2nd
ed., 1961, § 2.17). Twisted beam: MacNeal R H, Harder R L, Finite Elem Anal Des 1985;1:3-20.
"""

import numpy as np
import pytest
from small_models import ALL, at, flat, grid, solve_one, solve_skin
from solid_models import block

import fea

JITTER = {"structured": 0.0, "jittered": 0.2}
both = pytest.mark.parametrize("jitter", JITTER.values(), ids=JITTER)
CLAMPED = [fea.Support("u0", ALL)]


def solid(young, poisson_ratio):
    material = fea.Isotropic(youngs_modulus=young, poisson_ratio=poisson_ratio)
    return {"block": fea.SolidSection(material)}


@pytest.mark.source("Saint-Venant; Timoshenko, Goodier 1970")
@both
def test_torsion_of_a_square_bar(jitter):
    """Both ends turn as plates free to warp, side 1, length 2, G = 1000, 0.01 rad per length."""
    twist, length = 0.01, 2.0
    mesh = block(8, 8, 3, lambda u, v, w: (u - 0.5, v - 0.5, length * w), jitter=jitter)
    end = mesh.place("w1")
    mesh = mesh.with_places({**{f"n{k}": [k] for k in end}, "one": mesh.place("w0")[:1]})
    supports = [fea.Support("w0", "ux uy"), fea.Support("one", "uz")]
    for k in end:
        x, y, _ = mesh.points[k]
        supports += [
            fea.Support(f"n{k}", "ux", -twist * length * y),
            fea.Support(f"n{k}", "uy", twist * length * x),
        ]
    solution = solve_one(mesh, solid(2600.0, 0.3), supports, [])
    torque = -solution.reaction("w0")[5]
    nodes = mesh.zone_cells("face u1")
    in_the_middle = np.abs(mesh.points[nodes][..., 1]) < 1e-9
    shear = solution.solid_surface_stress("face u1")[in_the_middle][:, 4]
    assert torque / (1000.0 * twist) == pytest.approx(0.1406, rel=0.001)
    assert shear.max() / torque == pytest.approx(4.81, rel=0.005)
    assert shear.min() / torque == pytest.approx(4.81, rel=0.005)


@pytest.mark.source("Timoshenko beam")
@both
def test_cantilever(jitter):
    """10 x 1 x 1, E = 1000, end load 0.01 over the face; stress M/W on top of the middle."""
    mesh = block(20, 2, 2, lambda u, v, w: (10 * u, v - 0.5, w - 0.5), jitter=jitter)
    load = [fea.SurfaceForce("face u1", (0, 0, 0.01))]
    solution = solve_one(mesh, solid(1000.0, 0.0), CLAMPED, load)
    tip = solution.displacement[mesh.place("u1"), 2].mean()
    assert tip == pytest.approx(0.01 * 1000 / (3 * 1000 / 12) + 0.01 * 10 / (5 / 6 * 500), rel=5e-4)
    place = mesh.points[mesh.zone_nodes("block")]
    top = (np.abs(place[:, 2] - 0.5) < 1e-9) & (np.abs(place[:, 0] - 5.0) < 1e-9)
    stress = solution.solid_nodal_stress("block")[top, 0]
    assert stress.mean() == pytest.approx(-0.01 * 5.0 * 6.0, rel=0.01)


@pytest.mark.source("the shell of this program")
@both
def test_a_strip_as_a_solid_and_as_a_shell(jitter):
    """100 x 20 x 4, ν = 0.3, clamped, end load 10: the same tip, and 6 M/(b t²) on the surface."""
    mesh = block(20, 4, 2, lambda u, v, w: (100 * u, 20 * v, 4 * (w - 0.5)), jitter=jitter)
    load = [fea.SurfaceForce("face u1", (0, 0, 10 / 80))]
    solution = solve_one(mesh, solid(1400.0, 0.3), CLAMPED, load)
    material = fea.Isotropic(youngs_modulus=1400.0, poisson_ratio=0.3)
    edge = [fea.EdgeForce("u1", (0, 0, 10 / 20))]
    shell = solve_skin(grid(40, 8, flat(100, 20)), material, 4.0, CLAMPED, edge)
    tip = solution.displacement[mesh.place("u1"), 2].mean()
    assert tip == pytest.approx(at(shell, "u1")[2], rel=0.01)
    place = mesh.points[mesh.zone_nodes("block")]
    top = (np.abs(place[:, 2] - 2.0) < 1e-9) & (np.abs(place[:, 0] - 50.0) < 1e-9)
    stress = solution.solid_nodal_stress("block")[top, 0]
    assert stress.mean() == pytest.approx(-6 * 10 * 50 / (20 * 16), rel=0.015)


@pytest.mark.source("MacNeal, Harder 1985")
@pytest.mark.parametrize(("nx", "ny", "tolerance"), [(12, 2, 0.014), (24, 4, 0.005)])
def test_thick_twisted_beam(nx, ny, tolerance):
    """12 x 1.1 x 0.32, twisted by 90 degrees: across the root's thickness, and along its width."""

    def form(u, v, w):
        angle, along, across = np.pi / 2 * u, 1.1 * (v - 0.5), 0.32 * (w - 0.5)
        cosine, sine = np.cos(angle), np.sin(angle)
        return 12 * u, along * cosine - across * sine, along * sine + across * cosine

    mesh = block(nx, ny, 1, form, curved=True, jitter=0.0)
    for direction, target in ((2, 5.424e-3), (1, 1.754e-3)):
        traction = tuple(np.eye(3)[direction] / (1.1 * 0.32))
        load = [fea.SurfaceForce("face u1", traction)]
        solution = solve_one(mesh, solid(29e6, 0.22), CLAMPED, load)
        tip = solution.displacement[mesh.place("u1"), direction].mean()
        assert tip == pytest.approx(target, rel=tolerance)


@pytest.mark.source("Engesser; Timoshenko, Gere 1961")
@both
def test_column(jitter):
    """20 x 1.5 x 1, foot clamped, thrust 1: buckling about either axis; pulled, it does not."""
    mesh = block(20, 2, 2, lambda u, v, w: (20 * u, 1.5 * v, w), jitter=jitter)
    cases = {
        name: [fea.SurfaceForce("face u1", (sign / 1.5, 0, 0))]
        for name, sign in (("pressed", -1), ("pulled", 1))
    }
    model = fea.Model(mesh, solid(1000.0, 0.0), CLAMPED, cases)
    buckling = fea.buckle(model, "pressed", count=2)
    for factor, second_moment in zip(buckling.factors, (1.5 / 12, 1.5**3 / 12), strict=True):
        euler = np.pi**2 * 1000 * second_moment / (4 * 20**2)
        assert factor == pytest.approx(1 / (1 / euler + 1 / (5 / 6 * 500 * 1.5)), rel=0.002)
    assert buckling.proved
    assert len(fea.buckle(model, "pulled").factors) == 0

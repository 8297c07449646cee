# SPDX-License-Identifier: MIT
"""Pure bending of a strongly curved bar in its plane.

Exact: Golovin H, 1881, in Timoshenko S P, Goodier J N, Theory of Elasticity, 3rd ed., 1970, § 29.
Approximate: Winkler E, Civilingenieur 1858;4:232-246, plane sections, in Timoshenko S P, Strength
of Materials, part I, 3rd ed., 1955. Radii 4 and 8. One end of a quarter ring turns as a plane
section about the centre of curvature, as the exact solution does, and slides along the radius.
"""

import numpy as np
import pytest
from jitter import BOTH
from readings import held_at, order, value_at
from small_models import grid, solve_skin

import fea

INNER, OUTER, E, WALL = 4.0, 8.0, 70e3, 1.0
BAR = fea.Isotropic(youngs_modulus=E, poisson_ratio=0.3)
TURN = 1e-3
RATIO_LOG = np.log(OUTER / INNER)
N = (OUTER**2 - INNER**2) ** 2 - 4 * (INNER * OUTER * RATIO_LOG) ** 2


def golovin_moment():
    """Moment for the angle TURN over a quarter: v = 8 M (b² − a²) r θ/(E N t)."""
    return TURN / (np.pi / 2) * E * N * WALL / (8 * (OUTER**2 - INNER**2))


def golovin_stress(moment, r):
    """Hoop stress under a moment that closes the bar (tension outside)."""
    ab = (INNER * OUTER / r) ** 2 * RATIO_LOG
    rest = OUTER**2 * np.log(r / OUTER) + INNER**2 * np.log(INNER / r)
    return 4 * moment / (N * WALL) * (-ab + rest + OUTER**2 - INNER**2)


def winkler_stress(moment, r):
    """M (r − r0)/(A e r) with r0 = h/ln(b/a), e the distance from centroid to r0."""
    depth = OUTER - INNER
    neutral = depth / RATIO_LOG
    eccentricity = 0.5 * (INNER + OUTER) - neutral
    return moment * (r - neutral) / (depth * WALL * eccentricity * r)


def ring(n, mesh):
    """n cells across, 2n along the quarter: solution and moment."""

    def surface(u, v):
        r, angle = INNER + (OUTER - INNER) * u, np.pi / 2 * v
        return r * np.cos(angle), r * np.sin(angle), 0 * u

    sheet = grid(n, 2 * n, surface, **mesh)
    end = sheet.points[sheet.place("v1"), 1]
    sheet, supports = held_at(sheet, "v1", {"ux": -TURN * end})
    sheet = sheet.with_places({**sheet.places, "all": sheet.zone_nodes("skin")})
    supports += [
        fea.Support("all", "uz rx ry"),
        fea.Support("v0", "uy rz"),
        fea.Support("v1", "rz", TURN),
    ]
    solution = solve_skin(sheet, BAR, WALL, supports, [])
    force, moment = solution.reaction("v1")[[0, 5]]
    centre = end.mean()  # the reaction's moment is about the mean of the nodes
    return solution, moment - force * centre


@pytest.mark.source("Golovin; Timoshenko, Goodier 1970")
@pytest.mark.parametrize("mesh", BOTH)
def test_moment(mesh):
    moment = ring(16, BOTH[mesh])[1]
    assert moment == pytest.approx(golovin_moment(), rel=0.001)


@pytest.mark.source("Golovin; Timoshenko, Goodier 1970")
@pytest.mark.parametrize("mesh", BOTH)
@pytest.mark.parametrize(
    ("r", "tolerance"), [(INNER, 0.007), (OUTER, 0.001)], ids=["inner edge", "outer edge"]
)
def test_stress(mesh, r, tolerance):
    solution, _ = ring(16, BOTH[mesh])
    point = r * np.array([np.cos(np.pi / 4), np.sin(np.pi / 4), 0])
    sx, sy, sxy = value_at(solution, solution.stress("skin", "middle"), point)
    hoop = 0.5 * (sx + sy) - sxy
    assert hoop == pytest.approx(golovin_stress(golovin_moment(), r), rel=tolerance)


@pytest.mark.source("Winkler 1858")
def test_stress_at_the_inner_edge_of_plane_sections():
    solution, moment = ring(16, BOTH["structured"])
    point = INNER * np.array([np.cos(np.pi / 4), np.sin(np.pi / 4), 0])
    sx, sy, sxy = value_at(solution, solution.stress("skin", "middle"), point)
    assert 0.5 * (sx + sy) - sxy == pytest.approx(winkler_stress(moment, INNER), rel=0.004)


@pytest.mark.source("Golovin; Timoshenko, Goodier 1970")
@pytest.mark.parametrize("mesh", BOTH)
def test_moment_converges_with_order_two(mesh):
    errors = [ring(n, BOTH[mesh])[1] - golovin_moment() for n in (8, 16, 32)]
    assert order(errors) == pytest.approx(2.0, abs=0.1)

# SPDX-License-Identifier: MIT
"""A round hole in a strip under tension: Heywood R B, Designing by Photoelasticity, 1952.

Peak over mean net stress 2 + (1 − d/W)³, as handbooks of stress concentration tabulate it; from
memory. First the factor that the checks of holes use, then a strip with its hole meshed: a quarter
of it, twice as long as wide, cells growing with the distance from the hole. Stress at the hole is
fitted to the cells nearest to the point.
"""

import numpy as np
import pytest
from readings import value_at
from small_models import grid, solve_skin

import fea
from fea.check.holes import gross_peak_factor, hole_factor, peak_factor

HANDBOOK = {0.1: 2.73, 0.2: 2.51, 0.3: 2.34}
STEEL = fea.Isotropic(youngs_modulus=200e3, poisson_ratio=0.3)
HALF, PULL = 50.0, 10.0


def strip(share, n=24):
    """A quarter of a strip 2 HALF wide and 4 HALF long with a hole, under PULL MPa along x."""
    radius, end = share * HALF, 2.0 * HALF

    def surface(u, v):
        angle = np.pi / 2 * v
        rim = np.stack([np.minimum(end, end * (2 - 2 * v)), np.minimum(HALF, 2 * HALF * v)])
        hole = radius * np.stack([np.cos(angle), np.sin(angle)])
        x, y = hole + (rim - hole) * u**1.8
        return x, y, 0 * u

    mesh = grid(n, 2 * n, surface)
    far = np.flatnonzero(np.abs(mesh.points[:, 0] - end) < 1e-9)
    mesh = mesh.with_places({"far": far, "all": mesh.zone_nodes("skin")})
    supports = [fea.Support("all", "uz rx ry"), fea.Support("v0", "uy rz"),
                fea.Support("v1", "ux rz")]
    return solve_skin(mesh, STEEL, 1.0, supports, [fea.EdgeForce("far", (PULL, 0, 0))])


@pytest.mark.parametrize("share", HANDBOOK)
def test_the_factor_of_the_checks(share):
    """Peak over net stress, by diameter over width."""
    assert float(peak_factor(share)) == pytest.approx(HANDBOOK[share], abs=0.005)


@pytest.mark.parametrize("share", HANDBOOK)
def test_the_peak_of_a_meshed_hole(share):
    """Peak over net stress beside a hole of 48 cells round the quarter."""
    solution = strip(share)
    peak = value_at(solution, solution.stress("skin", "middle")[:, 0], (0, share * HALF, 0))
    assert peak / (PULL / (1 - share)) == pytest.approx(HANDBOOK[share], rel=0.02)


@pytest.mark.parametrize("share", HANDBOOK)
def test_a_hole_without_fastener_counts_once(share):
    """Brittle material takes the peak on gross stress, what yields the net section."""
    brittle = hole_factor("printed", share)
    assert brittle == pytest.approx(HANDBOOK[share] / (1 - share), rel=0.003)
    assert brittle == float(gross_peak_factor(share))
    assert hole_factor("metal", share) == pytest.approx(1 / (1 - share), rel=1e-12)

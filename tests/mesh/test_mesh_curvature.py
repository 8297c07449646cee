# SPDX-License-Identifier: MIT
"""Curvature from the angles between triangles: cylinder 1/R, sphere 1/R, plane 0, on any mesh."""

import numpy as np
import pytest
from jitter import BOTH
from small_models import flat, grid

from fea.mesh.curvature import largest_curvature

RADIUS = 50.0


def cylinder(u, v):
    return RADIUS * np.cos(2.0 * u), RADIUS * np.sin(2.0 * u), 100.0 * v


def sphere(u, v):
    east, north = u - 0.5, v - 0.5
    return (RADIUS * np.cos(east) * np.cos(north), RADIUS * np.sin(east) * np.cos(north),
            RADIUS * np.sin(north))  # fmt: skip


@pytest.mark.parametrize("mesh", BOTH)
@pytest.mark.parametrize("surface", [cylinder, sphere])
def test_round_walls_have_the_curvature_of_their_radius(surface, mesh):
    skin = grid(20, 20, surface, **BOTH[mesh])
    middle = skin.points[skin.place("centre")[0]]
    found = largest_curvature(skin.points, skin.cells["triangle"], middle, 15.0)
    assert found == pytest.approx(1.0 / RADIUS, rel=0.03)


def test_at_a_rim_curvature_is_not_overestimated():
    skin = grid(20, 20, cylinder)
    rim = skin.points[skin.place("u0")[10]]
    found = largest_curvature(skin.points, skin.cells["triangle"], rim, 15.0)
    assert 0.7 / RADIUS < found < 1.0 / RADIUS


@pytest.mark.parametrize("mesh", BOTH)
def test_a_flat_wall_and_a_saddle_line_have_none_or_the_larger_one(mesh):
    plane = grid(10, 10, flat(50.0, 50.0), **BOTH[mesh])
    assert largest_curvature(plane.points, plane.cells["triangle"], (25, 25, 0), 15.0) == 0.0
    saddle = grid(20, 20, lambda u, v: (100 * u - 50, 100 * v - 50,
                  (100 * u - 50) ** 2 / 100 - (100 * v - 50) ** 2 / 200), **BOTH[mesh])  # fmt: skip
    found = largest_curvature(saddle.points, saddle.cells["triangle"], (0, 0, 0), 8.0)
    assert found == pytest.approx(2.0 / 100.0, rel=0.06)


def test_the_angle_of_a_fold_is_no_curvature():
    folded = grid(10, 10, lambda u, v: (50 * u, 50 * v, 50 * np.maximum(u - 0.5, 0.0)))
    found = largest_curvature(folded.points, folded.cells["triangle"], (25, 25, 0), 15.0)
    assert found == pytest.approx(0.0, abs=1e-12)


def test_a_reach_below_the_cell_size_still_reads_the_wall():
    skin = grid(20, 20, cylinder)
    middle = skin.points[skin.place("centre")[0]]
    found = largest_curvature(skin.points, skin.cells["triangle"], middle, 0.1)
    assert 0.3 / RADIUS < found < 2.0 / RADIUS

# SPDX-License-Identifier: MIT
"""Straight paths along a surface: on a plane they are lines, on a cylinder helices."""

import numpy as np
import pytest
from cornered import l_plate
from small_models import flat, grid, random_rotation, turned

from fea.mesh.path import Paths


def paths_on(mesh):
    return Paths.on(mesh.points, mesh.zone_cells("skin"))


def position(paths, station):
    return station.weights @ paths.points[paths.triangles[station.cell]]


def row_of(paths, node):
    (row,) = np.flatnonzero(paths.rim.nodes == node)
    return int(row)


@pytest.mark.parametrize("share", [0.25, 0.5, 0.75])
def test_from_the_corner_of_an_l_a_path_runs_straight(share):
    mesh = l_plate(20, jitter=0.25)
    paths = paths_on(mesh)
    row = row_of(paths, int(np.argmin(np.linalg.norm(mesh.points - [50, 50, 0], axis=1))))
    distances = [0.0, 3.0, 11.0, 30.0]
    stations, passed = paths.inward(row, share, distances)
    places = np.array([position(paths, station) for station in stations]) - [50, 50, 0]
    np.testing.assert_allclose(np.linalg.norm(places, axis=1), distances, atol=1e-9)
    direction = places[1:] / np.array(distances[1:])[:, None]
    np.testing.assert_allclose(direction - direction[0], 0.0, atol=1e-9)
    # from the side x = 50, going up, or from y = 50, going right; the middle is the diagonal
    angle = np.degrees(np.arctan2(direction[0, 1], direction[0, 0])) % 360
    assert min(abs(angle - 90 - 270 * k) for k in (share, 1 - share)) < 1e-6
    assert set(passed) >= {station.cell for station in stations}
    assert all(np.min(station.weights) > -1e-9 for station in stations)


def test_a_path_ends_with_the_surface():
    paths = paths_on(l_plate(10))
    row = row_of(paths, int(np.argmin(np.linalg.norm(paths.points - [50, 50, 0], axis=1))))
    stations, _ = paths.inward(row, 0.5, [10.0, 70.0, 71.0])
    assert len(stations) == 2  # the far corner is √2 · 50 away


def test_on_a_cylinder_a_path_unfolds():
    radius = 40.0

    def tube(u, v):
        return radius * np.cos(2 * u), radius * np.sin(2 * u), 60 * v

    mesh = turned(grid(60, 45, tube, diagonal="random", jitter=0.2), rotation := random_rotation())
    paths = paths_on(mesh)
    row = row_of(paths, mesh.place("u0v0")[0])
    (station,), _ = paths.inward(row, 0.5, [50.0])
    x, y, z = position(paths, station) @ rotation
    assert z == pytest.approx(50 / np.sqrt(2), rel=5e-3)
    assert radius * np.arctan2(y, x) == pytest.approx(50 / np.sqrt(2), rel=5e-3)


def test_a_path_from_a_straight_side_is_normal_to_it():
    mesh = grid(12, 9, flat(60, 45), diagonal="random")
    paths = paths_on(mesh)
    for node in mesh.place("u0")[1:-1]:
        (station,), _ = paths.inward(row_of(paths, node), 0.5, [17.0])
        np.testing.assert_allclose(
            position(paths, station) - mesh.points[node], [17, 0, 0], atol=1e-9
        )

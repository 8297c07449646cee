# SPDX-License-Identifier: MIT
"""Subdivision keeps names, order, area and folds, and comes closer to a round shape."""

import numpy as np
import pytest

from fea.errors import UnsupportedError
from fea.mesh.mesh import Mesh, triangle_geometry
from fea.mesh.subdivision import subdivided
from fea.mesh.topology import edges_of

RADIUS, HEIGHT = 10.0, 20.0


def grid(rows, columns):
    """Triangles of a grid of (rows + 1) (columns + 1) nodes."""
    corner = (np.arange(rows)[:, None] * (columns + 1) + np.arange(columns)).ravel()
    across = corner + columns + 1
    return np.concatenate([np.stack([corner, across, across + 1], 1),
                           np.stack([corner, across + 1, corner + 1], 1)])


def half_tube(count):
    """A half tube of count x count squares."""
    angle, z = np.meshgrid(np.linspace(0, np.pi, count + 1), np.linspace(0, HEIGHT, count + 1),
                           indexing="ij")
    points = np.stack([RADIUS * np.cos(angle), RADIUS * np.sin(angle), z], -1).reshape(-1, 3)
    return Mesh(points, {"triangle": grid(count, count)},
                zones={"low": ("triangle", np.flatnonzero(
                    points[grid(count, count)].mean(axis=1)[:, 2] < 0.5 * HEIGHT))},
                places={"foot": np.flatnonzero(points[:, 2] == 0.0), "tip": [3]})


def off_the_tube(mesh):
    """Distances of the nodes from the tube, without those beside its four corners."""
    away = np.abs(np.hypot(*mesh.points[:, :2].T) - RADIUS)
    corners = mesh.points[np.argsort(np.abs(mesh.points[:, 1])
                                     + np.minimum(mesh.points[:, 2], HEIGHT - mesh.points[:, 2]))]
    near = np.linalg.norm(mesh.points[:, None] - corners[:4], axis=2).min(axis=1)
    return away[near > 0.3 * RADIUS]


def test_the_old_nodes_stay_and_each_triangle_has_four_parts():
    coarse = half_tube(6)
    fine = subdivided(coarse)
    np.testing.assert_array_equal(fine.points[: len(coarse.points)], coarse.points)
    assert len(fine.cells["triangle"]) == 4 * len(coarse.cells["triangle"])
    parts = fine.points[fine.cells["triangle"]].mean(axis=1).reshape(-1, 4, 3)
    owners = coarse.points[coarse.cells["triangle"]].mean(axis=1)
    assert np.linalg.norm(parts.mean(axis=1) - owners, axis=1).max() < 0.6
    normals, old = (triangle_geometry(m.points, m.cells["triangle"])[1] for m in (fine, coarse))
    assert (normals * np.repeat(old, 4, axis=0)).sum(axis=1).min() > 0.9


def test_no_edge_opens():
    coarse, fine = half_tube(6), subdivided(half_tube(6))
    assert (edges_of(fine.cells["triangle"]).uses == 1).sum() == 2 * (
        edges_of(coarse.cells["triangle"]).uses == 1).sum()


def test_places_and_zones_follow():
    coarse, fine = half_tube(6), subdivided(half_tube(6))
    assert len(fine.place("foot")) == 2 * len(coarse.place("foot")) - 1
    assert np.ptp(fine.points[fine.place("foot")][:, 2]) == 0.0
    assert fine.place("tip").tolist() == [3]
    low = fine.points[fine.zone_cells("low")].mean(axis=1)[:, 2]
    assert len(low) == 4 * len(coarse.zone_cells("low"))
    assert low.max() < 0.5 * HEIGHT


def test_a_tube_becomes_rounder():
    """Chords of 22.5° lie 10 (1 − cos 11.25°) = 0.192 off the tube; lifted middles of order 4."""
    gaps = [off_the_tube(subdivided(half_tube(count))).max() for count in (8, 16, 32)]
    assert gaps[0] < 0.05 * 0.192
    assert np.log2(np.divide(gaps[:-1], gaps[1:])).min() > 3.0
    assert off_the_tube(subdivided(subdivided(half_tube(16)))).max() < 2.0 * gaps[1]


def test_a_round_hole_in_a_plate_becomes_rounder_and_stays_flat():
    angle = np.linspace(0, 2 * np.pi, 25)[:-1]
    rings = [radius * np.stack([np.cos(angle), np.sin(angle), 0 * angle], 1) for radius in (5, 9)]
    ring = np.arange(24)
    a, b, c, d = ring, np.roll(ring, -1), ring + 24, np.roll(ring, -1) + 24
    plate = Mesh(np.concatenate(rings),
                 {"triangle": np.concatenate([np.stack([a, c, d], 1), np.stack([a, d, b], 1)])})
    fine = subdivided(plate)
    assert np.abs(fine.points[:, 2]).max() == 0.0
    radius = np.hypot(*fine.points[48:, :2].T)
    assert np.sort(np.abs(radius - 5.0))[:24].max() < 0.02 * 5.0 * (1 - np.cos(np.pi / 24))


def test_a_square_plate_and_a_right_fold_keep_their_shape():
    x, y = np.meshgrid(np.linspace(0, 3, 4), np.linspace(0, 3, 4), indexing="ij")
    flat = np.stack([x, y, 0 * x], -1).reshape(-1, 3)
    fine = subdivided(Mesh(flat, {"triangle": grid(3, 3)}))
    assert triangle_geometry(fine.points, fine.cells["triangle"])[0].sum() == pytest.approx(9.0)
    assert np.unique(2.0 * fine.points[:, :2]) == pytest.approx(np.arange(7))
    folded = np.where(x[..., None] > 1.5, np.stack([1.5 + 0 * x, y, x - 1.5], -1),
                      np.stack([x, y, 0 * x], -1)).reshape(-1, 3)
    folded[:, 0] = np.where(x.ravel() == 1.0, 1.5, folded[:, 0])
    fine = subdivided(Mesh(folded, {"triangle": grid(3, 3)}))
    on_a_leg = np.minimum(np.abs(fine.points[:, 2]), np.abs(fine.points[:, 0] - 1.5))
    assert on_a_leg.max() < 1e-12


def test_lines_are_halved_on_the_nodes_of_the_shell():
    mesh = Mesh([[0, 0, 0], [2, 0, 0], [0, 2, 0], [4, 0, 0]],
                {"triangle": [[0, 1, 2]], "line": [[1, 0], [1, 3]]},
                zones={"bar": ("line", [1]), "rib": ("line", [0])})
    fine = subdivided(mesh)
    assert len(fine.points) == 8  # the rib shares its middle with the triangle
    assert fine.points[fine.zone_cells("rib")].tolist() == [
        [[2, 0, 0], [1, 0, 0]], [[1, 0, 0], [0, 0, 0]]]
    assert fine.points[fine.zone_cells("bar")][:, :, 0].tolist() == [[2, 3], [3, 4]]


def test_solids_are_refused():
    solid = Mesh(np.eye(10, 3), {"tetra10": [range(10)]})
    with pytest.raises(UnsupportedError, match="tetra10"):
        subdivided(solid)

# SPDX-License-Identifier: MIT
"""Faults of a surface with their place, measures of shape, and how cells hang together."""

import numpy as np
import pytest

from fea.mesh.mesh import Mesh
from fea.mesh.quality import (
    aspect_ratios,
    flat_triangles,
    loose_parts,
    smallest_angles,
    surface_faults,
    surface_quality,
)
from fea.mesh.topology import boundary_loops, edges_of

NO_LINES = np.empty((0, 2), dtype=int)


def test_aspect_and_angle_of_a_right_triangle_by_hand():
    points = np.array([[0, 0, 0], [3, 0, 0], [0, 4, 0]], dtype=float)
    cell = np.array([[0, 1, 2]])
    # longest 5, perimeter 12, area 6: 5·12/(4·√3·6) = 1.4434; smallest angle atan(3/4)
    assert aspect_ratios(points, cell)[0] == pytest.approx(1.44338, abs=1e-5)
    assert np.degrees(smallest_angles(points, cell)[0]) == pytest.approx(36.8699, abs=1e-4)


def test_flat_triangles_are_found_at_any_size():
    shape = np.array([[0, 0, 0], [1, 0, 0], [2, 0, 0], [0, 1, 0]], dtype=float)
    cells = np.array([[0, 1, 3], [0, 1, 2], [0, 0, 3]])
    for size in (1e-3, 1.0, 1e3):
        assert flat_triangles(size * shape, cells).tolist() == [1, 2]


def test_faults_are_named_with_count_and_place():
    points = np.array([[0, 0, 0], [30, 0, 0], [0, 30, 0], [60, 0, 0]], dtype=float)
    triangles = np.array([[0, 1, 2], [0, 1, 3], [2, 1, 0]])
    lines = np.array([[0, 1], [1, 0], [3, 3]])
    assert [str(problem) for problem in surface_faults(points, triangles, lines)] == [
        "mesh: 1 triangles have no area, the first at (30, 0, 0); collapse or remove them in the "
        "mesh program",
        "mesh: 1 triangles repeat another triangle, the first at (10, 10, 0); remove one of each "
        "pair: two walls in one place would count twice",
        "mesh: 1 line cells have no length, the first at (60, 0, 0); remove them",
        "mesh: 1 line cells repeat another line cell, the first at (15, 0, 0); remove one of each "
        "pair",
    ]


def test_a_loose_part_is_told_by_size_and_place_and_cured_by_a_tie():
    points = np.array([[0, 0, 0], [1, 0, 0], [0, 1, 0], [1, 1, 0],
                       [9, 0, 0], [12, 0, 0], [9, 3, 0]], dtype=float)
    cells = {"triangle": np.array([[0, 1, 2], [1, 3, 2], [4, 5, 6]])}
    (problem,) = loose_parts(points, cells)
    assert str(problem).startswith(
        "mesh: falls apart into 2 loose parts (4 nodes around (0.5, 0.5, 0); "
        "3 nodes around (10, 1, 0))")
    assert loose_parts(points, cells, ties=[np.array([3, 4])]) == []


def test_a_tee_joint_is_legal_and_counted():
    points = np.array([[0, 0, 0], [0, 1, 0], [1, 0, 0], [-1, 0, 0], [0, 0, 1]], dtype=float)
    triangles = np.array([[0, 2, 1], [0, 1, 3], [0, 1, 4]])
    assert surface_faults(points, triangles, NO_LINES) == []
    assert loose_parts(points, {"triangle": triangles}) == []
    quality = surface_quality(Mesh(points, {"triangle": triangles}))
    assert (quality.tee_edges, quality.parts, quality.triangles) == (1, 1, 3)


def test_a_tube_has_two_border_loops():
    ring = np.arange(6)
    cells = np.concatenate([np.stack([ring, (ring + 1) % 6, ring + 6], 1),
                            np.stack([(ring + 1) % 6, (ring + 1) % 6 + 6, ring + 6], 1)])
    loops = boundary_loops(cells)
    assert sorted(sorted(loop.tolist()) for loop in loops) == [[0, 1, 2, 3, 4, 5],
                                                               [6, 7, 8, 9, 10, 11]]
    assert (edges_of(cells).uses <= 2).all()

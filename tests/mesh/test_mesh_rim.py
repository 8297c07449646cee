# SPDX-License-Identifier: MIT
"""The angle of the free rim, measured in the surface."""

import numpy as np
import pytest
from cornered import hollow_strip, l_plate
from small_models import flat, grid, random_rotation, turned

from fea.mesh.rim import rim_of


def degrees_at(mesh, node):
    rim = rim_of(mesh.points, mesh.zone_cells("skin"))
    return np.degrees(rim.angle[rim.nodes == node])


def test_a_rectangle_has_four_right_angles_and_straight_sides():
    mesh = grid(5, 4, flat(50, 40), diagonal="random", jitter=0.2)
    rim = rim_of(mesh.points, mesh.zone_cells("skin"))
    degrees = np.degrees(rim.angle)
    assert len(rim.nodes) == 18 and np.sum(np.isclose(degrees, 90)) == 4
    assert np.sum(np.isclose(degrees, 180)) == 14


def test_the_corner_of_an_l_has_270_degrees_whatever_the_orientation():
    mesh = turned(l_plate(8), random_rotation())
    reversed_half = mesh.zone_cells("skin").copy()
    reversed_half[::2] = reversed_half[::2, ::-1]  # as in a file whose triangles turn both ways
    rim = rim_of(mesh.points, reversed_half)
    assert np.degrees(rim.angle.max()) == pytest.approx(270)
    following = rim.neighbours[rim.angle.argmax()]
    assert rim.spacing[rim.angle.argmax()] == pytest.approx(12.5)
    np.testing.assert_allclose(np.degrees(rim.angle[following]), 180)


@pytest.mark.parametrize("bow", [0.0, 150.0])
def test_the_curvature_of_an_arc_is_one_over_its_radius_also_in_a_bowed_sheet(bow):
    mesh = hollow_strip(25.0, 2.0, bow=bow)
    rim = rim_of(mesh.points, mesh.zone_cells("skin"))
    middle = np.isin(rim.nodes, mesh.place("v0")) & (rim.turning > 0.06)
    np.testing.assert_allclose(1 / rim.curvature[middle], 25.0, rtol=0.02)


def test_rims_that_touch_in_a_node_are_two_points():
    wings = np.array([[0, 1, 2], [0, 3, 4]])
    points = np.array([[0, 0, 0], [1, 0, 0], [1, 1, 0], [-1, 0, 0], [-1, -1, 0.0]])
    rim = rim_of(points, wings)
    np.testing.assert_allclose(np.degrees(rim.angle[rim.nodes == 0]), [45, 45])


def test_the_end_of_a_t_joint_is_no_point_of_the_rim():
    points = np.array([[0, 0, 0], [1, 0, 0], [0, 1, 0], [0, -1, 0], [0, 0, 1.0]])
    rim = rim_of(points, np.array([[0, 1, 2], [0, 1, 3], [0, 1, 4]]))
    assert sorted(rim.nodes.tolist()) == [2, 3, 4]
    assert (rim.neighbours == -1).all()

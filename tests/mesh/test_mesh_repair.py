# SPDX-License-Identifier: MIT
"""Repairs that change no shape: orientation, split quadrilaterals, merged points."""

import numpy as np
import pytest

from fea.errors import MeshError
from fea.mesh.mesh import triangle_geometry
from fea.mesh.repair import merged_points, oriented, split_quadrilaterals


def tube(around=16, along=6, radius=40.0, height=100.0):
    """An open tube about the z axis whose normals point outwards."""
    angle = 2 * np.pi * np.arange(around) / around
    ring = np.stack([radius * np.cos(angle), radius * np.sin(angle)], axis=1)
    points = np.concatenate([np.column_stack([ring, np.full(around, z)])
                             for z in np.linspace(0.0, height, along)])
    cells = []
    for row in range(along - 1):
        for k in range(around):
            a, b = row * around + k, row * around + (k + 1) % around
            cells += [[a, b, b + around], [a, b + around, a + around]]
    return points, np.array(cells)


AXIS = np.array([[[0.0, 0, 0], [0, 0, 100]]])


def outwards(points, triangles):
    _, normals = triangle_geometry(points, triangles)
    return np.einsum("ij,ij->i", normals, points[triangles].mean(axis=1) * [1, 1, 0])


def test_scattered_wrong_cells_are_turned_and_counted():
    points, triangles = tube()
    wrong = [3, 50, 51, 120]
    mixed = triangles.copy()
    mixed[wrong] = mixed[wrong][:, ::-1]
    result = oriented(points, mixed, AXIS)
    assert (result.mixed, result.inward) == (4, 0)
    assert (outwards(points, result.triangles) > 0).all()
    assert result.notes == ("4 of 160 triangles had a mixed orientation and were turned to agree "
                            "with their neighbours",)


def test_a_surface_that_faces_the_limb_is_turned_as_a_whole():
    points, triangles = tube()
    result = oriented(points, triangles[:, ::-1], AXIS)
    assert (result.mixed, result.inward) == (0, 160)
    assert (outwards(points, result.triangles) > 0).all()


def test_mixed_and_inward_are_told_apart():
    points, triangles = tube()
    inside = triangles[:, ::-1].copy()
    inside[:10] = inside[:10, ::-1]
    result = oriented(points, inside, AXIS)
    assert (result.mixed, result.inward) == (10, 160)
    assert (outwards(points, result.triangles) > 0).all()


def test_a_good_surface_is_left_alone():
    points, triangles = tube()
    result = oriented(points, triangles, AXIS)
    np.testing.assert_array_equal(result.triangles, triangles)
    assert result.notes == ()


def test_without_an_axis_the_larger_area_decides():
    points, triangles = tube()
    mixed = triangles[:, ::-1].copy()
    mixed[:3] = mixed[:3, ::-1]
    result = oriented(points, mixed)
    assert (result.mixed, result.inward) == (3, 0)
    assert (outwards(points, result.triangles) < 0).all()


def test_a_tee_joint_ends_a_smooth_part():
    # three unit squares meet in the edge from node 0 to node 1
    points = np.array([[0, 0, 0], [0, 1, 0], [1, 0, 0], [1, 1, 0],
                       [-1, 0, 0], [-1, 1, 0], [0, 0, 1], [0, 1, 1]], dtype=float)
    triangles = np.array([[0, 2, 3], [0, 3, 1], [0, 1, 5], [0, 5, 4], [0, 6, 7], [0, 7, 1]])
    result = oriented(points, triangles)
    assert result.mixed == 0
    turned = triangles.copy()
    turned[5] = turned[5, ::-1]
    # two triangles of one wing disagree: one of them is turned, the other wings stay
    result = oriented(points, turned)
    assert result.mixed == 1
    np.testing.assert_array_equal(result.triangles[:4], triangles[:4])


def test_a_one_sided_band_is_refused_with_its_place():
    steps = 12
    angle = 2 * np.pi * np.arange(steps) / steps
    across = np.stack([np.cos(angle / 2) * np.cos(angle), np.cos(angle / 2) * np.sin(angle),
                       np.sin(angle / 2)], axis=1)
    middle = 3 * np.stack([np.cos(angle), np.sin(angle), 0 * angle], axis=1)
    points = np.concatenate([middle - across, middle + across])
    cells = []
    for k in range(steps):
        a, b = k, k + steps
        c, d = (k + 1, k + 1 + steps) if k + 1 < steps else (steps, 0)
        cells += [[a, c, d], [a, d, b]]
    with pytest.raises(MeshError, match=r"the surface near \(.*\) has only one side"):
        oriented(points, np.array(cells))


def test_quadrilaterals_take_the_shorter_diagonal():
    points = np.array([[0, 0, 0], [1, -1, 0], [4, 0, 0], [1, 1, 0]], dtype=float)
    triangles, owner = split_quadrilaterals(points, np.array([[0, 1, 2, 3], [1, 2, 3, 0]]))
    assert owner.tolist() == [0, 0, 1, 1]
    for pair in (triangles[:2], triangles[2:]):
        assert set(pair[0]) & set(pair[1]) == {1, 3}
    _, normals = triangle_geometry(points, triangles)
    np.testing.assert_allclose(normals[:, 2], 1.0)


def test_a_dented_quadrilateral_is_split_at_its_dent():
    # the short diagonal 1-3 lies outside of this arrowhead: it would fold
    points = np.array([[0, 0, 0], [2, -1, 0], [1, 0, 0], [2, 1, 0]], dtype=float)
    triangles, _ = split_quadrilaterals(points, np.array([[0, 1, 2, 3]]))
    areas, normals = triangle_geometry(points, triangles)
    assert areas.sum() == pytest.approx(1.0)  # half of base 2 times height 2, less the dent
    np.testing.assert_allclose(normals[:, 2], 1.0)


def test_points_merge_in_chains_only_within_the_tolerance():
    points = np.array([[0, 0, 0], [0.9, 0, 0], [1.8, 0, 0], [5, 0, 0]])
    assert merged_points(points, 1.0).tolist() == [0, 0, 0, 3]
    assert merged_points(points, 0.5).tolist() == [0, 1, 2, 3]

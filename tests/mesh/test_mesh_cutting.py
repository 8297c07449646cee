# SPDX-License-Identifier: MIT
"""Triangles cut along a line: same surface, no gaps, zones and places kept; and middle lines."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fea.errors import MeshError
from fea.mesh.cutting import cut, parts_of, refined
from fea.mesh.mesh import Mesh, triangle_geometry
from fea.mesh.midline import midline
from fea.mesh.topology import edges_of


def sheet(nx=6, ny=4, jitter=0.0, seed=0):
    """A flat sheet of 60 by 40 with zones "left" (x < 30) and "right", and its rim as a line."""
    x, y = np.meshgrid(np.linspace(0, 60, nx + 1), np.linspace(0, 40, ny + 1), indexing="ij")
    points = np.stack([x, y, 0 * x], axis=-1).reshape(-1, 3)
    inside = (x > 0) & (x < 60) & (y > 0) & (y < 40)
    points[inside.ravel(), :2] += jitter * np.random.default_rng(seed).uniform(
        -1, 1, (int(inside.sum()), 2))
    a = (np.arange(nx)[:, None] * (ny + 1) + np.arange(ny)).ravel()
    b = a + ny + 1
    triangles = np.concatenate([np.stack([a, b, a + 1], 1), np.stack([b, b + 1, a + 1], 1)])
    left = points[triangles].mean(axis=1)[:, 0] < 30
    front = np.arange(ny)
    lines = np.stack([front, front + 1], axis=1)
    return Mesh(points, {"triangle": triangles, "line": lines},
                places={"foot": np.arange(ny + 1)},
                zones={"left": ("triangle", np.flatnonzero(left)),
                       "right": ("triangle", np.flatnonzero(~left)[::-1]),
                       "bar": ("line", np.arange(ny))})


def area(mesh, zone):
    return triangle_geometry(mesh.points, mesh.zone_cells(zone))[0].sum()


@settings(max_examples=40, deadline=None)
@given(level=st.floats(1.0, 39.0), slope=st.floats(-0.8, 0.8), seed=st.integers(0, 5))
def test_a_cut_keeps_the_surface_and_ends_cells_on_the_line(level, slope, seed):
    mesh = sheet(jitter=2.5, seed=seed)
    values = (mesh.points[:, 1] + slope * mesh.points[:, 0])[:, None]
    made = cut(mesh, values, 0, level)
    for zone in ("left", "right"):
        assert area(made.mesh, zone) == pytest.approx(area(mesh, zone), rel=1e-12)
    areas, normals = triangle_geometry(made.mesh.points, made.mesh.cells["triangle"])
    assert areas.min() > 0.0 and (normals[:, 2] > 0.99).all()
    edges = edges_of(made.mesh.cells["triangle"])
    assert edges.uses.max() == 2
    inside = made.mesh.points[edges.ends[edges.border]]
    assert np.isin(inside, [0.0, 60.0, 40.0]).any(axis=2).all()  # no gap has opened
    at = made.values[made.mesh.cells["triangle"], 0] - level
    assert not ((at.min(axis=1) < -1e-9) & (at.max(axis=1) > 1e-9)).any()


def test_parts_follow_their_cells_and_neighbours_are_split_to_fit():
    mesh = sheet()
    chosen = np.zeros(len(mesh.cells["triangle"]), dtype=bool)
    chosen[mesh.zone("left")[1]] = True
    made = cut(mesh, mesh.points, 1, 15.0, chosen)
    wall = np.arange(len(mesh.zone("right")[1]), dtype=float)
    parts = made.parts["triangle"][mesh.zone("right")[1]]
    centres = mesh.points[mesh.zone_cells("right")].mean(axis=1)
    fine = made.mesh.points[made.mesh.zone_cells("right")].mean(axis=1)
    assert np.linalg.norm(fine - np.repeat(centres, parts, axis=0), axis=1).max() < 6.0
    assert len(np.repeat(wall, parts)) == len(made.mesh.zone("right")[1])
    assert (parts > 1).any() and (parts == 1).sum() > len(parts) / 2


def test_lines_and_places_along_a_cut_edge_are_cut_with_it():
    mesh = sheet()
    made = cut(mesh, mesh.points, 1, 15.0)
    assert made.parts["line"].tolist() == [1, 2, 1, 1]
    assert len(made.mesh.place("foot")) == len(mesh.place("foot")) + 1
    ends = made.mesh.points[made.mesh.zone_cells("bar")]
    assert np.linalg.norm(ends[:, 1] - ends[:, 0], axis=1).sum() == pytest.approx(40.0)


def test_parts_of_keeps_the_order_of_the_cells():
    assert parts_of(np.array([1, 0]), np.array([2, 2])).tolist() == [2, 3, 0, 1]


def tube(share, count=40):
    """A part of an upright tube of radius 50 and height 100, open at the back."""
    angle = np.linspace(-0.5 * share, 0.5 * share, count + 1) * 2.0 * np.pi
    z = np.linspace(0.0, 100.0, 21)
    a, h = np.meshgrid(angle, z, indexing="ij")
    points = np.stack([50 * np.cos(a), 50 * np.sin(a), h], axis=-1).reshape(-1, 3)
    low = (np.arange(count)[:, None] * 21 + np.arange(20)).ravel()
    side = low + 21
    return points, np.concatenate(
        [np.stack([low, side, low + 1], 1), np.stack([side, side + 1, low + 1], 1)])


def test_the_middle_line_runs_half_way_along_the_surface():
    points, triangles = tube(0.6)
    line = midline(points, triangles, 2, 20.0, 80.0)
    assert line.points[:, 0] == pytest.approx(50.0, abs=0.2)
    assert line.points[:, 1] == pytest.approx(0.0, abs=0.2)
    assert line.length == pytest.approx(60.0, rel=1e-3)
    # the part lies across, so it is counted to the left
    moved = midline(points, triangles, 2, 20.0, 80.0, aside=20.0)
    angle = np.arctan2(moved.points[:, 1], moved.points[:, 0])
    assert 50.0 * angle == pytest.approx(20.0, abs=0.3)
    assert line.beside(np.array([[50.0, 7.0, 50.0], [50.0, -7.0, 30.0]])) == pytest.approx(
        [7.0, -7.0], abs=0.05)


def test_a_part_that_closes_round_has_no_middle_line():
    points, triangles = tube(1.0)
    merged = np.where(np.arange(len(points)) >= len(points) - 21,
                      np.arange(len(points)) - (len(points) - 21), np.arange(len(points)))
    with pytest.raises(MeshError, match="closes round"):
        midline(points, merged[triangles], 2, 20.0, 80.0)
    with pytest.raises(MeshError, match="no part of the surface"):
        midline(points, triangles, 2, 120.0, 180.0)


def test_beside_an_opening_the_line_runs_on_straight():
    mesh = sheet(nx=24, ny=16)
    centre = mesh.points[mesh.cells["triangle"]].mean(axis=1)
    legs = (np.abs(centre[:, 1] - 17.0) > 5.0) | (centre[:, 0] < 35.0)  # open off the middle
    line = midline(mesh.points, mesh.cells["triangle"][legs], 0, 0.0, 60.0)
    assert line.points[:, 1] == pytest.approx(20.0, abs=0.01)
    assert line.points[0, 0] == pytest.approx(0.0) and line.points[-1, 0] == pytest.approx(60.0)


def test_refined_cells_are_as_small_as_asked_and_keep_shape_zones_and_lines():
    rng = np.random.default_rng(3)
    x, y = (each.ravel() for each in np.meshgrid(np.arange(6.0), np.arange(5.0), indexing="ij"))
    a = (np.arange(5)[:, None] * 5 + np.arange(4)).ravel()
    triangles = np.concatenate([np.stack([a, a + 5, a + 6], 1), np.stack([a, a + 6, a + 1], 1)])
    points = np.stack([x, y, 0.3 * rng.random(30)], axis=1)
    mesh = Mesh(points, {"triangle": triangles, "line": [[0, 5], [5, 10]]},
                places={"side": [0, 5, 10]},
                zones={"low": ("triangle", np.arange(20)), "high": ("triangle", np.arange(20, 40)),
                       "bar": ("line", [0, 1])})  # fmt: skip

    def size(at):
        return 0.4 + 0.5 * np.linalg.norm(at[:, :2] - [0.5, 0.5], axis=1)

    fine, parts = refined(mesh, size)
    assert (fine.points[:30] == points).all() and parts.sum() == len(fine.cells["triangle"])
    ends = fine.points[edges_of(fine.cells["triangle"]).ends]
    assert (np.linalg.norm(ends[:, 1] - ends[:, 0], axis=1) <= size(ends.mean(axis=1))).all()
    old = triangle_geometry(points, triangles)[0]
    new = triangle_geometry(fine.points, fine.cells["triangle"])[0]
    assert np.add.reduceat(new, np.cumsum(parts) - parts) == pytest.approx(old)
    assert len(fine.zone("low")[1]) == parts[:20].sum() and len(fine.zone_cells("bar")) > 2
    assert set(fine.place("side")) == set(fine.zone_nodes("bar"))

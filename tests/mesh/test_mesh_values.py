# SPDX-License-Identifier: MIT
"""The frozen mesh: what it holds, and what it refuses in which words."""

import numpy as np
import pytest

from fea.errors import MeshError
from fea.mesh.mesh import Mesh, triangle_geometry

POINTS = [[0, 0, 0], [1, 0, 0], [0, 1, 0], [1, 1, 0]]
CELLS = {"triangle": [[0, 1, 2], [1, 3, 2]]}


def test_places_and_zones_speak_by_name():
    mesh = Mesh(POINTS, CELLS, {"edge": [2, 0, 2]}, {"skin": ("triangle", [1, 0])})
    assert mesh.place("edge").tolist() == [0, 2]
    assert mesh.zone_cells("skin").tolist() == [[1, 3, 2], [0, 1, 2]]  # the zone's own order
    assert mesh.zone_nodes("skin").tolist() == [0, 1, 2, 3]


def test_a_mesh_is_frozen_and_changed_by_copies():
    mesh = Mesh(POINTS, CELLS)
    with pytest.raises(ValueError, match="read-only"):
        mesh.points[0] = 1.0
    moved = mesh.with_points(mesh.points + 1.0).with_places({"corner": [0]})
    assert moved.points[0].tolist() == [1, 1, 1]
    assert (dict(mesh.places), mesh.points[0].tolist()) == ({}, [0, 0, 0])


def test_areas_and_normals_by_hand():
    areas, normals = triangle_geometry(np.array(POINTS, float), np.array([[0, 1, 2], [0, 0, 1]]))
    assert areas.tolist() == [0.5, 0.0]
    assert normals.tolist() == [[0, 0, 1], [0, 0, 0]]


@pytest.mark.parametrize(("arguments", "words"), [
    (([[0, 0]], {}), r"points must have shape \(n, 3\); got \(1, 2\)"),
    (([[0, 0, np.inf]], {}), "point 0 has a coordinate that is not finite"),
    ((POINTS, {"quad": [[0, 1, 3, 2]]}), "split each quadrilateral into two triangles"),
    ((POINTS, {"tetra": [[0, 1, 3, 2]]}), "add mid-side nodes"),
    ((POINTS, {"triangle": [[0, 1, 4]]}), r"triangle cell 0 uses node \[0, 1, 4\], but there"),
    ((POINTS, CELLS, {"edge": []}), "place 'edge' is empty"),
    ((POINTS, CELLS, {"edge": [7]}), "place 'edge' names node 7, but there are 4 of them"),
    ((POINTS, CELLS, {}, {"bar": ("line", [0])}), "zone 'bar' is made of line cells"),
    ((POINTS, CELLS, {}, {"skin": ("triangle", [0, 0])}), "zone 'skin' names a cell twice"),
])
def test_a_bad_mesh_is_refused(arguments, words):
    with pytest.raises(MeshError, match=words):
        Mesh(*arguments)


def test_an_unknown_name_lists_the_known_ones():
    mesh = Mesh(POINTS, CELLS, {"edge": [0]}, {"skin": ("triangle", [0])})
    with pytest.raises(MeshError, match="unknown zone 'cuff'; this mesh has 'skin'"):
        mesh.zone("cuff")
    with pytest.raises(MeshError, match="unknown place 'tip'; this mesh has 'edge'"):
        mesh.place("tip")

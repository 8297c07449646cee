# SPDX-License-Identifier: MIT
"""What one mesh leaves out stays where it is on finer ones."""

import numpy as np
import pytest
from cornered import l_plate, ribbed_plate
from small_models import STEEL

import fea
from fea.errors import ModelError
from fea.mesh.mesh import triangle_geometry
from fea.mesh.subdivision import subdivided
from fea.structure.region import Region
from fea.structure.singular import left_out, singular_places


def region(mesh, wall=2.0):
    zones = {zone: fea.ShellSection(STEEL, thickness=wall) for zone in mesh.zones}
    structure = fea.Structure(mesh, zones)
    return left_out(structure, singular_places(structure))


def area(mesh, cells):
    return triangle_geometry(mesh.points, mesh.cells["triangle"])[0][cells].sum()


def test_of_a_subdivided_mesh_it_is_the_parts_of_the_same_cells():
    coarse = l_plate(12, jitter=0.2)
    held = region(coarse)
    fine = subdivided(coarse)
    assert held.cells.any()
    np.testing.assert_array_equal(held.on(fine), np.repeat(held.cells, 4))
    np.testing.assert_array_equal(held.on(subdivided(fine)), np.repeat(held.cells, 16))


@pytest.mark.parametrize("cells", [30, 62, 100])
def test_of_a_mesh_made_anew_it_is_the_same_part_of_the_plate(cells):
    held = region(l_plate(20))
    fine = l_plate(cells, jitter=0.2, seed=cells)
    found, step = held.on(fine), 100 / cells
    whole = area(held.mesh, held.cells)
    rim = 4 * np.sqrt(whole)  # about as long as its border
    assert whole - 1e-9 <= area(fine, found) < whole + 1.5 * step * rim
    # while what the fine mesh itself would leave out shrinks with its cells
    assert area(fine, region(fine).cells) < (1.5 * 20 / cells) ** 2 * whole


def test_on_its_own_mesh_it_is_itself_and_nothing_remains_nothing():
    mesh = l_plate(20, jitter=0.2)
    held = region(mesh)
    np.testing.assert_array_equal(held.on(mesh), held.cells)
    assert not Region(mesh, np.zeros(len(held.cells), bool)).on(l_plate(30)).any()


def test_a_near_zone_is_not_taken_for_it():
    plate = ribbed_plate(10, (20, 60))
    skin = np.zeros(len(plate.cells["triangle"]), bool)
    skin[plate.zone("skin")[1]] = True
    np.testing.assert_array_equal(Region(plate, skin).on(plate), skin)


def test_a_mesh_without_its_zone_is_refused():
    mesh = l_plate(10)
    other = fea.Mesh(mesh.points, mesh.cells, zones={"wall": mesh.zone("skin")})
    with pytest.raises(ModelError, match="zone 'skin'.*not on this mesh"):
        region(mesh).on(other)

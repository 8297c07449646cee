# SPDX-License-Identifier: MIT
"""Moulded recipes: one sound surface, trim lines that follow the recipe, refusals that say why."""

import numpy as np
import pytest

from fea.device.moulded import MouldedRecipe, read_moulded_recipe
from fea.device.mouldedshell import ZONES
from fea.errors import DeviceError, FileError
from fea.limb import Limb
from fea.mesh.mesh import triangle_geometry
from fea.shipped import shipped_path
from fea.wearer import Wearer

CHILD = {"mass_kg": 35.0, "height_mm": 1410.0}
ADULT = {"mass_kg": 68.0, "height_mm": 1630.0}
SHIPPED = {
    "ribbed-polypropylene-child": CHILD,
    "bare-two-upright-polypropylene-child": CHILD,
    "polypropylene-adult": ADULT,
    "carbon-laminate-adult": ADULT,
}
COARSE = 12.0


def recipe(name="ribbed-polypropylene-child") -> MouldedRecipe:
    return read_moulded_recipe(shipped_path("meshes", name))


def limb(measures=CHILD, side="left") -> Limb:
    return Limb.of(Wearer(**measures, side=side))


def smallest_angles(mesh):
    corners = mesh.points[mesh.cells["triangle"]]
    angles = []
    for k in range(3):
        one, two = corners[:, k - 1] - corners[:, k], corners[:, k - 2] - corners[:, k]
        cross = np.linalg.norm(np.cross(one, two), axis=1)
        angles.append(np.degrees(np.arctan2(cross, (one * two).sum(axis=1))))
    return np.min(angles, axis=0)


def edges(mesh):
    return mesh.cells["triangle"][:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2)


def border_loops(mesh):
    """Closed loops of edges that only one triangle has."""
    directed = {tuple(edge) for edge in edges(mesh).tolist()}
    after = dict(edge for edge in directed if edge[::-1] not in directed)
    count = 0
    while after:
        start, node = after.popitem()
        while node != start:
            node = after.pop(node)
        count += 1
    return count


def area(device):
    return triangle_geometry(device.mesh.points, device.mesh.cells["triangle"])[0].sum()


@pytest.fixture(scope="module", params=SHIPPED)
def device(request):
    return recipe(request.param).fit(limb(SHIPPED[request.param]))


@pytest.fixture(scope="module")
def coarse():
    return recipe().fit(limb(), COARSE)


def test_the_mesh_is_one_oriented_surface_with_two_borders(device):
    mesh = device.mesh
    directed, counts = np.unique(edges(mesh), axis=0, return_counts=True)
    assert counts.max() == 1  # no edge twice in one direction: oriented and manifold
    assert len(np.unique(mesh.cells["triangle"])) == len(mesh.points)
    undirected = np.unique(np.sort(directed, axis=1), axis=0)
    # a band round the foot's and the calf's opening: Euler characteristic of an annulus
    assert len(mesh.points) - len(undirected) + len(mesh.cells["triangle"]) == 0
    assert border_loops(mesh) == 2


def test_triangles_are_well_shaped(device):
    angles = smallest_angles(device.mesh)
    assert angles.min() > 20.0
    assert np.percentile(angles, 1) > 30.0
    assert 4000 < len(angles) < 13000


def test_normals_point_away_from_the_limb(device):
    mesh, limb_axis = device.mesh, device.landmarks["ankle_axis"]
    areas, normals = triangle_geometry(mesh.points, mesh.cells["triangle"])
    assert areas.min() > 0.2
    middle = mesh.points[mesh.cells["triangle"]].mean(axis=1)
    kinds = {zone: cells for zone, (_, cells) in mesh.zones.items()}
    assert (normals[kinds["foot plate"], 2] < 0.0).all()
    walls = kinds["foot walls"]  # away from the midline; some face back where the foot narrows
    assert (normals[walls, 1] * middle[walls, 1] > 0.0).all()
    for zone, cells in kinds.items():
        if zone not in ("foot plate", "foot walls"):
            outward = middle[cells] - [limb_axis[0], 0.0, 0.0]
            outward[:, 2] = 0.0
            assert ((outward * normals[cells]).sum(axis=1) > 0.0).mean() > 0.97, zone


def test_zones_partition_the_cells_and_every_zone_has_a_wall(device):
    cells = np.concatenate([numbers for _, numbers in device.mesh.zones.values()])
    assert sorted(cells) == list(range(len(device.mesh.cells["triangle"])))
    assert set(device.mesh.zones) == set(device.walls) <= set(ZONES)
    for zones in (device.plate_zones, device.foot_zones, device.shank_zones):
        assert set(zones) <= set(device.mesh.zones)


def test_the_plate_is_flat_at_the_height_of_the_sole(device):
    points = device.mesh.points[device.mesh.zone_nodes("foot plate")]
    between = (points[:, 0] > -5.0) & (points[:, 0] < device.landmarks["ball"][0])
    between &= np.abs(points[:, 1]) < 16.0  # within the rounding to the walls
    assert between.sum() > 100
    assert points[between, 2] == pytest.approx(np.full(between.sum(), device.sole.height), abs=1e-6)


def test_the_right_device_mirrors_the_left():
    left, right = (recipe().fit(limb(side=side), COARSE) for side in ("left", "right"))
    assert right.mesh.points == pytest.approx(left.mesh.points * [1, -1, 1], abs=1e-9)
    assert right.mesh.cells["triangle"].tolist() == left.mesh.cells["triangle"][:, ::-1].tolist()
    for zone in ("ankle medial", "upright lateral"):
        assert right.mesh.zone(zone)[1].tolist() == left.mesh.zone(zone)[1].tolist()
    lateral = left.mesh.points[left.mesh.zone_nodes("upright lateral")]
    assert (lateral[:, 1] > 0.0).all()


def test_a_finer_mesh_has_more_cells_and_the_same_area():
    coarse, fine = (recipe().fit(limb(), size) for size in (8.0, 4.0))
    ratio = len(fine.mesh.cells["triangle"]) / len(coarse.mesh.cells["triangle"])
    assert 3.0 < ratio < 5.0
    assert area(fine) == pytest.approx(area(coarse), rel=0.01)


def test_the_same_recipe_gives_the_same_mesh(coarse):
    again = recipe().fit(limb(), COARSE)
    assert np.array_equal(again.mesh.points, coarse.mesh.points)


def test_a_thicker_wall_keeps_the_mesh_but_for_its_height(coarse):
    thick = recipe().changed({"walls.uprights.sheet_mm": 7.0}).fit(limb(), COARSE)
    assert np.array_equal(thick.mesh.cells["triangle"], coarse.mesh.cells["triangle"])
    assert np.array_equal(thick.mesh.points, coarse.mesh.points)
    assert thick.walls["upright medial"].thickness == pytest.approx(7.0 * 0.9)


def test_a_trim_line_follows_the_recipe(coarse):
    ankle = coarse.landmarks["ankle_axis"]
    points = coarse.mesh.points
    level = np.abs(points[:, 2] - ankle[2] - 20.0) < 8.0
    # the recipe says how far the anterior trim lies ahead of the ankle axis
    ahead = recipe().content.ankle.anterior_trim_mm
    assert points[level, 0].max() == pytest.approx(ankle[0] + ahead, abs=2.0)
    plate = points[coarse.mesh.zone_nodes("foot plate")]
    expected = coarse.landmarks["heel"][0] + (
        recipe().content.foot.plate_length_share * limb().foot_length
    )
    assert plate[:, 0].max() == pytest.approx(expected, abs=0.01)


CHANGES = {
    "gap_mm": 8.0,
    "upright_width_mm": 36.0,
    "foot.plate_length_share": 0.99,
    "foot.toe_rise_mm": 14.0,
    "foot.toe_round_mm": 8.0,
    "foot.wall_height_share": 0.6,
    "foot.wall_end_share": 0.76,
    "foot.sole_radius_mm": 9.0,
    "foot.heel_radius_mm": 16.0,
    "ankle.set_deg": 5.0,
    "ankle.anterior_trim_mm": 12.0,
    "ankle.trim_radius_mm": 18.0,
    "ankle.malleolus_clearance_mm": 8.0,
    "opening.start_share": 0.36,
    "opening.radius_mm": 12.0,
    "front_piece.lower_share": 0.72,
    "front_piece.upper_share": 0.9,
    "front_piece.wrap_share": 0.6,
    "front_piece.lower_radius_mm": 15.0,
    "front_piece.corner_radius_mm": 10.0,
    "front_piece.over_knee_mm": 30.0,
    "shoe.sole_mm": 20.0,
    "ribs": (),
}


@pytest.mark.parametrize("key", CHANGES)
def test_every_parameter_changes_the_geometry(key, coarse):
    changed = recipe().changed({key: CHANGES[key]}).fit(limb(), COARSE)
    same = changed.mesh.points.shape == coarse.mesh.points.shape
    assert not same or np.abs(changed.mesh.points - coarse.mesh.points).max() > 0.5


@pytest.mark.parametrize(
    "key", ["behind_malleolus_mm", "above_malleolus_mm", "height_mm", "width_mm", "length_mm"]
)
def test_every_measure_of_a_rib_changes_the_geometry(key, coarse):
    rib = recipe().content.ribs[0].model_dump()
    changed = recipe().changed({"ribs": ({**rib, key: 0.85 * rib[key]},)}).fit(limb(), COARSE)
    same = changed.mesh.points.shape == coarse.mesh.points.shape
    assert not same or np.abs(changed.mesh.points - coarse.mesh.points).max() > 0.3


def test_a_rib_stands_out_by_its_height():
    smooth = recipe().changed({"ribs": ()}).fit(limb(), 4.0)
    ribbed = recipe().fit(limb(), 4.0)
    ankle = smooth.landmarks["lateral_malleolus"]

    def reach(device):
        points = device.mesh.points
        near = (np.abs(points[:, 2] - ankle[2] - 22.0) < 25.0) & (np.abs(points[:, 0] + 20) < 12.0)
        return points[near, 1].max()

    assert reach(ribbed) - reach(smooth) > 2.0


def test_a_sheet_thins_in_forming_and_tapers(coarse):
    assert coarse.walls["heel"].thickness == pytest.approx(6.0 * 0.75)
    assert coarse.walls["front piece"].thickness == pytest.approx(6.0 * 0.9)
    tapered = recipe().changed({"walls.uprights.upper_sheet_mm": 4.0}).fit(limb(), COARSE)
    wall = tapered.walls["upright medial"]
    assert wall.thickness.max() == pytest.approx(6.0 * 0.9)
    assert wall.thickness.min() == pytest.approx(4.0 * 0.9)


def test_a_measured_wall_is_taken_as_it_is():
    ribbed = recipe("ribbed-polypropylene-child")
    walls = {"material": "polypropylene-homopolymer", "measured_mm": 4.1}
    device = ribbed.changed({"walls.heel": walls}).fit(limb(CHILD), COARSE)
    assert device.walls["heel"].thickness == 4.1 and device.walls["heel"].thinning == 1.0
    assert device.walls["ankle medial"].thickness == pytest.approx(0.75 * 6.0)


def test_thinning_that_nobody_measured_or_gave_is_said():
    ribbed = recipe("ribbed-polypropylene-child")
    (note,) = [words for words in ribbed.fit(limb(CHILD), COARSE).notes if "thins" in words]
    assert "uprights 0.9" in note and "heel" not in note  # the file gives the heel's
    assert "no source" in note and "measured_mm" in note
    sheet = {"material": "polypropylene-homopolymer", "sheet_mm": 6.0}
    bare = ribbed.changed({"walls.heel": sheet})
    assert "heel 0.75" in bare.content.thickness_note(bare.library)
    assert recipe("carbon-laminate-adult").content.thickness_note(bare.library) is None


def test_a_laminate_does_not_thin():
    device = recipe("carbon-laminate-adult").fit(limb(ADULT), COARSE)
    wall = device.walls["upright medial"]
    assert wall.thinning == 1.0
    assert wall.thickness == pytest.approx(wall.layup.thickness)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"foot.heel_radius_mm": 60.0}, "fullest place of this heel"),
        ({"foot.sole_radius_mm": 40.0}, "leaves no wall"),
        ({"foot.wall_height_share": 1.0}, "over the instep"),
        ({"foot.wall_end_share": 0.52}, "too close to the trim radius"),
        ({"foot.plate_length_share": 0.7}, "clears the walls"),
        ({"ankle.anterior_trim_mm": 80.0}, "must lie between"),
        ({"opening.start_share": 0.03}, "heel's rounding"),
        ({"opening.start_share": 0.6}, "the leg cannot get in"),
        ({"upright_width_mm": 120.0, "ribs": ()}, "reaches the posterior midline"),
        ({"front_piece.upper_share": 0.7}, "no height"),
        ({"front_piece.over_knee_mm": 200.0}, "the limb is known to"),
        ({"gap_mm": 1.0}, "cut into the limb"),
        ({"opening.start_share": 0.2, "upright_width_mm": 30.0}, "over the edge of the shell"),
        ({"side": "right"}, "for the right side"),
    ],
)
def test_measures_that_contradict_are_refused_with_the_cure(changes, words):
    with pytest.raises(DeviceError, match=words):
        recipe().changed(changes).fit(limb(), COARSE)


def test_a_wrong_key_or_material_is_refused():
    with pytest.raises(FileError, match="there is no 'trim_mm'; the file has here trim_radius_mm"):
        recipe().changed({"ankle.trim_mm": 3.0})
    with pytest.raises(FileError, match="unknown material 'butter'"):
        recipe().changed({"walls.heel.material": "butter"})
    with pytest.raises(FileError, match="exactly one of sheet_mm, measured_mm and layup"):
        recipe().changed({"walls.heel.sheet_mm": None})
    with pytest.raises(DeviceError, match="element size"):
        recipe().fit(limb(), 0.2)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"name": "../../evil"}, "name: names the report's folder"),
        ({"walls.heel.sheet_mm": 0.006}, "a wall of 0.006 mm lies outside 0.3 to 25 mm; is the"),
        ({"walls.uprights.upper_sheet_mm": 400.0}, "a wall of 400 mm lies outside 0.3 to 25 mm"),
    ],
)
def test_a_folder_as_name_and_slips_of_unit_are_refused(changes, words):
    with pytest.raises(FileError) as error:
        recipe().changed(changes)
    assert words in str(error.value)


def test_a_heel_sole_difference_is_said_to_change_nothing():
    note = "counts only in load cases that ask how the shank stands"
    level = recipe().changed({"shoe.heel_sole_difference_mm": 0.0}).fit(limb(), COARSE)
    assert note in " ".join(recipe().fit(limb(), COARSE).notes)
    assert note not in " ".join(level.notes)

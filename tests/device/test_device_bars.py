# SPDX-License-Identifier: MIT
"""The bar-upright recipe: geometry of bars, rivets and shells, and what it refuses."""

import tomllib

import numpy as np
import pytest
import tomlkit

from fea.device.bars import read_bars_recipe
from fea.device.meshdevice import limb_axis
from fea.device.reader import read_device
from fea.errors import DeviceError, FileError
from fea.limb import Limb
from fea.mesh.quality import loose_parts, surface_faults, surface_quality
from fea.mesh.repair import oriented
from fea.shipped import shipped_path
from fea.wearer import Wearer

SIZE = 10.0


@pytest.fixture(scope="module")
def limb():
    return Limb.of(Wearer(mass_kg=75, height_mm=1740, side="left"))


@pytest.fixture(scope="module")
def device(limb):
    return read_device("aluminium-bars-adult").fit(limb, SIZE)


@pytest.fixture
def content():
    path = shipped_path("meshes", "aluminium-bars-adult")
    return tomllib.loads(path.read_text(encoding="utf-8"))


def read(tmp_path, content):
    path = tmp_path / "bars.toml"
    path.write_text(tomlkit.dumps(content))
    return read_bars_recipe(path)


def ties(device):
    return [np.concatenate([device.mesh.place(f.bar_place), device.mesh.place(f.shell_place)])
            for f in device.fastenings]


def test_the_mesh_is_sound_and_hangs_together_only_through_its_rivets(device):
    mesh = device.mesh
    assert surface_faults(mesh.points, mesh.cells["triangle"], mesh.cells["line"]) == []
    assert loose_parts(mesh.points, dict(mesh.cells), ties(device)) == []
    assert surface_quality(mesh).parts == 4  # two shells and two bars
    quality = surface_quality(mesh, ties(device))
    assert quality.border_loops == 2
    assert quality.smallest_angle_deg > 20.0


def test_zones_partition_the_cells(device):
    for kind in ("triangle", "line"):
        names = device.walls if kind == "triangle" else device.bars
        cells = np.concatenate([device.mesh.zone(name)[1] for name in names])
        np.testing.assert_array_equal(np.sort(cells), np.arange(len(device.mesh.cells[kind])))


def test_every_triangle_faces_away_from_the_limb(device):
    axis = limb_axis(device.mesh.points, device.landmarks)
    result = oriented(device.mesh.points, device.mesh.cells["triangle"], axis)
    assert (result.mixed, result.inward) == (0, 0)


def test_rivets_stand_at_their_real_spacing(device, content):
    rivets = content["rivets"]
    at = {f.name: device.mesh.points[device.mesh.place(f.bar_place)[0]] for f in device.fastenings}
    assert len(at) == 2 * (rivets["foot_count"] + rivets["front_count"])
    for part in ("medial", "lateral"):
        for end in ("foot", "front"):
            row = [at[f"{part} {end} rivet {k + 1}"] for k in range(rivets[f"{end}_count"])]
            steps = np.linalg.norm(np.diff(row, axis=0), axis=1)
            # the chord over a bend is a little shorter than the length along the bar
            assert steps == pytest.approx(rivets[f"{end}_spacing_mm"], rel=0.02)


def test_each_washer_holds_enough_nodes_under_the_bar(device, content):
    radius = 0.5 * content["rivets"]["washer_diameter_mm"]
    wall, depth = 12.0 * 0.85, 5.0  # the foot section's wall, the thicker one
    for fastening in device.fastenings:
        patch = device.mesh.points[device.mesh.place(fastening.shell_place)]
        bar = device.mesh.points[device.mesh.place(fastening.bar_place)[0]]
        assert len(patch) >= 6
        nearest = np.linalg.norm(patch - bar, axis=1).min()
        # half a wall and half a bar apart; the bar is set off sideways, not square to the wall
        assert 0.99 * 0.5 * (wall + depth) < nearest < 1.15 * 0.5 * (wall + depth)
        assert np.linalg.norm(patch - patch.mean(axis=0), axis=1).max() < 1.1 * radius


def test_the_bars_bend_out_over_the_malleoli_and_stay_in_their_plane(device, limb):
    for part in ("medial", "lateral"):
        nodes = device.mesh.points[device.mesh.zone_nodes(f"{part} bar")]
        out = limb.sign(part) * nodes[:, 1]
        ankle = device.landmarks[f"{part}_malleolus"]
        over = np.interp(ankle[2], nodes[:, 2], out)
        above = np.interp(ankle[2] + 60.0, nodes[:, 2], out)
        assert over > above + 3.0  # an S-bend: out over the malleolus, in above it
        assert out.min() > 0.5 * limb.measures["ankle_breadth_mm"]
        # ankle set 0: bent flatwise alone, but for the interpolation between points 1 mm apart
        assert np.ptp(nodes[:, 0]) < 0.01


def test_left_and_right_are_mirror_images(content, tmp_path):
    recipe = read(tmp_path, content)
    left, right = (recipe.fit(Limb.of(Wearer(mass_kg=75, height_mm=1740, side=side)), SIZE)
                   for side in ("left", "right"))
    np.testing.assert_allclose(left.mesh.points * [1, -1, 1], right.mesh.points, atol=1e-6)


def test_walls_are_as_built(device):
    assert device.walls["front piece"].thickness == pytest.approx(5.0 * 0.85)
    assert device.walls["front piece"].thinning == 0.85
    assert device.landmarks["plate_end"][0] > device.landmarks["ball"][0]
    plate = device.mesh.points[device.mesh.zone_nodes("plate")]
    assert plate[:, 2].min() == pytest.approx(device.sole.height, abs=1e-6)


def change(path, value):
    def mutate(content):
        *tables, key = path.split(".")
        for table in tables:
            content = content[table]
        content[key] = value

    return mutate


@pytest.mark.parametrize(("mutate", "words"), [
    (change("bars.material", "aluminium-7075"), "bars.material: unknown material 'aluminium-7075'; "
                                                "did you mean aluminium-7075-t6"),
    (change("front_piece.material", "carbon-cloth-epoxy"),
     "front_piece.material: 'carbon-cloth-epoxy' is a single ply; choose another"),
    (change("front_piece.bottom_share", 0.99), "front_piece: bottom_share 0.99 must lie below"),
    (change("rivets.foot_count", 1), "rivets.foot_count: must be at least 2 (got 1)"),
    (change("rivets.foot_spacing_mm", 10.0), "rivets: the rivets stand closer than their washers"),
    (change("rivets.washer_diameter_mm", 4.0), "rivets: washer_diameter_mm must exceed"),
    (change("rivets.hole_diameter_mm", 4.0), "rivets: hole_diameter_mm must not lie below"),
    (change("rivets.hole_diameter_mm", 16.0), "rivets: washer_diameter_mm must exceed"),
    (change("gap_mm", 1.0), "gap_mm 1 is less than half a wall"),
    (change("bars.width", 20), "bars.width: unknown key"),
])
def test_a_mistake_in_the_file_is_refused(content, tmp_path, mutate, words):
    mutate(content)
    with pytest.raises(FileError) as error:
        read(tmp_path, content)
    assert words in str(error.value)


@pytest.mark.parametrize(("mutate", "words"), [
    (change("rivets.foot_spacing_mm", 70.0), "reaches over the edge of the foot section"),
    (change("rivets.front_spacing_mm", 80.0), "reaches over the edge of the front piece"),
    (change("bars.behind_ankle_mm", 300.0), "bar leaves the side of the limb at z = "),
    (change("foot_section.trim_radius_mm", 130.0), "foot_section.top_share puts its upper edge"),
])
def test_a_shape_that_cannot_be_built_is_refused(content, tmp_path, limb, mutate, words):
    mutate(content)
    with pytest.raises(DeviceError, match=words):
        read(tmp_path, content).fit(limb, SIZE)


@pytest.mark.parametrize(("table", "key", "value", "words"), [
    (None, "name", "../../evil", "name: names the report's folder"),
    ("front_piece", "thickness_mm", 0.005, "a wall of 0.005 mm lies outside 0.3 to 25 mm"),
    ("foot_section", "thickness_mm", 60.0, "a wall of 60 mm lies outside 0.3 to 25 mm; is the"),
    ("bars", "width_mm", 220.0, "a bar of 220 mm lies outside 1 to 40 mm; is the unit mm?"),
    ("bars", "depth_mm", 0.5, "a bar of 0.5 mm lies outside 1 to 40 mm; is the unit mm?"),
])
def test_folders_as_name_and_slips_of_unit_are_refused(tmp_path, content, table, key, value, words):
    (content[table] if table else content)[key] = value
    with pytest.raises(FileError) as error:
        read(tmp_path, content)
    assert words in str(error.value)


def test_the_heel_sole_difference_is_said_to_change_nothing(device):
    assert device.sole.heel_sole_difference > 0
    (note,) = device.sole.notes
    assert note in device.notes and note.startswith("The heel-sole difference of ")

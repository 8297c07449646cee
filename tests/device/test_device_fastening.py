# SPDX-License-Identifier: MIT
"""Bars and fastenings of a surface-mesh device, and writing it back."""

import copy

import numpy as np
import pytest
from angle_piece import STEP, angle_piece, refusal

from fea.device.meshdevice import read_mesh_device
from fea.device.meshwriter import write_fitted, write_mesh_device
from fea.device.reader import read_device

BAR = {"material": "polypropylene-homopolymer", "width_mm": 20.0, "depth_mm": 5.0, "up": [1, 0, 0],
       "cell_data": "zone", "value": 9}


def barred(content):
    """A bar 8 mm behind the wall from z = 50 to 310, with a fastening at each end."""
    points, _, _ = angle_piece()
    bar = np.array([[-68.0, 0, z] for z in np.arange(50.0, 311.0, STEP)])
    n = len(points)
    lines = [[n + k, n + k + 1] for k in range(len(bar) - 1)]
    content["bars"] = {"back": copy.deepcopy(BAR)}
    content["fastenings"] = {
        name: {"at": [-68, 0, z], "bar": "back", "zones": zones, "diameter_mm": 4.0,
               "washer_diameter_mm": 60.0}
        for name, z, zones in (("low", 50, ["wall"]), ("high", 310, ["cuff"]))}
    content["fastenings"]["low"]["hole_diameter_mm"] = 5.0
    return np.vstack([points, bar]), lines


def test_bars_and_fastenings(content, write):
    points, lines = barred(content)
    device = read_mesh_device(write(content, points, lines=lines))
    assert (device.bars["back"].width, device.bars["back"].depth) == (20.0, 5.0)
    low, high = device.fastenings
    assert device.mesh.points[device.mesh.place(low.bar_place)].tolist() == [[-68, 0, 50]]
    assert [(each.diameter, each.hole) for each in (low, high)] == [(4.0, 5.0), (4.0, 4.0)]
    patch = device.mesh.points[device.mesh.place(high.shell_place)]
    # radius 30 around (-60, 0, 310): the nine nodes of the 20 mm grid within 28.3 mm
    assert len(patch) == 9
    assert np.linalg.norm(patch - [-60, 0, 310], axis=1).max() == pytest.approx(28.28, abs=0.01)


def test_a_device_written_as_a_mesh_reads_back_the_same(content, write, tmp_path):
    points, lines = barred(content)
    content["zones"]["wall"] |= {"thinning": 0.8, "offset_mm": 0.5}
    del content["zones"]["wall"]["thickness_mm"]
    content["zones"]["wall"]["thickness_field"] = "t"
    content["zones"]["cuff"] = {
        "material": "carbon-cloth-epoxy", "cell_data": "zone", "value": 3, "direction": [0, 0, 1],
        "layup": {"angles_deg": [0, 45, 45, 0], "thicknesses_mm": 0.25}}
    first = read_mesh_device(write(content, points, lines=lines, t=np.linspace(3, 5, 224)))
    write_mesh_device(first, tmp_path / "again.toml", name="again", licence="MIT")
    again = read_mesh_device(tmp_path / "again.toml")
    assert again.name == "again"
    np.testing.assert_array_equal(again.mesh.points, first.mesh.points)
    for kind in ("triangle", "line"):
        np.testing.assert_array_equal(again.mesh.cells[kind], first.mesh.cells[kind])
    for name, nodes in first.mesh.places.items():
        np.testing.assert_array_equal(again.mesh.places[name], nodes)
    for name, wall in first.walls.items():
        np.testing.assert_array_equal(again.walls[name].thickness, wall.thickness)
        np.testing.assert_array_equal(again.mesh.zone(name)[1], first.mesh.zone(name)[1])
    wall, cuff = again.walls["wall"], again.walls["cuff"]
    assert (wall.thinning, wall.offset, cuff.layup.thicknesses) == (0.8, 0.5, (0.25,) * 4)
    assert (again.bars, again.fastenings, again.sole) == (first.bars, first.fastenings, first.sole)


def test_a_hole_that_its_shank_does_not_go_through_is_refused(content, write):
    points, lines = barred(content)
    content["fastenings"]["low"]["hole_diameter_mm"] = 3.0
    (problem,) = refusal(write(content, points, lines=lines))
    assert problem == "fastenings.low: hole_diameter_mm must not lie below diameter_mm"


@pytest.mark.parametrize("key", ["width_mm", "depth_mm"])
@pytest.mark.parametrize("value", [0.02, 200.0])
def test_a_bar_in_another_unit_is_refused(content, write, key, value):
    points, lines = barred(content)
    content["bars"]["back"][key] = value
    (problem,) = refusal(write(content, points, lines=lines))
    assert problem.startswith(f"bars.back.{key}: a bar of {value:g} mm lies outside 1 to 40 mm; is "
                              "the unit mm?")


def test_bars_written_as_a_mesh_read_again(tmp_path):
    device = read_device(write_fitted("aluminium-bars-adult", "demo-adult", tmp_path))
    assert set(device.bars) == {"medial bar", "lateral bar"}


def test_a_bar_without_fastenings_is_a_loose_part(content, write):
    points, lines = barred(content)
    del content["fastenings"]
    (problem,) = refusal(write(content, points, lines=lines))
    assert problem.startswith("mesh: falls apart into 2 loose parts (")
    assert "14 nodes around (-68, 0, 180)" in problem
    assert "join a bar by a fastening" in problem


@pytest.mark.parametrize(("change", "words"), [
    ({"at": [-68, 0, 420]}, "fastenings.high: the nearest node of 'back' lies 110.0 mm from"),
    ({"zones": ["plate"]}, "fastenings.high: the shell (plate) lies"),
    ({"washer_diameter_mm": 12.0}, "fastenings.high: the washer of 12 mm covers only 1 nodes"),
    ({"bar": "side"}, "fastenings.high.bar: unknown bar 'side'; the file defines back"),
    ({"zones": ["calf"]}, "fastenings.high.zones: unknown zone 'calf'"),
])
def test_a_fastening_that_holds_nothing_is_refused(content, write, change, words):
    points, lines = barred(content)
    content["fastenings"]["high"] |= change
    problems = refusal(write(content, points, lines=lines))
    assert any(words in problem for problem in problems), problems


def test_the_shipped_surface_mesh_is_the_recipe_fitted_to_its_wearer(tmp_path):
    fresh = read_device(write_fitted("ribbed-polypropylene-child", "demo-child", tmp_path))
    shipped = read_device("ribbed-polypropylene-child-surface")
    again = "the recipe has changed: run `make surface-mesh`"
    assert fresh.mesh.points.shape == shipped.mesh.points.shape, again
    np.testing.assert_allclose(fresh.mesh.points, shipped.mesh.points, atol=1e-3, err_msg=again)
    np.testing.assert_array_equal(fresh.mesh.cells["triangle"], shipped.mesh.cells["triangle"])
    for zone, wall in fresh.walls.items():
        np.testing.assert_allclose(wall.thickness, shipped.walls[zone].thickness, err_msg=again)
    assert shipped.straps == fresh.straps
    assert shipped.notes == shipped.sole.notes != ()
    assert shipped.notes[0] in fresh.notes


def test_two_fastenings_of_a_bar_at_one_node_of_the_wall_are_refused(content, write):
    points, lines = barred(content)
    low = content["fastenings"]["low"]
    content["fastenings"]["twin"] = copy.deepcopy(low) | {"at": [-68, 0, low["at"][2] + 2]}
    (problem,) = refusal(write(content, points, lines=lines))
    assert "fastening 'low' holds 'back' at the same node of the shell; set them" in problem

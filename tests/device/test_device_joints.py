# SPDX-License-Identifier: MIT
"""Holes, the ends of straps and the material of rivets in device files, and written back."""

import tomllib

import numpy as np
import pytest
import tomlkit
from angle_piece import refusal

from fea.device.device import StrapRivets, StrapSlot
from fea.device.meshdevice import read_mesh_device
from fea.device.meshwriter import write_mesh_device
from fea.device.moulded import read_moulded_recipe
from fea.device.reader import read_device
from fea.errors import FileError
from fea.limb import Limb
from fea.shipped import shipped_path
from fea.wearer import Wearer

RIVETS = {"count": 2, "diameter_mm": 4.0, "washer_diameter_mm": 12.0, "edge_distance_mm": 10.0,
          "material": "rivet-steel"}
SLOT = {"length_mm": 44.0, "width_mm": 4.0, "edge_distance_mm": 8.0}
VENT = {"name": "vent", "zone": "wall", "diameter_mm": 6.0, "at": [-60.0, 0.0, 120.0]}


def strap(**more):
    return {"name": "calf strap", "round": "calf", "zone": "cuff", **more}


def test_holes_and_strap_ends_are_read_and_written_back(content, write, tmp_path):
    content["holes"] = [VENT, {"name": "pad", "zone": "wall", "diameter_mm": 3.0,
                               "landmark": "ankle_axis", "offset_mm": [-60.0, 0.0, 80.0]}]
    content["straps"] = [strap(rivets=RIVETS | {"hole_diameter_mm": 5.0}),
                         strap(slot=SLOT) | {"name": "upper strap"}]
    first = read_mesh_device(write(content))
    vent, pad = first.holes
    assert (vent.name, vent.zone, vent.diameter) == ("vent", "wall", 6.0)
    node = first.mesh.points[first.mesh.place(vent.place)[0]]
    assert np.linalg.norm(node - VENT["at"]) < 15.0
    aim = first.landmarks["ankle_axis"] + [-60.0, 0.0, 80.0]
    assert np.linalg.norm(first.mesh.points[first.mesh.place(pad.place)[0]] - aim) < 15.0
    rivets, slot = (each.fixing for each in first.straps)
    assert isinstance(rivets, StrapRivets) and rivets.material.name == "rivet-steel"
    assert (rivets.diameter, rivets.hole) == (4.0, 5.0)
    assert slot == StrapSlot(44.0, 4.0, 8.0)
    write_mesh_device(first, tmp_path / "again.toml", name="again")
    again = read_mesh_device(tmp_path / "again.toml")
    assert (again.holes, again.straps) == (first.holes, first.straps)
    for hole in first.holes:
        np.testing.assert_array_equal(again.mesh.place(hole.place), first.mesh.place(hole.place))


@pytest.mark.parametrize(("key", "value", "words"), [
    ("straps", [strap(rivets=RIVETS, slot=SLOT)], "by rivets or through a slot; give one of them"),
    ("straps", [strap(slot=SLOT | {"length_mm": 30.0})], "width_mm 40 does not go through a slot"),
    ("straps", [strap(slot=SLOT | {"width_mm": 50.0})], "width_mm, through which the strap is put"),
    ("straps", [strap(rivets=RIVETS | {"edge_distance_mm": 2.0})], "must exceed half of diameter"),
    ("straps", [strap(rivets=RIVETS | {"washer_diameter_mm": 4.0})], "washer_diameter_mm must ex"),
    ("straps", [strap(rivets=RIVETS | {"material": "rivet-stel"})], "did you mean rivet-steel"),
    ("holes", [VENT | {"landmark": "heel"}], "needs exactly one of at and landmark"),
    ("holes", [VENT | {"offset_mm": [1.0, 0.0, 0.0]}], "offset_mm belongs to a landmark"),
    ("holes", [VENT | {"zone": "calf"}], "hole 'vent': unknown zone 'calf'; there are"),
    ("holes", [VENT | {"at": [0.0, 0.0, 900.0]}], "more than 15 mm; move it onto the wall"),
    ("holes", [VENT | {"name": "wall"}], "hole 'wall': the name is taken"),
    ("holes", [VENT, VENT], "hole 'vent': the name is taken"),
    ("holes", [{k: v for k, v in VENT.items() if k != "at"} | {"landmark": "knee"}],
     "hole 'vent': unknown landmark 'knee'; there are"),
])
def test_a_mistake_is_refused_with_its_cure(content, write, key, value, words):
    content[key] = value
    problems = refusal(write(content))
    assert any(words in problem for problem in problems), problems


def test_all_mistakes_of_holes_and_straps_are_told_at_once_with_their_places(content, write):
    plain = {k: v for k, v in VENT.items() if k != "at"}
    content["holes"] = [VENT | {"zone": "calf"}, plain | {"name": "wall", "landmark": "knee"}]
    content["straps"] = [strap() | {"zone": "calf"}]
    content["zones"]["cuff"]["material"] = "wood"
    assert [problem.split(": ")[0] for problem in refusal(write(content))] == [
        "zones.cuff.material", "straps.0.zone", "holes.0.zone", "holes.1.name", "holes.1.landmark"]
    content["zones"]["cuff"]["material"] = "polypropylene-homopolymer"
    far = {"at": [0.0, 0.0, 900.0]}
    aside = {"name": "pad", "landmark": "heel", "offset_mm": [0.0, 200.0, 0.0]}
    content["holes"] = [VENT | far, plain | aside, VENT | {"name": "third"}]
    content["straps"] = [strap(at_share=0.0) | {"zone": "wall"}]
    assert [problem.split(": ")[0].split(" lies ")[0] for problem in refusal(write(content))][
        -2:] == ["holes.0.at", "holes.1.offset_mm"]


@pytest.mark.parametrize(("key", "table"), [
    ("straps", strap(rivets=RIVETS | {"edge_distance_mm": 2.0, "washer_diameter_mm": 4.0})),
    ("straps", strap(rivets=RIVETS, slot=SLOT | {"length_mm": 30.0})),
])
def test_two_mistakes_of_one_table_are_told_together(content, write, key, table):
    content[key] = [table]
    (problem,) = refusal(write(content))
    assert problem.count("; ") >= 1 and "must exceed half" in problem or "lengthen" in problem


def test_a_recipe_takes_holes_at_its_landmarks(tmp_path):
    path = shipped_path("meshes", "bare-two-upright-polypropylene-child")
    content = tomllib.loads(path.read_text(encoding="utf-8"))
    content["holes"] = [{"name": "pad rivet", "zone": "ankle lateral", "diameter_mm": 4.0,
                         "landmark": "lateral_malleolus"}]
    (tmp_path / "holed.toml").write_text(tomlkit.dumps(content))
    limb = Limb.of(Wearer(mass_kg=35, height_mm=1410, side="left"))
    device = read_moulded_recipe(tmp_path / "holed.toml").fit(limb, 10.0)
    node = device.mesh.points[device.mesh.place("pad rivet hole")[0]]
    assert np.linalg.norm(node - device.landmarks["lateral_malleolus"]) < 15.0
    content["holes"][0]["landmark"] = "knee cap"
    (tmp_path / "holed.toml").write_text(tomlkit.dumps(content))
    content["holes"].append({**content["holes"][0], "zone": "calf"})
    content["straps"][0]["zone"] = "cuff"
    (tmp_path / "holed.toml").write_text(tomlkit.dumps(content))
    with pytest.raises(FileError) as refused:
        read_moulded_recipe(tmp_path / "holed.toml").fit(limb, 10.0)
    assert [problem.where for problem in refused.value.problems] == [
        "straps.0.zone", "holes.0.landmark", "holes.1.zone", "holes.1.name", "holes.1.landmark"]
    content["straps"][0]["rivets"]["material"] = "carbon-cloth-epoxy"
    (tmp_path / "holed.toml").write_text(tomlkit.dumps(content))
    with pytest.raises(FileError, match="'carbon-cloth-epoxy' is a single ply; choose another"):
        read_moulded_recipe(tmp_path / "holed.toml")


def test_the_shipped_devices_say_how_they_are_fastened():
    limb = Limb.of(Wearer(mass_kg=75, height_mm=1740, side="left"))
    device = read_device("aluminium-bars-adult").fit(limb, 12.0)
    assert {each.washer for each in device.fastenings} == {16.0}
    assert {each.material.name for each in device.fastenings} == {"rivet-steel"}
    assert all(each.fixing is not None for each in device.straps)

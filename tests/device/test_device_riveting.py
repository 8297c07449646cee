# SPDX-License-Identifier: MIT
"""Bars riveted on by a change: where they lie, how they are held, and refusals with their cure."""

from dataclasses import replace

import numpy as np
import pytest
from standing_walls import LIBRARY, tube, upright

import fea
from fea.device.change import apply_change
from fea.device.changefile import AddedBar, Change, Overlay, ZoneChange, read_change
from fea.device.device import Hole
from fea.device.meshwriter import write_mesh_device
from fea.errors import DeviceError, FileError, InputError
from fea.limb import Limb
from fea.mesh.mesh import triangle_geometry
from fea.structure.realise import device_mass, realise
from fea.wearer import Wearer

CHILD = Limb.of(Wearer(mass_kg=35.0, height_mm=1410.0, side="left"))
BARE = "bare-two-upright-polypropylene-child"
SHIPPED = "bars-riveted-outside"
RIVETS = {"count": 3, "diameter_mm": 4.0, "washer_diameter_mm": 10.0, "end_distance_mm": 8.0,
          "material": "rivet-steel"}


def bar(rivets=(), **keys):
    keys = {"name": "bar", "zones": ["upright"], "material": "stiff", "width_mm": 12.0,
            "thickness_mm": 3.0, "from_mm": 20.0, "to_mm": 180.0,
            "rivets": {**RIVETS, **dict(rivets)}} | keys
    return AddedBar.model_validate(keys)


def with_bar(device, **keys):
    return apply_change(device, Change(title="A bar", bars=(bar(**keys),)), LIBRARY)


@pytest.fixture(scope="module")
def worn():
    """The shipped change on the shipped device with two bare uprights."""
    return apply_change(fea.read_device(BARE), read_change(SHIPPED)).fit(CHILD, 14.0)


def test_a_bar_on_each_upright_with_rivets_from_below(worn):
    assert list(worn.bars) == [f"bar on upright {side}" for side in ("medial", "lateral")]
    assert [each.name for each in worn.fastenings] == [
        f"bar on upright {side} rivet {number}" for side in ("medial", "lateral")
        for number in (1, 2, 3, 4)]
    low = worn.landmarks["ankle_axis"][2] + 60.0
    high = worn.landmarks["tibial_crest"][2] - 90.0
    for name in worn.bars:
        z = worn.mesh.points[worn.mesh.zone_nodes(name)][:, 2]
        assert (z.min(), z.max()) == pytest.approx((low, high), abs=1.5)
    heights = [worn.mesh.points[worn.mesh.place(each.bar_place)[0], 2]
               for each in worn.fastenings[:4]]
    assert heights == sorted(heights)


def test_it_lies_flat_on_the_outer_face_off_the_wall_by_half_of_both(worn):
    points, triangles = worn.mesh.points, worn.mesh.cells["triangle"]
    normals = triangle_geometry(points, triangles)[1]
    for each in worn.fastenings:
        at, patch = (worn.mesh.place(place) for place in (each.bar_place, each.shell_place))
        zone = each.name.partition(" on ")[2].partition(" rivet")[0]
        wall = worn.walls[zone]
        thick = float(np.broadcast_to(wall.thickness, 1)[0])
        touched = np.isin(triangles, patch).any(axis=1)
        normal = normals[touched].mean(axis=0)
        normal /= np.linalg.norm(normal)
        middle = points[patch].mean(axis=0)
        apart = points[at[0]] - middle
        assert abs(apart @ normal) == pytest.approx(0.5 * thick + 1.5, abs=0.5)
        assert apart[1] * middle[1] > 0.0  # outside
        up = np.array(worn.bars[each.name.partition(" rivet")[0]].up)
        assert abs(up @ normal) < np.sin(np.radians(15.0))  # its width lies on the wall


def test_walls_keep_their_area_and_mass_and_the_bar_adds_its_own(worn):
    before = fea.read_device(BARE).fit(CHILD, 14.0)
    area = [triangle_geometry(device.mesh.points, device.mesh.cells["triangle"])[0].sum()
            for device in (before, worn)]
    assert area[0] == pytest.approx(area[1], rel=1e-12)
    length = sum(
        np.linalg.norm(np.diff(worn.mesh.points[worn.mesh.zone_cells(name)], axis=1), axis=2).sum()
        for name in worn.bars)
    added = device_mass(realise(worn)) - device_mass(realise(before))
    assert added == pytest.approx(length * 16.0 * 3.0 * 2.81e-6, rel=0.01)
    said = [note for note in worn.notes if "held by its rivets alone" in note]
    assert len(said) == 2 and "4 rivets" in said[0]


def test_washers_get_cells_enough_whatever_the_mesh():
    device = with_bar(upright(columns=1, rows=8))
    for each in device.fastenings:
        assert len(device.mesh.place(each.shell_place)) >= 10
    assert len(with_bar(upright()).mesh.points) < 900


def test_the_gap_follows_wall_and_what_is_bonded_on_it():
    sheet = Overlay.model_validate({"name": "sheet", "zones": ["upright"], "face": "outer",
                                    "material": "stiff", "thickness_mm": 2.0})
    change = Change(title="Both", overlays=(sheet,), bars=(bar(),))
    for device, outer in ((apply_change(upright(), change, LIBRARY), 4.0),
                          (with_bar(upright(thickness=6.0)), 3.0)):
        nodes = device.mesh.points[device.mesh.zone_nodes("bar")]
        assert nodes[:, 0] == pytest.approx(40.0 + outer + 1.5)


def test_rivets_by_count_or_by_spacing():
    spaced = {"count": None, "spacing_mm": 50.0}
    assert len(with_bar(upright(), rivets=spaced).fastenings) == 4  # 144 mm in three
    with pytest.raises(ValueError, match="takes one of count and spacing_mm"):
        bar(rivets={"spacing_mm": 50.0})


def test_a_washer_reaches_over_a_border_of_zones():
    above, below = ({"keep": side, "landmark": "crest", "by": by}
                    for side, by in (("above", 25.0), ("below", -25.0)))
    upper = ZoneChange(name="upper", zones=("upright",), planes=(above,), thickness_times=1.0)
    low = bar(planes=[below], to_mm=174.0,
              rivets={"end_distance_mm": 3.0, "washer_diameter_mm": 16.0})
    device = apply_change(upright(), Change(title="Both", zones=(upper,), bars=(low,)), LIBRARY)
    patch = device.mesh.points[device.mesh.place("bar rivet 3 shell")]
    assert patch[:, 2].min() < 168.0 and patch[:, 2].max() > 175.1
    assert patch.mean(axis=0) == pytest.approx([40.0, 0.0, 171.0], abs=0.5)


def test_a_device_with_bars_can_get_one_more_and_be_written(tmp_path):
    first = with_bar(tube(), zones=["front"])
    both = apply_change(replace(first, name="tube"), Change(
        title="Another", bars=(bar(name="other", zones=["back"]),)), LIBRARY)
    assert list(both.bars) == ["bar", "other"] and len(both.fastenings) == 6
    assert len(both.mesh.cells["line"]) == sum(len(both.mesh.zone_cells(b)) for b in both.bars)
    with pytest.raises(DeviceError, match=r"covers fastening 'bar rivet 1'"):
        apply_change(first, Change(title="On top", bars=(bar(name="other", zones=["front"]),)),
                     LIBRARY)


def test_it_is_written_as_a_device_file_and_read_again(worn, tmp_path):
    write_mesh_device(worn, tmp_path / "bars.toml")
    again = fea.read_device(tmp_path / "bars.toml")
    assert list(again.bars) == list(worn.bars)
    for one, other in zip(again.fastenings, worn.fastenings, strict=True):
        assert one.name == other.name
        for place in (one.bar_place, one.shell_place):
            assert set(again.mesh.place(place)) == set(worn.mesh.place(place))


@pytest.mark.parametrize(("keys", "told"), [
    ({"zones": ["upwrong"]}, "names the zone 'upwrong'; device 'standing' has upright"),
    ({"from_mm": 300.0, "to_mm": None}, "it begins at 300 mm, where upright reach from 0 to 200"),
    ({"from_mm": 0.0}, None),
    ({"from_mm": -10.0, "rivets": {"end_distance_mm": 3.0}}, "3.0 mm from the rim of the wall"),
    ({"aside_mm": 7.0}, "from the rim of the wall, less than half its washer, 5 mm; shorten"),
    ({"rivets": {"count": 20}}, "160 mm long, too short for 20 rivets with washers of 10 mm"),
    ({"material": "carbon-ud-epoxy"}, "is a single ply"),
    ({"material": "stif"}, "unknown material 'stif'"),
])  # fmt: skip
def test_a_bar_that_does_not_fit_is_refused_with_the_cure(keys, told):
    if told is None:
        with_bar(upright(), **keys)
        return
    with pytest.raises(InputError) as caught:
        with_bar(upright(), **keys)
    assert told in str(caught.value)


def test_a_bar_over_a_hole_is_refused():
    device = upright()
    node = int(np.argmin(np.linalg.norm(device.mesh.points - [40.0, 0.0, 60.0], axis=1)))
    device = replace(device, mesh=device.mesh.with_places({"vent hole": [node]}),
                     holes=(Hole("vent", "upright", "vent hole", 6.0),))
    with pytest.raises(DeviceError, match=r"covers hole 'vent' at \(40, 0, 60\) mm"):
        with_bar(device)
    assert with_bar(device, from_mm=70.0).holes == device.holes


def test_a_bar_over_a_rib_is_refused():
    change = read_change(SHIPPED).changed({"bars.bar.from_mm": 40.0})
    with pytest.raises(DeviceError, match="as (over|beside) a rib.*move it with aside_mm"):
        apply_change(fea.read_device("ribbed-polypropylene-child"), change).fit(CHILD, 14.0)


def test_a_bar_beyond_a_rim_that_curves_back_is_refused():
    device = fea.read_device("ribbed-polypropylene-child-surface")
    with pytest.raises(DeviceError, match="lies 2[0-9] mm beyond the wall; shorten the bar"):
        with_bar(device, zones=["front piece"], from_mm=None, to_mm=None)


def test_a_bar_on_a_wall_that_lies_flat_is_refused():
    device = fea.read_device("ribbed-polypropylene-child-surface")
    with pytest.raises(DeviceError, match="runs up, and foot plate lies flat: name zones that"):
        with_bar(device, zones=["foot plate"], from_mm=None, to_mm=None)


def test_what_no_bar_can_be_is_refused_by_the_file(tmp_path):
    path = tmp_path / "change.toml"
    path.write_text("""
        title = "Wrong"
        [[bars]]
        name = "a"
        zones = ["upright"]
        face = "inner"
        material = "stainless-steel-316l"
        width_mm = 16.0
        thickness_mm = 0.2
        rivets = { count = 1, diameter_mm = 5.0, hole_diameter_mm = 4.0, washer_diameter_mm = 4.0 }
        """)
    with pytest.raises(FileError) as caught:
        read_change(path)
    for words in ("a bar of 0.2 mm lies outside", "rivets.count: must be at least 2",
                  "end_distance_mm: this key is required"):
        assert words in str(caught.value)
    with pytest.raises(ValueError, match="press on the skin, which cannot be judged: rivet it"):
        bar(face="inner")
    with pytest.raises(ValueError, match="must not lie below diameter_mm"):
        bar(rivets={"hole_diameter_mm": 3.0})
    with pytest.raises(ValueError, match="rivet holes of 9 mm leave nothing of a bar 8 mm wide"):
        bar(width_mm=8.0, rivets={"diameter_mm": 9.0})

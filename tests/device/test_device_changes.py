# SPDX-License-Identifier: MIT
"""Change files: what they say, what becomes of recipes and meshes, and refusals with their cure."""

from dataclasses import replace

import numpy as np
import pytest
from standing_walls import LIBRARY, tube, upright

import fea
from fea.device.change import ChangedRecipe, apply_change
from fea.device.changefile import Change, Overlay, ZoneChange, read_change
from fea.device.device import Hole
from fea.device.meshwriter import write_mesh_device
from fea.device.reader import read_device
from fea.errors import DeviceError, FileError, InputError
from fea.limb import Limb
from fea.mesh.mesh import triangle_geometry
from fea.shipped import shipped_names
from fea.structure.realise import device_mass, realise
from fea.wearer import Wearer

CHILD = Limb.of(Wearer(mass_kg=35.0, height_mm=1410.0, side="left"))
ADULT = Limb.of(Wearer(mass_kg=68.0, height_mm=1630.0, side="right"))
MOULDED, SURFACE = "ribbed-polypropylene-child", "ribbed-polypropylene-child-surface"
FITS = {
    "bars-riveted-outside": {MOULDED: CHILD, SURFACE: CHILD, "polypropylene-adult": ADULT,
                             "bare-two-upright-polypropylene-child": CHILD,
                             "carbon-laminate-adult": ADULT},
    "carbon-strips-outside": {MOULDED: CHILD, SURFACE: CHILD, "polypropylene-adult": ADULT,
                              "carbon-laminate-adult": ADULT},
    "stainless-bars": {"aluminium-bars-adult": ADULT},
    "taller-ribs-thicker-ankle": {MOULDED: CHILD, "polypropylene-adult": ADULT},
}
COARSE = 14.0


def overlay(**keys):
    keys = {"name": "strip", "zones": ["upright"], "face": "outer", "material": "stiff",
            "thickness_mm": 1.0} | keys
    return Overlay.model_validate({key: value for key, value in keys.items() if value is not None})


def with_overlay(device, **keys):
    return apply_change(device, Change(title="A strip", overlays=(overlay(**keys),)), LIBRARY)


def with_zones(device, **keys):
    return apply_change(device, Change(title="A wall", zones=(ZoneChange(**keys),)), LIBRARY)


def area(device, zone):
    return triangle_geometry(device.mesh.points, device.mesh.zone_cells(zone))[0].sum()


def test_every_shipped_change_is_listed_here():
    assert set(shipped_names("changes")) == set(FITS)


@pytest.mark.parametrize(("change", "device"), [
    (change, device) for change, devices in FITS.items() for device in devices])
def test_a_shipped_change_fits_its_devices(change, device):
    limb, before = FITS[change][device], fea.read_device(device)
    after = apply_change(before, read_change(change)).fit(limb, COARSE)
    before = before.fit(limb, COARSE)
    assert after.name == f"{device}-changed" and "changed: " in after.title
    assert device_mass(realise(after)) > device_mass(realise(before))
    assert sum(map(len, after.mesh.cells.values())) >= sum(map(len, before.mesh.cells.values())) \
        or "ribs" in change


def test_strips_on_both_sides_lie_on_the_outer_face_and_are_as_wide_as_asked():
    change = read_change("carbon-strips-outside")
    device = apply_change(fea.read_device(MOULDED), change).fit(CHILD, 8.0)
    strips = [zone for zone, wall in device.walls.items() if wall.layers]
    assert strips == [f"carbon strip on {zone}" for zone in (
        "ankle medial", "ankle lateral", "upright medial", "upright lateral")]
    low = device.landmarks["ankle_axis"][2] - 15.0
    high = device.landmarks["tibial_crest"][2] - 90.0
    for zone in strips:
        wall, points = device.walls[zone], device.mesh.points[device.mesh.zone_cells(zone)]
        assert wall.offset == pytest.approx(0.6) and wall.thinning == 1.0
        assert [each.kind for each in wall.layers] == ["thermoplastic", *["laminate"] * 5]
        assert low - 3.0 < points[..., 2].min() and points[..., 2].max() < high + 3.0
    on_side = {side: sum(area(device, zone) for zone in strips if side in zone)
               for side in ("medial", "lateral")}
    for covered in on_side.values():  # it is draped over a rib on the way
        assert covered / (high - low) == pytest.approx(25.0, rel=0.12)
    assert {zone for zone in device.shank_zones if "strip" in zone} == {
        f"carbon strip on upright {side}" for side in ("medial", "lateral")}
    assert any("25 mm wide (" in note and " g without glue" in note for note in device.notes)


def test_the_cells_of_a_zone_are_shared_out_between_it_and_the_strip():
    before = upright()
    after = with_overlay(before, width_mm=9.0, from_mm=33.0, to_mm=121.0)
    assert area(after, "strip on upright") == pytest.approx(10.0 * 88.0, rel=0.03)  # nodes at 5 mm
    assert area(after, "upright") + area(after, "strip on upright") == pytest.approx(20.0 * 200.0)
    assert after.walls["upright"] == before.walls["upright"]
    assert before.parts("upright") == ("upright",)
    assert after.parts("upright") == ("upright", "strip on upright")


def test_a_strip_beside_the_middle():
    points = {}
    for aside in (-4.0, 0.0, 4.0):
        device = with_overlay(upright(columns=20), width_mm=6.0, aside_mm=aside)
        cells = device.mesh.zone_cells("strip on upright")
        points[aside] = device.mesh.points[cells][..., 1].mean()
    assert [points[aside] for aside in (-4.0, 0.0, 4.0)] == pytest.approx([-4, 0, 4], abs=0.3)


@pytest.mark.parametrize(("face", "offset"), [("outer", 0.5), ("inner", -0.5)])
def test_outer_is_away_from_the_limb_whichever_way_the_normals_run(face, offset):
    for device in (upright(), flipped(upright())):
        sign = 1.0 if normal_out(device) else -1.0
        wall = with_overlay(device, face=face).walls["strip on upright"]
        assert wall.offset == pytest.approx(sign * offset)
        names = [each.name for each in wall.layers]
        assert names == (["soft", "stiff"] if sign * offset > 0 else ["stiff", "soft"])


def flipped(device):
    mesh = fea.Mesh(device.mesh.points, {"triangle": device.mesh.cells["triangle"][:, ::-1]},
                    zones=device.mesh.zones)
    return replace(device, mesh=mesh)


def normal_out(device):
    return triangle_geometry(device.mesh.points, device.mesh.cells["triangle"])[1][:, 0].mean() > 0


def test_one_strip_on_the_other_and_one_on_the_inner_face():
    strips = (overlay(name="first"), overlay(name="second", from_mm=50.0, to_mm=100.0),
              overlay(name="inside", face="inner", from_mm=50.0, to_mm=100.0, thickness_mm=2.0))
    device = apply_change(upright(), Change(title="Three", overlays=strips), LIBRARY)
    wall = device.walls["inside on second on first on upright"]
    assert [each.name for each in wall.layers] == ["stiff", "soft", "stiff", "stiff"]
    assert [(bond.name, bond.below) for bond in wall.bonds] == [
        ("first", 1), ("second", 2), ("inside", 0)]
    assert wall.thickness == pytest.approx(8.0) and wall.offset == pytest.approx(0.5 + 0.5 - 1.0)


def test_a_wall_that_tapers_is_parted_into_bands_of_its_mass():
    device = upright()
    heights = device.mesh.points[device.mesh.zone_cells("upright")].mean(axis=1)[:, 2]
    taper = replace(device.walls["upright"], thickness=4.0 - heights / 100.0)
    device = replace(device, walls={"upright": taper})
    after = with_overlay(device)
    strips = [zone for zone, wall in after.walls.items() if wall.layers]
    assert len(strips) == 8 and strips[0] == "strip on upright, 1"
    assert after.parts("upright") == tuple(strips)
    sheet = 1e-6 * 20.0 * 200.0
    assert device_mass(realise(after)) == pytest.approx(device_mass(realise(device)) + sheet)


def test_whole_zones_are_changed_in_place_and_parts_of_them_get_a_name():
    device = with_zones(tube(), zones=("front",), thickness_mm=5.0)
    assert device.walls["front"].thickness == 5.0 and device.walls["left"].thickness == 3.0
    plane = {"keep": "above", "landmark": "crest", "by": 20.0}
    device = with_zones(tube(), zones=("front", "left"), planes=(plane,), name="upper part",
                        thickness_times=1.5, material="stiff")
    wall = device.walls["upper part on left"]
    assert (wall.thickness, wall.material.name) == (4.5, "stiff")
    corners = device.mesh.points[device.mesh.zone_cells("upper part on left")]
    assert corners[..., 2].min() > 165.0 and "upper part on right" not in device.walls
    box = {"min": (-100.0, -100.0, 50.0), "max": (100.0, 0.0, 100.0)}
    device = with_zones(tube(), boxes=(box,), name="patch", thickness_mm=6.0)
    assert [zone for zone in device.walls if zone.startswith("patch")] == [
        f"patch on {zone}" for zone in ("front", "back", "right")]


def test_a_ply_wall_keeps_its_layup_or_gets_one():
    ud = {"angles_deg": (0.0, 90.0), "thicknesses_mm": 1.0}
    device = with_zones(upright(), zones=("upright",), material="carbon-ud-epoxy", layup=ud)
    assert device.walls["upright"].layup.angles_deg == (0.0, 90.0)
    thicker = with_zones(device, zones=("upright",), thickness_times=2.0)
    assert thicker.walls["upright"].layup.thicknesses == (2.0, 2.0)
    with pytest.raises(DeviceError, match="give the zone a layup"):
        with_zones(upright(), zones=("upright",), material="carbon-ud-epoxy")
    with pytest.raises(DeviceError, match="outside 0.3 to 25 mm"):
        with_zones(upright(), zones=("upright",), thickness_times=20.0)


def test_a_mesh_device_is_made_again_from_its_file():
    device = fea.read_device(SURFACE)
    changed = apply_change(device, Change(title="Stiffer", values={
        "zones.heel.material": "polypropylene-copolymer", "sole.height_mm": {"add": 2.0}}))
    assert changed.walls["heel"].material.name == "polypropylene-copolymer"
    assert changed.sole.height == pytest.approx(device.sole.height + 2.0)
    thicker = Change(title="Thick", zones=(ZoneChange(zones=("heel",), thickness_times=1.2),))
    with pytest.raises(DeviceError, match="not as it was read from a file"):
        apply_change(apply_change(device, thicker), Change(title="More", values={"side": "left"}))


@pytest.mark.parametrize(("keys", "told"), [
    ({"zones": ["upwrong"]}, "names the zone 'upwrong'; device 'standing' has upright"),
    ({"from": "knee"}, "has no landmark 'knee'"),
    ({"from_mm": 90.0, "to_mm": 80.0}, "let it begin below"),
    ({"from_mm": 300.0}, "it begins at 300 mm, where upright reach from 0 to 200 mm"),
    ({"along": "forward"}, 'give along = "up"'),
    ({"planes": [{"keep": "above", "landmark": "crest", "by": 90.0}]}, "takes no cell"),
    ({"planes": [{"keep": "above", "landmark": "knee"}]}, "landmark 'knee'; there are"),
])
def test_an_overlay_that_does_not_fit_is_refused_with_the_cure(keys, told):
    with pytest.raises(DeviceError) as caught:
        with_overlay(upright(), **keys)
    assert told in str(caught.value)


def test_a_strip_over_a_hole_or_a_rivet_is_refused():
    device = upright()
    node = int(np.argmin(np.linalg.norm(device.mesh.points - [40.0, 0.0, 100.0], axis=1)))
    device = replace(device, mesh=device.mesh.with_places({"vent hole": [node]}),
                     holes=(Hole("vent", "upright", "vent hole", 6.0),))
    with pytest.raises(DeviceError, match=r"covers hole 'vent' at \(40, 0, 100\) mm"):
        with_overlay(device)
    assert with_overlay(device, to_mm=80.0).holes == device.holes
    bars = fea.read_device("aluminium-bars-adult")
    with pytest.raises(DeviceError, match="covers fastening"):
        with_overlay(bars, zones=["ankle wall"]).fit(ADULT, COARSE)


def test_a_strip_inside_must_have_room_to_the_skin():
    keys = {"zones": ["upright medial"], "face": "inner", "thickness_mm": 4.0}
    with pytest.raises(DeviceError, match=r"bond it on the outer face, or set \"gap_mm\" = 6"):
        with_overlay(fea.read_device(MOULDED), **keys).fit(CHILD, COARSE)
    changed = apply_change(fea.read_device(MOULDED), Change(
        title="Inside", values={"gap_mm": 7.0}, overlays=(overlay(**keys),)), LIBRARY)
    assert isinstance(changed, ChangedRecipe)
    wall = changed.fit(CHILD, COARSE).walls["strip on upright medial"]
    assert wall.offset == pytest.approx(-2.0)


def test_something_bonded_on_cannot_be_written_as_a_device_file(tmp_path):
    with pytest.raises(DeviceError, match="keep the change beside it"):
        write_mesh_device(with_overlay(upright()), tmp_path / "strip.toml")


def refused(tmp_path, text):
    path = tmp_path / "change.toml"
    path.write_text(text)
    with pytest.raises(InputError) as caught:
        read_change(path)
    return str(caught.value)


def test_a_change_file_tells_every_mistake_at_once(tmp_path):
    told = refused(tmp_path, """
        title = "Wrong"
        [[overlays]]
        name = "a"
        zones = ["heel"]
        face = "upper"
        material = "stiff"
        [[zones]]
        zones = ["heel"]
        [[zones]]
        thickness_mm = 3.0
        """)
    for words in ("'outer' or 'inner'", "changes nothing", "zones, boxes or planes"):
        assert words in told
    told = refused(tmp_path, """
        title = "Wrong"
        [[overlays]]
        name = "a"
        zones = ["heel"]
        face = "outer"
        material = "stif"
        thickness_mm = 3.0
        [[overlays]]
        name = "b"
        zones = ["heel"]
        face = "outer"
        material = "carbon-ud-epoxy"
        thickness_mm = 3.0
        """)
    assert "unknown material 'stif'" in told and "is a single ply; give the zone a layup" in told


def test_bare_keys_an_empty_change_and_equal_names_are_refused(tmp_path):
    assert 'as in "walls.ankle.sheet_mm" = 4.0' in refused(
        tmp_path, 'title = "x"\n[set.walls.ankle]\nsheet_mm = 4.0\n')
    assert "changes nothing" in refused(tmp_path, 'title = "x"\n')
    assert "unknown key" in refused(tmp_path, 'title = "x"\n[sets]\n"gap_mm" = 4.0\n')
    with pytest.raises(InputError, match="shipped are: .*carbon-strips-outside"):
        read_change("carbon-strips")


def test_lists_of_the_device_file_are_added_to_by_their_own_tables(tmp_path):
    told = refused(tmp_path, """
        title = "A hole"
        [[holes]]
        name = "vent"
        zone = "heel"
        diameter_mm = 6.0
        """)
    assert 'write [[add.holes]] to add one, or "holes.0.KEY" = ... under [set]' in told


def of_the_surface(**parts):
    with pytest.raises(FileError) as caught:
        apply_change(fea.read_device(SURFACE), Change(title="Other", **parts))
    return str(caught.value)


def test_keys_of_a_recipe_on_a_mesh_say_what_a_mesh_takes():
    for told in (of_the_surface(values={"ankle.anterior_trim_mm": 20.0}),
                 of_the_surface(values={"walls.ankle.sheet_mm": 7.0}),
                 of_the_surface(added={"ribs": ({"height_mm": 5.0},)})):
        assert "this device is a mesh, whose shape stays: change walls by [[zones]]" in told
    told = of_the_surface(values={"zones.heel.thickness_mm": 6.0})
    assert "needs exactly one of" in told and "or change walls by [[zones]]" in told
    assert "the file has here nothing" in of_the_surface(values={"bars.width_mm": 16.0})


def test_a_strip_is_as_long_as_the_wall_under_it():
    """The front piece curves back over the shin, so that its sides reach lower than its middle."""
    device = with_overlay(fea.read_device(SURFACE), zones=["front piece"], width_mm=25.0)
    points = device.mesh.points[device.mesh.zone_cells("strip on front piece")]
    covered, length = area(device, "strip on front piece"), np.ptp(points[..., 2])
    (note,) = [each for each in device.notes if "Bonded" in each]
    told = float(note.partition(" mm as meshed")[0].rpartition("(")[2])
    assert told == pytest.approx(25.0, rel=0.05)
    assert told == pytest.approx(covered / length, rel=0.05)


def test_what_falls_short_and_what_a_wall_was_stands_in_the_notes():
    (note,) = [each for each in with_overlay(upright(), from_mm=50.0, to_mm=260.0).notes
               if "Bonded" in each]
    assert note.endswith("Its zones end at 200 mm, not at the 260 mm asked for.")
    part = {"keep": "above", "landmark": "crest", "by": 0.0}
    notes = with_zones(tube(), zones=("front",), planes=(part,), name="top", thickness_mm=5.0,
                       material="stiff").notes
    assert "Wall of 'top on front' as built: 5.0 mm in place of 3.0 mm, stiff in place of soft." \
        in notes


def test_a_name_in_place_of_a_device_or_a_change_is_refused():
    with pytest.raises(InputError, match=f"^'{MOULDED}' is no device; give a device from fea.read"):
        fea.apply_change(MOULDED, read_change("taller-ribs-thicker-ankle"))
    with pytest.raises(InputError, match="^'stainless-bars' is no change; give a change from fea."):
        fea.apply_change(read_device(MOULDED), "stainless-bars")


def test_values_of_a_change_can_be_changed():
    change = read_change("carbon-strips-outside")
    wider = change.changed({"overlays.carbon strip.width_mm": {"times": 1.2},
                            "overlays.0.from_mm": -20.0})
    assert (wider.overlays[0].width_mm, wider.overlays[0].from_mm) == (30.0, -20.0)
    with pytest.raises(FileError, match="there is no entry 'strip'; the list has carbon strip"):
        change.changed({"overlays.strip.width_mm": 3.0})


@pytest.mark.parametrize(("text", "read", "words"), [
    ('construction = "bars"\nholes = []\n', read_change, "the file of a device, not of a change"),
    ("mass_kg = 35.0\nheight_mm = 1410.0\n", read_change, "the file of a wearer, not of a change"),
    ("mass_kg = 35.0\nheight_mm = 1410.0\n", read_device, "the file of a wearer, not of a device"),
    ('title = "x"\n[set]\n"a.b" = 1.0\n', read_device, "the file of a change, not of a device"),
])  # fmt: skip
def test_a_file_of_another_kind_is_called_so(tmp_path, text, read, words):
    path = tmp_path / "other.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(FileError, match=words):
        read(path)

# SPDX-License-Identifier: MIT
"""A device given by a surface mesh: what is accepted, repaired, and refused in which words."""

import re

import numpy as np
import pytest
import tomlkit
from angle_piece import angle_piece, refusal

from fea.device.device import Sole
from fea.device.meshdevice import read_mesh_device
from fea.device.reader import read_device
from fea.mesh.mesh import triangle_geometry

HEEL_NOTE = Sole(4.0, 5.0, 0.0).notes[0]


def test_a_good_file_becomes_a_device(content, write):
    device = read_device(write(content))
    assert (device.name, device.side, device.notes) == ("angle-piece", "left", (HEEL_NOTE,))
    assert {name: wall.thickness for name, wall in device.walls.items()} == {
        "plate": 4.0, "wall": 4.5, "cuff": 3.5}
    # 11 × 4 squares in the plate, 10 × 4 and 7 × 4 in the wall, two triangles each
    assert {name: len(device.mesh.zone(name)[1]) for name in device.walls} == {
        "plate": 88, "wall": 80, "cuff": 56}
    assert device.landmarks["ankle_axis"].tolist() == [0, 0, 80]
    assert (device.sole.height, device.sole.heel_sole_difference, device.sole.ankle_set_deg) == (
        10.0, 5.0, -3.0)


@pytest.mark.parametrize(("unit", "factor"), [("m", 1000.0), ("cm", 10.0), ("in", 25.4)])
def test_the_unit_turns_everything_into_mm(content, write, unit, factor):
    content["unit"] = unit
    for name, point in content["landmarks"].items():
        content["landmarks"][name] = [value / factor for value in point]
    for name in content["zones"]:
        del content["zones"][name]["thickness_mm"]
        content["zones"][name]["thickness_field"] = "t"
    points, cells, _ = angle_piece()
    device = read_mesh_device(write(content, points / factor, t=np.full(len(cells), 4 / factor)))
    assert np.ptp(device.mesh.points[:, 2]) == pytest.approx(340.0)
    assert device.landmarks["plate_end"] == pytest.approx([160, 0, 10])
    assert device.walls["cuff"].thickness == pytest.approx(np.full(56, 4.0))


def test_a_layup_brings_its_own_thickness(content, write):
    content["zones"]["cuff"] = {
        "material": "carbon-cloth-epoxy", "cell_data": "zone", "value": 3, "direction": [0, 0, 1],
        "layup": {"angles_deg": [0, 45, 45, 0], "thicknesses_mm": 0.25}}
    wall = read_mesh_device(write(content)).walls["cuff"]
    assert wall.layup.angles_deg == (0, 45, 45, 0)
    assert (wall.thickness, wall.direction) == (1.0, (0, 0, 1))


def test_axes_and_origin_bring_the_mesh_into_the_device_frame(content, write):
    points, cells, _ = angle_piece()
    # a mesh with y up and z to the right, standing 300 mm off the origin
    moved = points[:, [0, 2, 1]] * [1, 1, -1] + [300, 20, 5]
    content["axes"] = ["x", "-z", "y"]
    content["frame_origin"] = [300, 20, 5]
    content["landmarks"] = {"ankle_axis": [300, 100, 5], "heel": [245, 30, 5],
                            "plate_end": [460, 30, 5]}
    device = read_mesh_device(write(content, moved))
    np.testing.assert_allclose(device.mesh.points, points, atol=1e-9)
    assert device.landmarks["plate_end"] == pytest.approx([160, 0, 10])


def test_boxes_planes_and_the_rest_select_zones_in_an_stl(content, write):
    plain = {"material": "polypropylene-homopolymer", "thickness_mm": 4.0}
    content["zones"] = {
        "rest": {**plain, "rest": True},
        "plate": {**plain, "boxes": [{"min": [-70, -50, 9], "max": [200, 50, 11]}]},
        "cuff": {**plain, "planes": [{"keep": "above", "landmark": "ankle_axis", "by": 130.0}]},
        "inner": {**plain, "planes": [
            {"keep": "below", "landmark": "ankle_axis", "by": -130.0},
            {"keep": "above", "landmark": "ankle_axis"},
            {"keep": "medial", "landmark": "ankle_axis"}]},
    }
    device = read_mesh_device(write(content, suffix=".stl"))
    centre = {name: device.mesh.points[device.mesh.zone_cells(name)].mean(axis=1)
              for name in device.walls}
    # inner: 6 rows of 4 triangles, and the 2 upper ones of the row that the plane z = 80 cuts
    assert {name: len(points) for name, points in centre.items()} == {
        "plate": 88, "cuff": 56, "inner": 26, "rest": 54}
    assert (centre["inner"][:, 1] < 0).all()  # medial of a left leg is to the right


def test_mixed_orientation_is_repaired_and_said(content, write):
    _, cells, _ = angle_piece()
    cells[[5, 40, 200]] = cells[[5, 40, 200], ::-1]
    device = read_mesh_device(write(content, triangles=cells))
    assert device.notes == ("3 of 224 triangles had a mixed orientation and were turned to agree "
                            "with their neighbours", HEEL_NOTE)
    _, normals = triangle_geometry(device.mesh.points, device.mesh.cells["triangle"])
    np.testing.assert_allclose(normals[device.mesh.zone("plate")[1], 2], -1.0)
    np.testing.assert_allclose(normals[device.mesh.zone("cuff")[1], 0], -1.0)


def test_a_rib_that_forms_a_tee_is_legal(content, write):
    points, cells, zone = angle_piece()
    column = np.flatnonzero((points[:, 0] == -60) & (points[:, 1] == 0) & (points[:, 2] <= 210))
    column = column[np.argsort(points[column, 2])]
    behind = points[column] - [15, 0, 0]
    n = len(points)
    rib = [c for k in range(len(column) - 1) for c in (
        [column[k], column[k + 1], n + k], [column[k + 1], n + k + 1, n + k])]
    content["zones"]["rib"] = {"material": "polypropylene-homopolymer", "thickness_mm": 4.0,
                               "boxes": [{"min": [-90, -50, 0], "max": [-61, 50, 400]}]}
    for name in ("plate", "wall", "cuff"):
        content["zones"][name]["boxes"] = [{"min": [-61, -50, 0], "max": [200, 50, 400]}]
    device = read_mesh_device(write(content, np.vstack([points, behind]), np.vstack([cells, rib])))
    assert len(device.mesh.zone("rib")[1]) == 20


def test_every_mistake_is_told_at_once(content, write):
    content["plate_zones"] = ["sole plate"]
    content["zones"]["cuff"]["material"] = "polypropylen-homopolymer"
    content["zones"]["wall"]["value"] = 7
    del content["landmarks"]["heel"]
    assert refusal(write(content)) == [
        "landmarks: 'heel' is missing; give its point in the mesh's unit and axes",
        "plate_zones: unknown zone 'sole plate'; the file defines plate, wall, cuff",
        "zones.cuff.material: unknown material 'polypropylen-homopolymer'; did you mean "
        "polypropylene-homopolymer, polypropylene-copolymer",
        "zones.wall: looks for 7 in the cell array 'zone', which holds 1, 2, 3",
    ]


def change(path, value):
    """A mutation that puts a value at a dotted path; None deletes the key."""

    def mutate(content):
        *tables, key = path.split(".")
        for table in tables:
            content = content[table]
        if value is None:
            del content[key]
        else:
            content[key] = value

    return mutate


@pytest.mark.parametrize(("mutate", "words"), [
    (change("unit", "m"), "unit: the device would stand 340000.0 mm tall in 'm', where 100 to 700 "
                          "mm are plausible; it would stand 340 mm in 'mm': is the unit right?"),
    (change("unit", "yard"), "unit: must be 'mm', 'cm', 'm' or 'in' (got 'yard')"),
    (change("mesh", "none.vtu"), "mesh: 'none.vtu' there is no such mesh file"),
    (change("landmarks.plate_end", None), "landmarks: 'plate_end' is missing"),
    (change("landmarks.heel", [5500, 0, 10]), "landmarks.heel: lies at (5500, 0, 10) mm"),
    (change("landmarks.ankle_axis", [30, 0, 80]), "frame_origin: the origin must lie on the floor"),
    (change("frame_origin", [0, 0, 40]),
     "sole.height_mm: says that the plate lies 10 mm above the floor, but its flat lies -30 mm"),
    (change("sole.height_mm", 13.5), "but its flat lies 10 mm above the origin; move frame_origin"),
    (change("landmarks.plate_end", [165.5, 0, 10]),
     "landmarks.plate_end: lies at x = 165.5 mm, but the plate zones end at x = 160 mm; put it "
     "within 5 mm of the plate's end"),
    (change("landmarks.heel", [-50, 0, 10]),
     "landmarks.heel: lies at x = -50 mm, but the plate begins at x = -60 mm and the foot zones at "
     "x = -60 mm; put it between them, within 5 mm"),
    (change("landmarks.heel", [-66, 0, 10]), "landmarks.heel: lies at x = -66 mm, but the plate"),
    (change("name", "../../evil"), "name: names the report's folder: use letters, digits, '.', "
                                   "'_' and '-', and begin with a letter or digit (got '../../ev"),
    (change("name", ".hidden"), "name: names the report's folder"),
    (change("name", "two\n"), "name: names the report's folder"),
    (change("axes", ["-x", "-y", "z"]), "axes: x must point forward, but heel, ankle_axis and "
                                        "plate_end lie at x = 55, 0 and -160 mm"),
    (change("axes", ["x", "y", "-z"]), "must name the mesh axes that point forward, left and up"),
    (change("axes", ["x", "-y", "-z"]), "axes: the ankle axis (z = -80 mm) must lie above"),
    (change("axes", ["x", "z", "-y"]), "unit: the device would stand 80.0 mm tall in 'mm'"),
    (change("shank_zones", ["calf"]), "shank_zones: unknown zone 'calf'; the file defines plate, "
                                      "wall, cuff"),
    (change("zones.cuff.cell_set", "cuff"), "zones.cuff: asks for the cell set 'cuff'; the mesh "
                                            "carries no cell sets: select by cell_data"),
    (change("zones.cuff.cell_data", "part"), "zones.cuff: asks for the cell array 'part'; the mesh "
                                             "has zone"),
    (change("zones.cuff.value", [2, 3]), "zones.cuff: and 'wall' both claim 80 cells, the first"),
    (change("zones.wall.boxes", [{"min": [-99, -99, 0], "max": [0, 99, 100]}]),
     # in the box: 4 rows of 8 triangles, and the 4 lower ones of the next row, of 80 in the wall
     "zones: leave 44 of 224 cells without a zone, the first at"),
    (change("zones.wall.boxes", [{"min": [9, 9, 0], "max": [9, 9, 1]}]),
     "zones.wall.boxes.0: box from (9.0, 9.0, 0.0) to (9.0, 9.0, 1.0) is empty"),
    (change("zones.wall.planes", [{"keep": "above", "landmark": "knee"}]),
     "zones.wall: speaks of the landmark 'knee', which is not among [landmarks] (ankle_axis, heel"),
    (change("zones.wall", {"material": "polypropylene-homopolymer", "thickness_mm": 4.0}),
     "zones.wall: must say which cells it takes"),
    (change("zones.wall.thickness_mm", None),
     "zones.wall: needs exactly one of thickness_mm, thickness_field and layup"),
    (change("zones.wall.thickness_field", "t"),
     "zones.wall: needs exactly one of thickness_mm, thickness_field and layup"),
    (change("zones.wall.layup", {"angles_deg": [0, 90], "thicknesses_mm": 1.0}),
     "zones.wall: needs exactly one of thickness_mm, thickness_field and layup"),
    (change("zones.wall.material", "carbon-cloth-epoxy"),
     "zones.wall.material: 'carbon-cloth-epoxy' is a single ply; give the zone a layup"),
    (change("zones.wall", {"material": "aluminium-7075-t6", "cell_data": "zone", "value": 2,
                           "layup": {"angles_deg": [0], "thicknesses_mm": 1.0}}),
     "zones.wall.layup: needs a ply material; 'aluminium-7075-t6' is one solid"),
    (change("zones.wall.thicknes_mm", 4.0), "zones.wall.thicknes_mm: unknown key"),
    (change("zones.wall.thickness_mm", -4.0), "zones.wall.thickness_mm: a wall of -4 mm lies"),
    (change("zones.wall.thickness_mm", 0.004), "zones.wall.thickness_mm: a wall of 0.004 mm lies "
                                               "outside 0.3 to 25 mm; is the unit mm?"),
    (change("zones.wall.thickness_mm", 400), "zones.wall.thickness_mm: a wall of 400 mm lies outs"),
    (change("zones.cuff", {"material": "carbon-cloth-epoxy", "cell_data": "zone", "value": 3,
                           "layup": {"angles_deg": [0, 45, 0], "thicknesses_mm": 10.0}}),
     "zones.cuff.layup: a wall of 30 mm lies outside 0.3 to 25 mm; is the unit mm?"),
    (change("sole", None), "sole: this key is required and missing"),
])
def test_a_mistake_is_refused_with_place_and_cure(content, write, tmp_path, mutate, words):
    path = write(content)
    mutate(content)
    path.write_text(tomlkit.dumps(content))
    problems = refusal(path)
    assert any(words in problem for problem in problems), problems


def test_an_empty_zone_says_what_it_asked_and_where_the_mesh_lies(content, write):
    plain = {"material": "polypropylene-homopolymer", "thickness_mm": 4.0}
    below = {"keep": "below", "landmark": "plate_end", "by": 1.0}
    content["zones"]["low"] = {**plain, "planes": [below]}
    content["zones"]["far"] = {**plain, "boxes": [{"min": [0, 0, 400], "max": [9, 9, 500]}]}
    content["zones"]["out"] = {**plain, "planes": [{"keep": "lateral", "landmark": "heel",
                                                    "by": 50.0}]}
    assert refusal(write(content)) == [
        "zones.low: takes no cell of the mesh: it asks for cells below z = 9 (landmark plate_end, "
        "by 1), where the mesh reaches from z = 10 to 350 (in its own unit); mend the selection",
        "zones.far: takes no cell of the mesh: it asks for cells inside the box from (0, 0, 400) "
        "to (9, 9, 500), where the mesh reaches from (-60, -40, 10) to (160, 40, 350) (in its own "
        "unit); mend the selection",
        "zones.out: takes no cell of the mesh: it asks for cells lateral of y = 50 (landmark heel, "
        "by 50), where the mesh reaches from y = -40 to 40 (in its own unit); mend the selection",
    ]
    content["unit"] = "cm"
    (problem,) = refusal(write(content))
    assert problem.startswith("unit: the device would stand 3400.0 mm tall in 'cm'")


def test_unknown_materials_are_told_with_mistakes_of_the_schema(content, write):
    content["zones"]["cuff"]["material"] = "polypropylen-homopolymer"
    content["zones"]["wall"]["thicknes_mm"] = 4.0
    schema, material = refusal(write(content))
    assert schema.startswith("zones.wall.thicknes_mm: unknown key")
    assert material.startswith("zones.cuff.material: unknown material 'polypropylen-homopolymer'")


def test_a_device_of_4_mm_or_4_m_names_the_likely_unit(content, write):
    points, _, _ = angle_piece()
    problems = refusal(write(content, points * 0.01))
    assert problems[0] == (
        "unit: the device would stand 3.4 mm tall in 'mm', where 100 to 700 mm are plausible; "
        "no unit makes it a plausible device: is the right axis up (see `axes`)?")
    problems = refusal(write(content, points * 0.001))
    assert "it would stand 340 mm in 'm': is the unit right?" in problems[0]


def test_bad_cells_are_refused_with_their_place(content, write):
    points, cells, _ = angle_piece()
    path = write(content, triangles=np.vstack([cells, cells[:2], [[0, 0, 1]]]))
    problems = refusal(path)
    assert problems[0].startswith("mesh: 1 triangles have no area, the first at (-60, ")
    assert problems[1].startswith("mesh: 2 triangles repeat another triangle, the first at (")


def test_loose_parts_are_refused_and_merge_mm_cures_a_gap(content, write):
    points, cells, zone = angle_piece()
    cuff = np.unique(cells[zone == 3])
    # the cuff on nodes of its own, 0.02 mm away from the wall
    copies = np.arange(len(points))
    copies[cuff] = len(points) + np.arange(len(cuff))
    gap = cells.copy()
    gap[zone == 3] = copies[gap[zone == 3]]
    apart = np.vstack([points, points[cuff] + [0, 0, 0.02]])
    (problem,) = refusal(write(content, apart, gap))
    assert re.match(r"mesh: falls apart into 2 loose parts \(\d+ nodes around .*; 40 nodes around "
                    r"\(-60, 0, 280\)\); let neighbouring parts share their nodes", problem)
    content["merge_mm"] = 0.1
    device = read_mesh_device(write(content, apart, gap))
    assert device.notes == ("35 points that no cell uses were left out",
                            "5 repeated points were merged", HEEL_NOTE)


def test_a_thickness_field_out_of_range_is_refused_with_its_place(content, write):
    _, cells, zone = angle_piece()
    content["zones"]["cuff"] = {"material": "polypropylene-homopolymer", "cell_data": "zone",
                                "value": 3, "thickness_field": "t"}
    thickness = np.full(len(cells), 4.0)
    thickness[np.flatnonzero(zone == 3)[:2]] = [np.nan, 0.004]
    (problem,) = refusal(write(content, t=thickness))
    assert problem.startswith("zones.cuff.thickness_field: 2 cells have a thickness outside 0.3 to "
                              "25 mm, the first nan mm at (-60, ")
    content["zones"]["cuff"]["thickness_field"] = "wall"
    (problem,) = refusal(write(content, t=thickness))
    assert problem == ("zones.cuff.thickness_field: the mesh has no scalar array 'wall'; it has "
                       "t, zone")


def test_a_mesh_that_cannot_be_read_is_reported_with_the_other_mistakes(content, write, tmp_path):
    content["zones"]["cuff"]["material"] = "wood"
    path = write(content)
    (tmp_path / "piece.vtu").write_text("<VTKFile")
    problems = refusal(path)
    assert problems[0].startswith("zones.cuff.material: unknown material 'wood'; the library")
    assert problems[1].startswith("mesh: 'piece.vtu' cannot be read as .vtu (")


def test_a_one_sided_band_is_refused(content, write):
    steps, n = 12, len(angle_piece()[0])
    angle = 2 * np.pi * np.arange(steps) / steps
    across = np.stack([np.cos(angle / 2) * np.cos(angle), np.cos(angle / 2) * np.sin(angle),
                       np.sin(angle / 2)], axis=1)
    middle = 3 * np.stack([np.cos(angle), np.sin(angle), 0 * angle], axis=1) + [-60, 0, 300]
    band = np.concatenate([middle - across, middle + across])
    cells = [cell for k in range(steps) for c, d in [
        (k + 1, k + 1 + steps) if k + 1 < steps else (steps, 0)]
        for cell in ([n + k, n + c, n + d], [n + k, n + d, n + k + steps])]
    points, plain, _ = angle_piece()
    problems = refusal(write(content, np.vstack([points, band]), np.vstack([plain, cells])))
    assert "has only one side (a closed band with a twist)" in problems[0]

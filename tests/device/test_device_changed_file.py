# SPDX-License-Identifier: MIT
"""Values of device files by dotted key: set, multiplied, added to, and refused with the cure."""

import pytest

from fea.device.reader import read_device
from fea.errors import FileError

MOULDED = read_device("ribbed-polypropylene-child")
BARS = read_device("aluminium-bars-adult")


def refusal(recipe, values, added=None):
    with pytest.raises(FileError) as caught:
        recipe.changed(values, added)
    return str(caught.value)


def test_a_value_is_set_multiplied_or_added_to():
    content = MOULDED.content
    changed = MOULDED.changed({
        "walls.ankle.sheet_mm": 7.0,
        "walls.heel.sheet_mm": {"times": 1.5},
        "ankle.anterior_trim_mm": {"add": -4.0},
        "ribs.0.height_mm": {"add": 1.0},
        "straps.calf strap.width_mm": 50.0,
    }).content
    assert changed.walls.ankle.sheet_mm == 7.0
    assert changed.walls.heel.sheet_mm == pytest.approx(1.5 * content.walls.heel.sheet_mm)
    assert changed.ankle.anterior_trim_mm == content.ankle.anterior_trim_mm - 4.0
    assert changed.ribs[0].height_mm == content.ribs[0].height_mm + 1.0
    assert changed.straps[0].width_mm == 50.0
    assert content == read_device("ribbed-polypropylene-child").content  # the recipe stays


def test_a_default_can_be_changed_though_the_file_leaves_it_out():
    assert BARS.content.bars.behind_ankle_mm == 4.0
    assert BARS.changed({"front_piece.corner_radius_mm": {"add": 5.0}}).content \
        .front_piece.corner_radius_mm == 25.0


def test_a_bar_is_exchanged():
    changed = BARS.changed({"bars.material": "stainless-steel-316l", "bars.width_mm": 16.0})
    assert (changed.content.bars.material, changed.content.bars.width_mm) == \
        ("stainless-steel-316l", 16.0)


def test_a_table_is_replaced_as_a_whole():
    wall = {"material": "carbon-cloth-epoxy", "layup": {
        "angles_deg": [0.0, 45.0, 0.0], "thicknesses_mm": 0.5}}
    wall = MOULDED.changed({"walls.uprights": wall}).content.walls.uprights
    assert wall.sheet_mm is None and wall.layup.angles_deg == (0.0, 45.0, 0.0)


def test_entries_are_appended():
    hole = {"name": "vent", "zone": "posterior shell", "diameter_mm": 10.0,
            "landmark": "tibial_crest", "offset_mm": [-60.0, 0.0, -20.0]}
    changed = BARS.changed({}, {"holes": [hole]}).content
    assert [each.name for each in changed.holes] == ["vent"]


def test_every_wrong_key_is_told_with_what_there_is():
    told = refusal(MOULDED, {"walls.ancle.sheet_mm": 7.0, "ribs.7.height_mm": 5.0, "gap": 1.0})
    assert "there is no 'ancle'; the file has here ankle" in told
    assert "leave 'device.' out" in refusal(MOULDED, {"device.gap_mm": 6.0})
    assert "there is no entry '7'" in told and "there is no 'gap'; the file has here gap_mm" in told


def test_what_the_file_may_not_hold_is_refused_by_its_own_schema():
    assert "exactly one of" in refusal(MOULDED, {"walls.ankle.measured_mm": 5.0})
    assert "unknown material" in refusal(MOULDED, {"walls.ankle.material": "wood"})
    told = refusal(MOULDED, {"walls.ankle.measured_mm": 5.0})
    assert 'set the table as a whole, as in "walls.ankle" = { ... }' in told
    assert "nothing is set there" in refusal(MOULDED, {"walls.ankle.measured_mm": {"times": 2}})
    assert "no number" in refusal(MOULDED, {"walls.ankle.sheet_mm": {"times": "2"}})


def test_bars_are_no_list_of_a_device_file():
    told = refusal(MOULDED, {}, {"bars": [{"width_mm": 20.0}]})
    assert "rivet one on with [[bars]]" in told and "ribs, straps, holes" in told
    assert "exchange them by setting bars.KEY" in refusal(BARS, {}, {"bars": [{"width_mm": 20.0}]})

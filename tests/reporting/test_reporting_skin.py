# SPDX-License-Identifier: MIT
"""What a report says of pressure on the skin: levels in words, bands, no number of its own."""

import json
from dataclasses import replace

import meshio
import numpy as np
import pytest
from fake_assessment import assessment

from fea.check.check import governing
from fea.check.pressure import CAUTION, check_pad
from fea.drawing.render import render
from fea.reporting.evidence import evidence
from fea.reporting.fields import save_fields
from fea.reporting.skin import pads_table, pressure_map, skin_tables, straps_table, zones_table
from fea.reporting.summary import summary_json
from fea.reporting.words import place_text
from fea.skin import Band, Skin


@pytest.fixture(scope="module")
def result():
    return assessment()


def test_each_part_says_which_level_it_goes_beyond(result):
    """31 kPa is above discomfort (30.4) on a wall, and above half of pain (26.45) on bone."""
    rows = {row[0]: row for row in pads_table(result).rows}
    assert rows["tibial crest"][1:4] == ("27.9", "31.0", "34.1")
    assert rows["tibial crest"][5] == "! half of pain, over bone"
    assert rows["calf shell"][5] == "✓ below discomfort"  # 27.5 kPa
    assert rows["calf strap"][4] == "–"  # no peak under a strap


@pytest.mark.parametrize(("kpa", "state"), [(30.0, "✓"), (31.0, "! disc"), (53.0, "✗ pain")])
def test_the_hardest_flesh_decides_the_level(result, kpa, state):
    pad = replace(result.skin.bands[0].usual, mean=0.001)
    band = Band(pad, replace(pad, mean=kpa / 1000.0), pad)

    class Pressed(type(result)):
        skin = Skin((), (band,))

    pressed = Pressed(**{name: getattr(result, name) for name in result.__dataclass_fields__})
    assert pads_table(pressed).rows[0][5].startswith(state)


@pytest.mark.parametrize(("held", "state", "level"), [(False, "✓ below", "30.4 kPa"),
                                                     (True, "! discomfort", "13.7 kPa")])
def test_a_held_posture_is_said_to_be_one(result, held, state, level):
    pad = replace(result.skin.bands[0].usual, mean=0.020)

    class Pressed(type(result)):
        skin = Skin((), (Band(pad, pad, pad),), held)

    pressed = Pressed(**{name: getattr(result, name) for name in result.__dataclass_fields__})
    assert pads_table(pressed).rows[0][5].startswith(state)
    part = next(part for part in evidence(pressed) if part.title == "Pressure on the skin")
    assert level in part.lines[-1]
    assert ("postures are held" in str(part.tables[-1])) is held


def test_table_and_summary_name_the_bound_that_is_judged(result):
    """Softer flesh may press hardest with the push on the other side than usual flesh does."""
    left = replace(result.skin.bands[0].usual, case="push-off (loose, push 10 mm left)")
    right = replace(left, mean=1.5 * left.mean, case="push-off (loose, soft, push 10 mm right)",
                    place=(1.0, -44.0, 200.0))
    band = Band(left, right, left)

    class Pressed(type(result)):
        skin = Skin((), (band,))

    pressed = Pressed(**{name: getattr(result, name) for name in result.__dataclass_fields__})
    judged, _ = governing(check_pad(pad) for pad in band.every)
    row, (pad,) = pads_table(pressed).rows[0], json.loads(summary_json(pressed))["touch"]["pads"]
    assert row[6] == judged[0].case and "right" in row[6]
    assert row[7] == place_text(judged[0].place, "left")
    assert (pad["case"], tuple(pad["place_mm"])) == (judged[0].case, judged[0].place)


def test_zones_and_straps_show_force_contact_and_tension(result):
    shell = next(row for row in zones_table(result).rows if row[0] == "calf shell")
    assert shell[1:6] == ("200", "−200", "90", "20.0", "30.0")
    assert straps_table(result).rows[0][:3] == ("calf strap", "20", "11.0")


def test_the_part_defers_to_the_clinician_and_to_looking(result):
    part = next(part for part in evidence(result) if part.title == "Pressure on the skin")
    assert any(CAUTION in line for line in part.lines)
    assert part.figures == ("pressure",)
    assert len(part.tables) == len(skin_tables(result)) == 4


@pytest.mark.parametrize("child", ["fea.drawing.child", "fea.no_such_painter"])
def test_the_map_is_drawn_by_either_painter(result, child):
    key, picture, alt, caption = pressure_map(result)
    assert key == "pressure"
    assert "kPa" in picture.scale.label and picture.scale.limit is None  # a peak has no limit
    assert picture.triangle_values.max() <= picture.scale.high
    assert "the table" in caption and "30 kPa" in alt
    drawn = render([picture], child=child)
    assert drawn.images[0].startswith(b"\x89PNG")
    assert drawn.painter == ("pyvista" if child == "fea.drawing.child" else "matplotlib")


def test_the_summary_and_the_fields_hold_pressure_by_case(result, tmp_path):
    touch = json.loads(summary_json(result))["touch"]
    assert touch["pads"][0]["mean_kpa"] == pytest.approx([22.5, 25.0, 27.5])
    assert {item["case"] for item in touch["zones"]} == {case.name for case in result.cases}
    assert touch["straps"][0]["tension_n"] == 20.0
    save_fields(tmp_path / "fields.vtu", result)
    field = meshio.read(tmp_path / "fields.vtu").point_data["pressure_kpa [cop-7]"]
    nodes = result.device.mesh.zone_nodes("calf-shell")
    assert field[nodes].max() == pytest.approx(30.0)
    bar = np.setdiff1d(np.arange(len(result.device.mesh.points)),
                       [*nodes, *result.device.mesh.zone_nodes("foot-plate")])  # fmt: skip
    assert np.isnan(field[bar]).all()

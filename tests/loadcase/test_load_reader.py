# SPDX-License-Identifier: MIT
"""Load set files: what is shipped, and how a wrong file is told."""

import pytest

from fea.errors import FileError, InputError
from fea.loadcase.gait import allowed_near, children_gait, foot_cop, foot_pitch
from fea.loadcase.instant import Push, StanceInstant, ToeBend
from fea.loadcase.reaction import ground_reactions
from fea.loadcase.reader import read_load_set
from fea.shipped import shipped_names
from fea.sources import cite
from fea.wearer import Wearer

GOOD = """
name = "own"
title = "Own curves"
purpose = "step"
note = ""
patch_half_length = 0.06
provenance.percent = { source = "own gait laboratory, 2026", status = "read" }
provenance.fz_bw = { source = "own gait laboratory, 2026", status = "read" }
provenance.fx_bw = { source = "own gait laboratory, 2026", status = "read" }
provenance.cop = { source = "own gait laboratory, 2026", status = "read" }
provenance.patch_half_length = { source = "assumed", status = "assumed" }

[[instants]]
name = "one"
percent = 10
fz_bw = 1.0
fx_bw = 0.1
cop = 0.5
"""


def problems(tmp_path, text):
    path = tmp_path / "set.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(FileError) as caught:
        read_load_set(path)
    return {problem.where: problem.what for problem in caught.value.problems}


def test_own_file(tmp_path):
    path = tmp_path / "set.toml"
    path.write_text(GOOD, encoding="utf-8")
    load_set = read_load_set(path)
    assert load_set.instants[0].cop == 0.5 and load_set.cycles_per_day is None
    assert load_set.instants[0].provenance["fz_bw"].status == "read"


def test_every_mistake_at_once(tmp_path):
    text = (
        GOOD.replace('purpose = "step"', 'purpose = "fun"')
        .replace("fz_bw = 1.0", "fz_bw = -1.0")
        .replace("cop = 0.5", 'cop = "toe"')
        .replace("percent = 10", "percent = 130\nfx = 3")
        .replace('provenance.cop = { source = "own gait laboratory, 2026"',
                 'provenance.cop = { source = "nobody"')
    )
    assert set(problems(tmp_path, text)) == {
        "purpose", "instants.0.fz_bw", "instants.0.cop", "instants.0.percent", "instants.0.fx",
        "provenance.cop.source",
    }


def test_place_and_moment_are_one_or_the_other(tmp_path):
    found = problems(tmp_path, GOOD + "moment_nm_per_kg = 1.0\n")
    assert "either cop or moment_nm_per_kg" in found["instants.0"]
    assert "either" in problems(tmp_path, GOOD.replace("cop = 0.5", ""))["instants.0"]


def test_a_number_without_a_source_and_a_name_used_twice_are_refused(tmp_path):
    twice = GOOD[GOOD.index("[[instants]]"):] + "pitch_deg = 5.0\n"
    text = problems(tmp_path, GOOD + twice)[""]
    assert "two cases are called 'one'" in text
    assert "'one' has no provenance for pitch_deg" in text


PUSH_AND_BEND = """
[[pushes]]
name = "kneeling"
zones = ["front piece"]
fx_bw = -0.5
provenance.fx_bw = { source = "assumed", status = "assumed" }

[[bends]]
name = "toes"
angle_deg = 25.0
held_to = 0.64
turned_from = 0.84
fz_bw = 1.0
provenance.angle_deg = { source = "assumed", status = "assumed" }
provenance.held_to = { source = "assumed", status = "assumed" }
provenance.turned_from = { source = "assumed", status = "assumed" }
"""


def test_three_kinds_of_case_are_told_apart_by_type(tmp_path):
    path = tmp_path / "set.toml"
    path.write_text(GOOD + PUSH_AND_BEND, encoding="utf-8")
    load_set = read_load_set(path)
    assert [type(case) for case in load_set.cases] == [StanceInstant, Push, ToeBend]
    push, bend = load_set.pushes[0], load_set.bends[0]
    assert push.zones == ("front piece",) and push.fx_bw == -0.5 and push.landmark is None
    assert push.provenance["fx_bw"].status == "assumed"  # of the case, not of the set
    assert bend.angle_deg == 25.0 and bend.provenance["fz_bw"].status == "read"
    with pytest.raises(AttributeError):
        push.fx_bw = 0.0


@pytest.mark.parametrize(("old", "new", "where", "sentence"), [
    ("fx_bw = -0.5", "", "pushes.0", "'kneeling': pushes with no force; give fx_bw"),
    ('["front piece"]', "[]", "pushes.0.zones", "must not be an empty list"),
    ('["front piece"]', '["shell", "shell"]', "pushes.0", "names a zone twice"),
    ("turned_from = 0.84", "turned_from = 0.60", "bends.0", "leaves nothing to bend; put"),
    ("angle_deg = 25.0", "angle_deg = 0.0", "bends.0.angle_deg", "must lie above 0 and"),
    ('"kneeling"', '"one"', "", "two cases are called 'one'"),
    ("provenance.held_to", "provenance.angle", "", "'toes' has no provenance for held_to"),
    ("provenance.fx_bw = { source = \"assumed\"", "provenance.fx_bw = { source = \"nobody\"",
     "pushes.0.provenance.fx_bw.source", "unknown source key 'nobody'"),
    ("patch_half_length = 0.06\n", "", "", "no patch_half_length; add it"),
    ('purpose = "step"', 'purpose = "cyclic"', "", "cycles belong to purpose = 'cyclic'"),
    ('purpose = "step"', 'purpose = "step"\ncycles = 3e6', "", "no provenance for cycles"),
    ("cop = 0.5", 'cop = "unload-knee"', "instants.0", "needs shank_angle_deg; add it"),
    ("cop = 0.5", 'cop = 0.5\nshank_angle_deg = "shoe"', "instants.0.shank_angle_deg",
     "use 'device', or a number of degrees"),
    ("cop = 0.5", "cop = 0.5\nshank_angle_deg = 75.0", "instants.0.shank_angle_deg",
     "must lie from -40 to 60: no shank"),
    ("cop = 0.5", "cop = 0.5\nshank_angle_deg = 15.0", "", "no provenance for shank_angle_deg"),
    ("cop = 0.5", "cop = 0.5\nfree_moment_nm_per_kg = 9.0", "instants.0.free_moment_nm_per_kg",
     "must lie from -2 to 2: a sole turns on the floor sooner (got 9.0)"),
])  # fmt: skip
def test_each_mistake_of_a_case_gets_one_sentence(tmp_path, old, new, where, sentence):
    text = GOOD + PUSH_AND_BEND
    assert old in text
    assert sentence in problems(tmp_path, text.replace(old, new, 1))[where]


def test_a_set_without_a_case_is_refused(tmp_path):
    head = GOOD[: GOOD.index("[[instants]]")]
    assert "holds no case; add [[instants]]" in problems(tmp_path, head)[""]


def test_unknown_name_lists_the_shipped_ones():
    with pytest.raises(InputError, match="walking-envelope"):
        read_load_set("running")


@pytest.mark.parametrize("name", shipped_names("loadcases"))
def test_every_shipped_number_has_a_known_source(name):
    load_set = read_load_set(name)
    assert load_set.name == name
    for instant in load_set.instants:
        for row in instant.provenance.values():
            assert cite(row.source)


# Instants of the envelope: where the forces were looked up, and which of the two shears.
LOOKED_UP = {
    "heel strike, toes up": (0.06, "then", 1),
    "under the ankle, braking": (0.25, "near", 0),
    "under the ankle, driving": (0.25, "near", 1),
    "under the midfoot, braking": (0.50, "near", 0),
    "under the midfoot, driving": (0.50, "near", 1),
    "under the forefoot, flat, braking": (0.80, "near", 0),
    "under the forefoot, flat, driving": (0.80, "near", 1),
    "under the forefoot, heel up": (0.80, "then", 0),
    "under the forefoot, pushed medially": (0.80, "near", 1),
    "under the forefoot, pushed laterally": (0.80, "near", 1),
    "end of the plate, flat, braking": (0.94, "near", 0),
    "end of the plate, flat, driving": (0.94, "near", 1),
    "end of the plate, heel up": (0.94, "then", 0),
}


def test_envelope_holds_what_stance_allows():
    instants = {instant.name: instant for instant in read_load_set("walking-envelope").instants}
    heel = instants.pop("heel strike, heel held down by a rigid device")
    assert set(instants) == set(LOOKED_UP)
    for name, (place, which, end) in LOOKED_UP.items():
        instant, allowed = instants[name], allowed_near(place)
        shear = allowed.fx_then_bw if which == "then" else allowed.fx_bw
        assert instant.fz_bw == pytest.approx(allowed.fz_bw, abs=6e-4), name
        assert instant.fx_bw == pytest.approx(shear[end], abs=6e-4), name
        assert instant.percent == pytest.approx(allowed.percent, abs=0.05), name
        expected_pitch = allowed.pitch_deg if which == "then" else 0.0
        assert instant.pitch_deg == pytest.approx(expected_pitch, abs=0.3), name
    loading = children_gait()["free"].at([7])
    assert heel.fz_bw == pytest.approx(loading.fz_bw[0] + 2 * loading.fz_sd_bw[0], abs=6e-4)
    assert heel.fx_bw == pytest.approx(loading.fx_bw[0] - 2 * loading.fx_sd_bw[0], abs=6e-4)


def test_typical_step_is_the_published_free_speed():
    load_set = read_load_set("typical-step")
    measured = [instant for instant in load_set.instants if instant.cop != "heel-edge"]
    assert [i.percent for i in measured] == [2, 7, 12, 20, 31, 40, 48, 50, 54]
    curve = children_gait()["free"].at([i.percent for i in measured])
    pitch = foot_pitch(curve) * 180.0 / 3.141592653589793
    for row, instant in enumerate(measured):
        assert instant.fz_bw == pytest.approx(curve.fz_bw[row], abs=6e-5)
        assert instant.fx_bw == pytest.approx(curve.fx_bw[row], abs=6e-5)
        assert instant.cop == pytest.approx(foot_cop(curve)[row], abs=6e-5)
        assert instant.pitch_deg == pytest.approx(pitch[row], abs=0.06)
    assert load_set.cycles_per_day.adult == 6212 / 2  # Winberg 2014: steps of both legs


def moments(name, wearer):
    height = wearer.measures["malleolus_height_mm"].value
    foot = wearer.measures["foot_length_mm"].value
    reactions = ground_reactions(
        read_load_set(name), wearer=wearer, ankle=(0.0, 0.0, height), foot_length=foot,
        plate_span=(-0.25 * foot, 0.75 * foot),
    )
    return [r.dorsiflexing_moment / 1000.0 / wearer.mass_kg for r in reactions]


def test_envelope_reaches_past_the_characteristic_moment_and_not_absurdly():
    # Schwartz 2008, free speed: largest ankle moment of a child, mean + 2 SD 1.67 N·m/kg, 1.71
    # the largest observed; 1.96 the largest observed at any speed.
    found = moments("walking-envelope", Wearer(mass_kg=35, height_mm=1410, side="left"))
    assert 1.71 <= max(found) <= 1.96
    # A rigid device in a heel strike sees about -0.3 N·m/kg in the mean, so more with scatter.
    assert -0.7 <= min(found) <= -0.3


def test_step_of_a_rigid_device_has_the_published_range():
    found = moments("typical-step", Wearer(mass_kg=40, height_mm=1439, side="left"))
    assert max(found) == pytest.approx(1.226, rel=0.01)
    assert min(found) / max(found) == pytest.approx(-0.3, abs=0.05)


def test_adult_step_lies_near_the_published_adult_moment():
    # Winter 2009 (from memory): 1.5 to 1.7 N·m/kg; the load set states the shortfall.
    found = moments("typical-step", Wearer(mass_kg=85.5, height_mm=1756, side="right"))
    assert max(found) == pytest.approx(1.6, rel=0.10)

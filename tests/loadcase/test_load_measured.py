# SPDX-License-Identifier: MIT
"""Measured gait: the published children's curves by a laboratory's door and by the direct one."""

import gait_laboratory as laboratory
import numpy as np
import pytest

import fea.errors
from fea.check.purpose import purpose_gaps
from fea.loadcase.gait import SAMPLE_HEIGHT, children_gait, foot_cop, foot_pitch, shank_angle
from fea.loadcase.measuredchecks import vertical_impulse
from fea.loadcase.measuredfile import read_recording
from fea.loadcase.reaction import ground_reactions
from fea.loadcase.reader import read_load_set
from fea.sources import cite
from fea.wearer import Wearer

SPEEDS = ["very slow", "slow", "free", "fast", "very fast"]
FOOT_OFF = {"very slow": 68.0, "slow": 64.0, "free": 62.0, "fast": 60.0, "very fast": 60.0}
CHILD = Wearer(mass_kg=laboratory.MASS, height_mm=SAMPLE_HEIGHT, side="left")


def by_cycle(folder, speed):
    curve = children_gait()[speed]
    sampling = f'unit = "% of gait cycle"\nfoot_off = {FOOT_OFF[speed]}'
    return laboratory.write_laboratory(
        folder, laboratory.knee_laboratory(curve), curve.percent, sampling
    )


def by_stance(folder, speed, *, table=laboratory.floor_laboratory, origin="ankle axis"):
    curve = children_gait()[speed].at(np.arange(0.0, FOOT_OFF[speed] + 0.05, 0.1))
    sampling = f'unit = "% of stance"\nfoot_off_percent = {FOOT_OFF[speed]}'
    time = 100.0 * curve.percent / FOOT_OFF[speed]
    return laboratory.write_laboratory(folder, table(curve), time, sampling, origin=origin)


def by_plate(folder, speed):
    return by_stance(folder, speed, table=laboratory.plate_laboratory, origin="laboratory")


def by_second(folder, speed):
    curve = children_gait()[speed].at(np.arange(0.0, 100.05, 0.1))
    time = 1.37 + 0.009 * curve.percent
    sampling = (f'unit = "s"\ncontact = 1.37\nfoot_off = {1.37 + 0.009 * FOOT_OFF[speed]}\n'
                "next_contact = 2.27")
    return laboratory.write_laboratory(
        folder, laboratory.insole_laboratory(curve), time, sampling, origin="heel edge"
    )


def column(load_set, name):
    return np.array([getattr(instant, name) for instant in load_set.instants])


@pytest.mark.parametrize("speed", SPEEDS)
@pytest.mark.parametrize(
    ("write", "cop_error"),  # the rows of the first are the published ones; others lie 0.1 % apart,
    [(by_cycle, 1e-9), (by_stance, 2e-4), (by_plate, 2e-4), (by_second, 2e-4)],
)  # and straight lines between two ways of writing a place differ a little
def test_same_load_set_as_the_direct_route(tmp_path, write, speed, cop_error):
    load_set = read_load_set(write(tmp_path, speed))
    assert len(load_set.instants) == 25
    curve = children_gait()[speed].at(column(load_set, "percent"))
    np.testing.assert_allclose(column(load_set, "fz_bw"), curve.fz_bw, atol=1e-9)
    np.testing.assert_allclose(column(load_set, "fx_bw"), curve.fx_bw, atol=1e-9)
    np.testing.assert_allclose(column(load_set, "cop"), foot_cop(curve), atol=cop_error)
    pitch = np.degrees(foot_pitch(curve))
    np.testing.assert_allclose(column(load_set, "pitch_deg"), pitch, atol=0.05)
    if write in (by_cycle, by_second):
        lean = np.degrees(shank_angle(curve))
        np.testing.assert_allclose(column(load_set, "shank_angle_deg"), lean, atol=0.05)


# Schwartz 2008: mean vertical force over the cycle, body weights; what the foot shows in swing
# (noise of the mean, up to 0.003) is not in it.
@pytest.mark.parametrize(
    ("speed", "published"),
    [("very slow", 0.4958), ("slow", 0.4948), ("free", 0.4969), ("fast", 0.4971),
     ("very fast", 0.4965)],
)
def test_impulses_are_the_published_ones(tmp_path, speed, published):
    for write in (by_cycle, by_stance, by_second):
        found = vertical_impulse(read_recording(write(tmp_path, speed)))
        assert found == pytest.approx(published, abs=0.003)


# Schwartz 2008, largest of the mean ankle moment, N·m/kg.
@pytest.mark.parametrize("speed", SPEEDS)
def test_ankle_moments_on_a_device_are_the_published_ones(tmp_path, speed):
    load_set = read_load_set(by_cycle(tmp_path, speed))
    reactions = ground_reactions(
        load_set, wearer=CHILD, ankle=(0.0, 0.0, laboratory.ANKLE), foot_length=laboratory.FOOT,
        plate_span=(-0.25 * laboratory.FOOT, 1.25 * laboratory.FOOT),
    )
    found = [r.dorsiflexing_moment / 1000.0 / CHILD.mass_kg for r in reactions]
    published = children_gait()[speed].at([r.percent for r in reactions])
    np.testing.assert_allclose(found, published.ankle_moment_nm_per_kg, atol=1e-6)
    peak = children_gait()[speed].ankle_moment_nm_per_kg.max()
    assert max(found) == pytest.approx(peak, rel=0.01)


def test_what_was_assumed_is_said(tmp_path):
    load_set = read_load_set(by_stance(tmp_path, "free"))
    assert load_set.purpose == "step"
    for words in ("schwartz-2008", "left leg, body mass 40 kg: the wearer's own",
                  "foot length 224 mm, ankle height 58 mm", "No sideways force",
                  "25 instants at equal steps of time", "without scatter", "differ by at most"):
        assert words in load_set.note
    origins = load_set.instants[0].provenance
    assert origins["fz_bw"].source == "measured" and origins["fz_bw"].status == "read"
    assert origins["cop"].status == "derived"
    assert origins["fy_bw"].status == "assumed"
    assert all(cite(row.source) for row in origins.values())


def test_without_angles_the_foot_is_taken_as_flat_and_that_is_said(tmp_path):
    def flat(curve):
        table = laboratory.knee_laboratory(curve)
        return {name: table[name] for name in ("vertical_force", "fore_aft_force", "ankle_moment")}

    load_set = read_load_set(by_stance(tmp_path, "free", table=flat))
    assert set(column(load_set, "pitch_deg")) == {0.0}
    assert load_set.instants[0].provenance["pitch_deg"].status == "assumed"
    assert "taken as flat" in load_set.note
    curve = children_gait()["free"].at(column(load_set, "percent"))
    np.testing.assert_allclose(
        column(load_set, "cop"), foot_cop(curve, np.zeros(25)), atol=2e-4
    )
    path = by_stance(tmp_path, "free", table=flat)
    path.write_text(path.read_text() + VERDICT, encoding="utf-8")
    with pytest.raises(fea.errors.FileError, match="verdict: needs the pitch of the foot"):
        read_load_set(path)


VERDICT = '\n[verdict]\nscatter_factor = 1.25\nsource = "largest of twelve own steps"\n'


def test_a_verdict_raises_the_forces_and_keeps_the_place(tmp_path):
    path = by_cycle(tmp_path, "free")
    step = read_load_set(path)
    path.write_text(path.read_text(encoding="utf-8") + VERDICT, encoding="utf-8")
    verdict = read_load_set(path)
    assert (step.purpose, verdict.purpose) == ("step", "verdict")
    for name in ("fz_bw", "fx_bw"):
        np.testing.assert_allclose(column(verdict, name), 1.25 * column(step, name))
    np.testing.assert_allclose(column(verdict, "cop"), column(step, "cop"))
    assert "factor 1.25 for scatter (largest of twelve own steps)" in verdict.note
    assert "times 1.25" in verdict.instants[0].provenance["fz_bw"].note


def test_an_unknown_cycle_is_assumed_and_its_impulse_not_checked(tmp_path):
    path = by_stance(tmp_path, "free")
    path.write_text(path.read_text().replace("foot_off_percent = 62.0", ""), encoding="utf-8")
    load_set = read_load_set(path)
    assert load_set.instants[0].provenance["percent"].status == "assumed"
    assert "was not checked" in load_set.note


def test_an_odd_impulse_is_a_remark_and_no_refusal(tmp_path):
    path = by_cycle(tmp_path, "free")
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("mass_kg = 40.0", "mass_kg = 60.0"), encoding="utf-8")
    assert "vertical impulse is 0.33 body weights" in read_load_set(path).note


@pytest.mark.parametrize("speed", SPEEDS)
def test_a_knee_moment_of_the_wrong_sign_is_doubted_and_not_checked(tmp_path, speed):
    """The knee moment is small, so that no place betrays it; the foot that should rest does."""
    path = by_cycle(tmp_path, speed)
    assert "in mid-stance" not in read_load_set(path).note
    assert purpose_topics(path).count("measured gait") == 0
    text = path.read_text(encoding="utf-8").replace("internal extending", "internal flexing")
    path.write_text(text, encoding="utf-8")
    found = speed != "very slow"
    assert ("where a foot rests" in read_load_set(path).note) == found
    assert purpose_topics(path).count("measured gait") == found


def purpose_topics(path):
    return [gap.topic for gap in purpose_gaps(read_load_set(path))]


@pytest.mark.parametrize(
    ("wearer", "words"),
    [(Wearer(mass_kg=40.0, height_mm=1439.0, side="right"), "left leg and the wearer's side"),
     (Wearer(mass_kg=45.0, height_mm=1439.0, side="left"), "over 10 % from the wearer's 45 kg")],
)
def test_the_wearers_own_gait_fits_the_wearer_or_is_refused(tmp_path, wearer, words):
    path = by_cycle(tmp_path, "free")
    room = {"ankle": (0, 0, 58), "foot_length": 224.0, "plate_span": (-56.0, 168.0)}
    assert len(ground_reactions(read_load_set(path), wearer=CHILD, **room)) == 25
    with pytest.raises(fea.errors.LoadError, match=words):
        ground_reactions(read_load_set(path), wearer=wearer, **room)
    text = path.read_text(encoding="utf-8").replace('"the wearer"', '"another person"')
    path.write_text(text, encoding="utf-8")
    borrowed = read_load_set(path)
    assert "not this wearer's gait" in borrowed.note
    assert len(ground_reactions(borrowed, wearer=wearer, **room)) == 25


def test_the_shipped_example_is_invented_and_says_so():
    load_set = read_load_set("example-laboratory")
    assert "invented" in load_set.title and "invented" in load_set.note
    curve = children_gait()["free"].at(column(load_set, "percent"))
    np.testing.assert_allclose(column(load_set, "fz_bw"), curve.fz_bw, atol=2e-3)
    np.testing.assert_allclose(column(load_set, "cop"), foot_cop(curve), atol=3e-3)

# SPDX-License-Identifier: MIT
"""The wearer: estimates against the published tables, and the refusal of the impossible."""

from pathlib import Path

import pytest

from fea.errors import FileError, WearerError
from fea.wearer import Wearer, read_wearer

ROOT = Path(__file__).parents[2]


def child(**given):
    return Wearer(**{"mass_kg": 35.2, "height_mm": 1410.0, "side": "left", **given})


def value(wearer, name):
    return wearer.measures[name].value


# Snyder 1977: age, mean stature (cm), mean foot length (cm), mean sitting knee height (cm).
SNYDER = [(6, 117.9, 18.5, 36.0), (8, 130.0, 20.3, 40.7), (10, 141.0, 22.1, 44.7),
          (12, 152.2, 23.7, 48.5), (14, 162.3, 24.8, 51.3)]


@pytest.mark.parametrize(("age", "stature", "foot", "knee"), SNYDER)
def test_children_follow_the_means_of_their_age(age, stature, foot, knee):
    wearer = Wearer(mass_kg=30, height_mm=10 * stature, side="left", age_years=age)
    assert not wearer.is_adult
    assert value(wearer, "foot_length_mm") == pytest.approx(10 * foot, rel=0.03)
    # The plateau lies at 0.845 to 0.856 of the sitting knee height of adults (ANSUR II).
    assert value(wearer, "tibial_height_mm") == pytest.approx(10 * knee * 0.85, rel=0.03)


def test_child_foot_by_hand():
    # 0.1459 * 141.0 cm + 1.364 cm = 21.936 cm
    assert value(child(), "foot_length_mm") == pytest.approx(219.36, abs=0.01)


# ANSUR II means (mm); ball length, breadths and girths of each sex come back at its mean.
@pytest.mark.parametrize(
    ("sex", "mass", "height", "foot", "ball", "breadth", "calf", "tibial"),
    [("female", 67.8, 1628.5, 246.3, 182.1, 92.7, 373.3, 437.8),
     ("male", 85.5, 1756.0, 271.2, 200.9, 101.9, 392.3, 468.2)],
)
def test_mean_adults_come_back(sex, mass, height, foot, ball, breadth, calf, tibial):
    wearer = Wearer(mass_kg=mass, height_mm=height, side="right", sex=sex)
    assert wearer.is_adult
    for name, expected in [("foot_length_mm", foot), ("ball_length_mm", ball),
                           ("foot_breadth_mm", breadth), ("calf_circumference_mm", calf),
                           ("tibial_height_mm", tibial)]:
        assert value(wearer, name) == pytest.approx(expected, rel=1e-9), name


def test_unknown_sex_takes_the_mean_of_both():
    wearer = Wearer(mass_kg=75, height_mm=1700, side="left")
    # (0.1512 + 0.1544) / 2 of the height: ANSUR II foot length over stature.
    assert value(wearer, "foot_length_mm") == pytest.approx(0.1528 * 1700, rel=1e-3)


def test_male_calf_agrees_with_the_survey_regression():
    # ANSUR II, men: calf (mm) = 1.888 kg - 0.684 H(cm) + 351, residual SD 16 mm.
    for mass, height in [(65, 1700), (85, 1760), (110, 1850)]:
        wearer = Wearer(mass_kg=mass, height_mm=height, side="left", sex="male")
        expected = 1.888 * mass - 0.684 * height / 10 + 351
        assert value(wearer, "calf_circumference_mm") == pytest.approx(expected, abs=16)


def test_every_measure_says_where_it_comes_from():
    wearer = child(foot_length_mm=215)
    for name, measure in wearer.measures.items():
        given = name in ("mass_kg", "height_mm", "foot_length_mm")
        assert measure.estimated is not given
        assert measure.source and bool(measure.note) is not given
        assert measure.unit == name.rpartition("_")[2]


def test_foot_parts_follow_a_measured_foot():
    ratio = value(child(foot_length_mm=200), "ball_length_mm") / value(child(), "ball_length_mm")
    assert ratio == pytest.approx(200 / 219.359, rel=1e-6)


def test_group_is_decided_by_word_then_age_then_height():
    assert not child().is_adult
    assert child(age_years=20).is_adult
    assert not child(height_mm=1600, age_years=14).is_adult
    assert child(height_mm=1500).is_adult
    assert not child(height_mm=1700, mass_kg=60, adult=False).is_adult


@pytest.mark.parametrize(
    ("given", "words"),
    [({"mass_kg": 4}, ["mass_kg", "4 kg", "5 to 200 kg", "check"]),
     ({"mass_kg": float("nan")}, ["mass_kg", "nan"]),
     ({"mass_kg": "35"}, ["mass_kg", "'35'", "not a number"]),
     ({"height_mm": 141}, ["height_mm", "141 mm", "800 to 2200 mm"]),
     ({"side": "both"}, ["side", "'both'", "'left' or 'right'"]),
     ({"sex": "x"}, ["sex", "'x'"]),
     ({"mass_kg": 190}, ["mass_kg", "190 kg", "kg/m²"]),
     ({"foot_length_mm": 300}, ["foot_length_mm", "300 mm", "219 mm"]),
     ({"ball_length_mm": 219}, ["ball_length_mm", "219 mm", "162 mm"]),
     ({"adult": True, "age_years": 9}, ["adult", "9 years"])],
)
def test_the_impossible_is_refused(given, words):
    with pytest.raises(WearerError) as caught:
        child(**given)
    for word in words:
        assert word in str(caught.value)


def test_all_mistakes_at_once():
    with pytest.raises(WearerError) as caught:
        child(mass_kg=500, height_mm=14, side="up")
    assert all(word in str(caught.value) for word in ("mass_kg", "height_mm", "side"))


def test_a_wasted_calf_is_accepted():
    assert value(child(calf_circumference_mm=190), "calf_circumference_mm") == 190


def test_file_reports_every_mistake(tmp_path):
    path = tmp_path / "wearer.toml"
    path.write_text('mass = 35\nheight_mm = 14.1\nside = "up"\nfoot_length_mm = "long"\n')
    with pytest.raises(FileError) as caught:
        read_wearer(path)
    places = {problem.where for problem in caught.value.problems}
    assert places == {"mass_kg", "mass", "height_mm", "side", "foot_length_mm"}


def test_file_reports_contradictions_with_its_name(tmp_path):
    path = tmp_path / "wearer.toml"
    path.write_text('mass_kg = 35\nheight_mm = 1410\nside = "left"\nfoot_length_mm = 320\n')
    with pytest.raises(FileError, match="wearer.toml.*foot_length_mm.*320 mm"):
        read_wearer(path)


@pytest.mark.parametrize(("name", "adult", "mass"), [("child", False, 35), ("adult", True, 68)])
def test_demo_wearers_are_invented_and_readable(name, adult, mass):
    wearer = read_wearer(ROOT / "meshes" / "wearers" / f"demo-{name}.toml")
    assert wearer.is_adult is adult and wearer.mass_kg == mass
    assert "invented" in wearer.name

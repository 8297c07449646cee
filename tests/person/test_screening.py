# SPDX-License-Identifier: MIT
"""Clinical facts: flagged beyond the border, said to be unknown, never a block."""

import pytest

from fea.errors import FileError, WearerError
from fea.screening import Screening
from fea.sources import cite
from fea.wearer import Wearer, read_wearer

FACTS = ["hip flexion contracture", "knee flexion contracture", "quadriceps", "hip extensors",
         "trunk balance and walking aid"]


def flag(fact, **given):
    return {flag.fact: flag for flag in Screening(**given).flags}[fact]


def test_nothing_known_is_said_to_be_unknown():
    flags = Screening().flags
    assert [item.fact for item in flags] == FACTS
    assert {item.state for item in flags} == {"unknown"}
    assert all("not known" in item.sentence for item in flags)


# Common practice: contracture over 10 degrees, quadriceps and hip extensors under grade 3.
@pytest.mark.parametrize(
    ("fact", "key", "inside", "beyond"),
    [("hip flexion contracture", "hip_flexion_contracture_deg", 10, 10.5),
     ("knee flexion contracture", "knee_flexion_contracture_deg", 10, 11),
     ("quadriceps", "quadriceps_grade", 3, 2.5),
     ("hip extensors", "hip_extensor_grade", 3, 2.5)],
)
def test_either_side_of_the_border(fact, key, inside, beyond):
    assert flag(fact, **{key: inside}).state == "not flagged"
    found = flag(fact, **{key: beyond})
    assert found.state == "flagged"
    assert f"{beyond:g}" in found.sentence and "nothing is refused" in found.sentence


@pytest.mark.parametrize(
    ("balance", "aid", "state"),
    [(False, False, "flagged"), (True, False, "not flagged"), (False, True, "not flagged"),
     (None, True, "not flagged"), (True, None, "not flagged"), (False, None, "unknown"),
     (None, False, "unknown"), (None, None, "unknown")],
)
def test_an_aid_stands_in_for_the_trunk(balance, aid, state):
    found = flag("trunk balance and walking aid", trunk_balance=balance, walking_aid=aid)
    assert found.state == state
    assert ("not known" in found.sentence) == (None in (balance, aid))


def test_both_sides_of_the_evidence_on_contractures_are_cited():
    knee = flag("knee flexion contracture", knee_flexion_contracture_deg=20)
    assert {"kerkum-2013", "rogozinski-2009", "bohm-2018"} <= set(knee.sources)
    assert "no contraindication" in knee.sentence and "left out knee contractures" in knee.sentence
    hip = flag("hip flexion contracture", hip_flexion_contracture_deg=20)
    assert "kerkum-2013" not in hip.sources  # that trial drew its border at ankle and knee only
    for item in (knee, hip):
        assert all(cite(key) for key in item.sources)
        assert all(key in item.sentence for key in item.sources if key != "practice")


@pytest.mark.parametrize(
    ("given", "words"),
    [({"quadriceps_grade": 6}, ["quadriceps_grade", "6 is outside 0 to 5"]),
     ({"quadriceps_grade": "3-"}, ["'3-' is not a number", "2.5 for 3-"]),
     ({"knee_flexion_contracture_deg": -5}, ["-5 is outside 0 to 90", "0 for none"]),
     ({"hip_flexion_contracture_deg": float("nan")}, ["nan is outside 0 to 90"]),
     ({"walking_aid": "crutch"}, ["walking_aid", "'crutch' is unknown; give true or false"])],
)
def test_the_impossible_is_refused(given, words):
    with pytest.raises(WearerError) as caught:
        Screening(**given)
    assert all(word in str(caught.value) for word in words)


def test_a_wearer_without_the_facts_has_them_unknown():
    wearer = Wearer(mass_kg=35, height_mm=1410, side="left")
    assert wearer.clinical == Screening()


def write(tmp_path, text):
    path = tmp_path / "wearer.toml"
    path.write_text(f'mass_kg = 35\nheight_mm = 1410\nside = "left"\n[clinical]\n{text}')
    return path


def test_a_wearer_file_gives_them(tmp_path):
    path = write(tmp_path, "knee_flexion_contracture_deg = 15\ntrunk_balance = true\n")
    clinical = read_wearer(path).clinical
    assert clinical == Screening(knee_flexion_contracture_deg=15.0, trunk_balance=True)
    assert [item.state for item in clinical.flags].count("unknown") == 3


def test_a_wearer_file_reports_every_mistake(tmp_path):
    path = write(tmp_path, 'quadriceps_grade = "3-"\nhip_extensor_grade = 7\nmood = "good"\n')
    with pytest.raises(FileError) as caught:
        read_wearer(path)
    assert {problem.where for problem in caught.value.problems} == {
        "clinical.quadriceps_grade", "clinical.hip_extensor_grade", "clinical.mood",
    }
    assert "2.5 for 3-" in str(caught.value)

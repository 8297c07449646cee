# SPDX-License-Identifier: MIT
"""Numbers of a load set changed by hand: what changes, what stays, and what is refused."""

import pytest

from fea.errors import LoadError
from fea.loadcase.change import PUSH_RANGES, RANGES, WORDS, parse_changes
from fea.loadcase.instant import Push
from fea.loadcase.reader import read_load_set
from fea.provenance import fingerprint
from fea.shipped import shipped_names

WALK = read_load_set("walking-envelope")
LAST = "end of the plate, flat, driving"


def named(load_set, name):
    return next(case for case in load_set.cases if case.name == name)


def test_one_number_of_every_case():
    hard = WALK.changed({"fz_bw": 1.5})
    assert {case.fz_bw for case in hard.instants} == {1.5}
    for old, new in zip(WALK.instants, hard.instants, strict=True):
        assert (old.fx_bw, old.cop, old.pitch_deg) == (new.fx_bw, new.cop, new.pitch_deg)
        assert new.provenance["fz_bw"].source == "changed by hand"
        assert new.provenance["fz_bw"].note == f"was {old.fz_bw}"
        assert new.provenance["cop"] == old.provenance["cop"]


def test_one_number_of_one_case_with_commas_and_quotes():
    for name in (f"{LAST}.cop", f'"{LAST}".cop', f"'{LAST}' .cop "):
        moved = WALK.changed({name: 0.9})
        assert named(moved, LAST).cop == 0.9
        assert [c for c in moved.instants if c.name != LAST] == [
            c for c in WALK.instants if c.name != LAST
        ]


def test_a_factor_multiplies_what_was_there():
    hard = WALK.changed({"fz_bw*": 1.2, "fx_bw *": 1.2})
    for old, new in zip(WALK.instants, hard.instants, strict=True):
        assert new.fz_bw == pytest.approx(1.2 * old.fz_bw)
        assert new.fx_bw == pytest.approx(1.2 * old.fx_bw)


def test_a_centre_of_pressure_takes_the_place_of_a_moment():
    measured = read_load_set("example-laboratory")
    by_moment = WALK.changed({f"{LAST}.moment_nm_per_kg": 1.4})
    case = named(by_moment, LAST)
    assert case.cop is None and case.moment_nm_per_kg == 1.4 and "cop" not in case.provenance
    assert {case.cop for case in measured.changed({"cop": "plate-end"}).instants} == {"plate-end"}


def test_pushes_and_bends_too():
    assert [c.fx_bw for c in read_load_set("sitting").changed({"fx_bw": -0.7}).pushes] == [-0.7] * 4
    bend = read_load_set("toe-bend").changed({"angle_deg*": 0.5}).bends[0]
    assert bend.angle_deg == pytest.approx(13.0)


def test_every_change_shows_in_title_note_and_fingerprint():
    hard = WALK.changed({"fz_bw*": 1.2, f"{LAST}.cop": "plate-end"})
    said = f"fz_bw times 1.2 in every case; cop = plate-end in '{LAST}'"
    assert hard.title == f"{WALK.title} (changed: {said})"
    assert hard.note.endswith(f"Changed by hand: {said}.") and len(hard.changes) == 2
    assert fingerprint([hard]) != fingerprint([WALK])
    assert WALK.changed({}) is WALK


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"fz": 1.0}, "has no number 'fz'; it has fz_bw, "),
        ({"nobody.fz_bw": 1.0}, "has no case 'nobody'; it has "),
        ({"angle_deg": 5.0}, "none of its cases has a number 'angle_deg'"),
        ({"fz_bw": 0.0}, "would be 0; it must lie above 0 and up to 6: in body weights; the"),
        ({"fx_bw*": 90.0}, "it must lie from -1 to 1: in body weights; walking gives some 0.3"),
        ({"pitch_deg": -60.0}, "would be -60; it must lie from -30 to 75: toes up is negative"),
        ({"cop": 1.45}, "would be 1.45; it must lie from -0.1 to 1.2: 0 is the heel's edge"),
        ({"fy_bw": 0.7}, "it must lie from -0.6 to 0.6"),
        ({"moment_nm_per_kg": 9.0}, "it must lie from -2 to 5: walking gives some 1.6"),
        ({"pitch": 5.0}, "has no number 'pitch'; it has pitch_deg, "),
        ({"fz_bw": float("nan")}, "would be nan"),
        ({"cop": "toe"}, "cannot be 'toe'; give a number, or one of heel-edge, plate-end"),
        ({"fz_bw": "much"}, "cannot be 'much'; give a number"),
        ({f"{LAST}.cop*": 0.9}, "is 'plate-end', which cannot be multiplied; set it"),
        ({"beyond_plate": 1.0}, "is no number; use one of refuse, plate-end"),
        ({"name": 1.0}, "has no number 'name'"),
    ],
)
def test_refused_in_one_sentence(changes, words):
    with pytest.raises(LoadError) as error:
        WALK.changed(changes)
    assert words in str(error.value) and "\n" not in str(error.value)


@pytest.mark.parametrize("text", ["fz_bw", "=1.5", "fz_bw=", ""])
def test_texts_that_are_no_change(text):
    with pytest.raises(LoadError, match="write NAME=VALUE, as in fz_bw=1.5"):
        parse_changes([text])


def test_the_same_number_twice():
    with pytest.raises(LoadError, match="'fz_bw' is changed twice"):
        parse_changes(["fz_bw=1", "fz_bw=2"])


def test_a_push_on_the_device_is_no_push_of_the_ground():
    kneel = read_load_set("sitting")
    harder = kneel.changed({"kneeling on the front piece.fx_bw": -1.5})
    assert [push.fx_bw for push in harder.pushes if push.name.startswith("kneeling")] == [-1.5]
    with pytest.raises(LoadError, match="from -3 to 3: in body weights; no push on a device"):
        kneel.changed({"kneeling on the front piece.fx_bw": -3.5})


def test_every_number_of_a_shipped_set_lies_in_its_range():
    for name in shipped_names("loadcases"):
        for case in read_load_set(name).cases:
            ranges = PUSH_RANGES if isinstance(case, Push) else RANGES
            for key, allowed in ranges.items():
                value = getattr(case, key, None)
                if isinstance(value, (int, float)):
                    assert allowed.allows(value), (name, case.name, key, value)


def test_every_range_and_word_belongs_to_a_case():
    sets = [read_load_set(name) for name in ("walking-envelope", "sitting", "toe-bend")]
    cases = [case for load_set in sets for case in load_set.cases]
    for key in (*RANGES, *WORDS):
        assert any(hasattr(case, key) for case in cases), key

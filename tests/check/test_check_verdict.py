# SPDX-License-Identifier: MIT
"""The verdict: a word, a sentence, the terminal; what is not checked never counts as passed."""

from dataclasses import replace

from fea.check.check import Check, NotChecked
from fea.check.summarytext import text_summary
from fea.check.verdict import (
    governing_three,
    grouped,
    margin_words,
    open_count,
    outlook_words,
    outlooks,
    place_words,
    verdict_of,
    verdict_sentence,
)
from fea.check.whereabouts import Whereabouts

CHECK = Check(topic="yield", zone="strip", case="push", place=(1, 2, 3), demand=1.0, capacity=2.0,
              unit="MPa", required=1.5, basis="von Mises", sources=())


def row_of(check):
    lines = text_summary("A strip", [check], []).splitlines()
    return next(line for line in lines if line.startswith(check.topic)).split()


def gap(zone, because="no strength is known"):
    return NotChecked(topic="fastening", zone=zone, because=because)


def test_the_table_shows_the_error_that_the_demand_contains():
    lines = text_summary("A strip", [replace(CHECK, error=0.25), CHECK], []).splitlines()
    head = next(line for line in lines if line.startswith("check ")).split()
    assert head.index("error") == head.index("demand") + 1
    assert any(" 1.00" in line and " 0.250" in line for line in lines)
    assert any(line.startswith("error: estimated error of the mesh, a part of the demand; –")
               for line in lines)
    assert row_of(CHECK)[7] == "–"
    assert float(row_of(replace(CHECK, error=0.0))[7]) == 0.0  # estimated, and nought


def test_places_with_the_same_reason_share_a_line_and_count_once_everywhere():
    gaps = [*(gap(f"rivet {k}") for k in range(12)), gap("screw", "it is new")]
    lines = text_summary("A strip", [CHECK], gaps).splitlines()
    assert open_count(gaps) == 2
    assert "Not checked (2, each reason counted once):" in lines
    assert "; 2 things were not checked" in lines[-1]
    assert "  fastening, 12 places: no strength is known" in lines
    assert "  fastening, screw: it is new" in lines
    assert sum("fastening" in line for line in lines) == 2


def test_the_table_says_what_its_places_mean():
    lines = text_summary("A strip", [CHECK], []).splitlines()
    assert lines.count("at: x ahead of the ankle axis, y to the wearer's left, z above the floor, "
                       "mm") == 1


def test_a_place_that_is_judged_by_itself_is_named_with_its_area():
    peak = replace(CHECK, topic="local peak", basis="re-entrant corner at (1, 2, 3) 40 mm²")
    lines = text_summary("A strip", [CHECK, peak], []).splitlines()
    start = lines.index("Left out of the plain maximum of stress and judged by itself:")
    assert lines[start + 1] == "  strip: re-entrant corner at (1, 2, 3) 40 mm²"


def test_buckling_is_told_in_words():
    check = replace(CHECK, topic="buckling", capacity=0.41, unit="1",
                    basis="load factor 1 against the critical factor 1.60 (proved)")
    lines = text_summary("A strip", [CHECK, check], []).splitlines()
    row = next(line for line in lines if line.startswith("buckling"))
    assert "× load" in row
    start = lines.index("Buckling, as a factor on the loads:")
    assert lines[start + 1] == f"  strip, today: {check.basis}"
    assert "Buckling, as a factor on the loads:" not in text_summary("A strip", [CHECK], [])


FALL = replace(CHECK, horizon="first fall", zone="upright", capacity=1.2)
LIFE = replace(CHECK, horizon="service life", topic="fatigue", unit="1", demand=0.4, capacity=1.0,
               required=2.0)
# A foot of 219 mm, its ankle axis 81 mm above the floor and 55 mm ahead of the heel.
WHERE = Whereabouts("left", ankle_height=81.0, heel=-55.0, foot_length=219.0, shank_length=335.0)


def test_a_question_without_a_check_keeps_the_whole_from_being_met():
    assert verdict_of([CHECK], []) == "not fully checked"
    assert verdict_of([CHECK, replace(FALL, capacity=2.0)], []) == "not fully checked"
    assert verdict_of([CHECK, replace(FALL, capacity=2.0), LIFE], []) == "met"
    assert verdict_of([CHECK, FALL, LIFE], []) == "not met"  # 1.2 of 1.5
    assert verdict_of([], []) == "not fully checked"


def test_a_gap_leaves_open_the_question_it_names_or_every_one():
    life = NotChecked(topic="fatigue", zone="strip", because="no data", horizon="service life")
    checks = [CHECK, replace(FALL, capacity=2.0), LIFE]
    assert [one.state for one in outlooks(checks, [life])] == ["met", "met", "not fully checked"]
    assert {one.state for one in outlooks(checks, [gap("rivet")])} == {"not fully checked"}
    assert verdict_of(checks, [life]) == "not fully checked"


def test_the_sentence_says_in_plain_words_what_holds_by_how_much_and_where():
    place = (-20.0, -30.0, 85.0)
    today, fall = replace(CHECK, place=place), replace(FALL, place=place)
    assert verdict_sentence([today, fall], [gap("a"), gap("b")], WHERE) == (
        "This device does not hold in a first fall: the back inner side of the ankle must be "
        "1.25 times as strong; today what was checked holds; over its service life nothing "
        "was checked; 1 thing was not checked.")
    assert verdict_sentence([today], [gap("a"), gap("b", "it is new")], WHERE) == (
        "As far as it was checked, this device holds today, the closest being the back inner side "
        "of the ankle, which is 1.33 times as strong as it must be; in a first fall and over its "
        "service life nothing was checked; 2 things were not checked, so it is not shown to hold.")
    holds = [CHECK, replace(FALL, capacity=2.0), replace(LIFE, required=1.0)]
    assert verdict_sentence(holds, []) == (
        "This device holds today, in a first fall and over its service life, the closest being "
        "the strip, which is 1.33 times as strong as it must be.")
    both = [replace(CHECK, capacity=1.4), FALL, LIFE]
    assert verdict_sentence(both, []).startswith(
        "This device does not hold today and in a first fall: the upright must be 1.25 "
        "times as strong (in a first fall); over its service life what was checked holds.")
    assert verdict_sentence([], []).startswith("Nothing could be checked")


def test_a_margin_is_said_in_the_words_of_its_kind_and_rounded_against_the_device():
    skin = replace(CHECK, topic="skin pressure", unit="kPa", demand=40.0, capacity=53.0,
                   required=1.0)
    turn = replace(CHECK, topic="ankle rotation", zone="device", place=None, unit="deg",
                   demand=8.01, capacity=8.0, required=1.0)
    assert margin_words(skin) == (
        "the skin at the strip, which is pressed 0.76 times as hard as is allowed")
    assert margin_words(turn) == ("the ankle, which turns up to 8.1°, more than the 8.0° that this "
                                  "calculation can judge (no clinical limit)")
    assert margin_words(replace(turn, demand=7.21)) == (
        "the ankle, which turns up to 7.3°, of the 8.0° that this calculation can judge (no "
        "clinical limit)")
    lines = text_summary("A strip", [turn], []).splitlines()
    assert any("no clinical limit was read" in line for line in lines)
    assert margin_words(replace(CHECK, topic="buckling")) == (
        "the strip, which is 1.33 times as safe from buckling as it must be")
    assert margin_words(LIFE) == "the strip, which is 1.25 times as strong as it must be"
    assert margin_words(replace(CHECK, demand=1.3334)).endswith("must be 1.01 times as strong")
    assert margin_words(replace(CHECK, demand=0.0)).endswith("which is asked nothing")


def test_a_joint_or_hole_that_governs_is_named_and_not_the_wall_alone():
    where = replace(WHERE, joints={"drain": "the hole “drain”"})
    hole = replace(CHECK, topic="net section", zone="drain", place=(-20.0, -30.0, 85.0),
                   demand=2.0)
    assert place_words(hole, where) == "the hole “drain” at the back inner side of the ankle"
    assert verdict_sentence([hole], [], where).startswith(
        "This device does not hold today: the hole “drain” at the back inner side of the ankle "
        "must be 1.50 times as strong")


def test_places_that_read_alike_and_lie_apart_are_given_with_their_distances():
    today, fall = (replace(check, place=(x, -30.0, 85.0))
                   for check, x in ((CHECK, -20.0), (FALL, -24.0)))
    assert place_words(today, WHERE) == place_words(fall, WHERE)
    words = outlook_words(outlooks([today, fall], []), WHERE)
    assert "ankle (20 mm behind the ankle axis, 30 mm to the inner side, 85 mm above" in words[0]
    assert "ankle (24 mm behind the ankle axis" in words[1]
    assert words[2] == "over its service life nothing was checked"
    same = outlook_words(outlooks([today, replace(fall, place=today.place)], []), WHERE)
    assert "mm" not in "".join(same)


def test_life_that_no_test_reached_is_not_said_to_hold():
    early = replace(LIFE, topic="early cracks")
    gap_ = NotChecked(topic="life", zone="strip", because="tests end", horizon="service life")
    sentence = verdict_sentence([CHECK, early], [gap_])
    assert "today and over the part of its service life that published tests reach, " in sentence
    (answer,) = (one for one in outlooks([early], [gap_]) if one.horizon == "service life")
    assert answer.state == "not fully checked"
    failed = outlooks([replace(early, demand=0.9)], [gap_])[2]
    assert failed.when == "over its service life"


def test_the_worst_three_come_from_all_questions():
    checks = [replace(CHECK, zone=str(k), demand=0.1 * k) for k in range(9)] + [FALL]
    assert [check.zone for check in governing_three(checks)] == ["upright", "8", "7"]


def test_gaps_of_several_questions_are_one_thing():
    items = [replace(gap("rivet"), horizon=h) for h in ("today", "first fall")] + [gap("screw")]
    (one,) = grouped(items)
    assert one.zones == ("rivet", "screw") and len(one.horizons) == 3
    assert grouped(items[:2])[0].horizons == ("today", "first fall")


def test_the_terminal_has_a_table_for_each_question_and_what_governs():
    text = text_summary("A strip", [FALL, replace(CHECK, note="x: memory-M")], [], WHERE)
    assert text.index("Today:") < text.index("yield  strip") < text.index("In a first fall:")
    assert text.index("In a first fall:") < text.index("upright") < text.index("Over its service")
    assert "Over its service life:\nnothing was checked" in text
    assert "  2. yield, today, " in text and "; x: memory-M" in text

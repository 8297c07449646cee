# SPDX-License-Identifier: MIT
"""Better or worse over all checks, on checks made by hand, and the words for it."""

from types import SimpleNamespace

import pytest

from fea.check.check import Check, NotChecked
from fea.study.comparedchecks import Side, compare_checks, compare_gaps
from fea.study.tendency import (
    enough_words,
    grams_words,
    opening_words,
    tendency,
    tendency_points,
    tendency_words,
)


def check(zone, used, *, error=0.05, topic="yield"):
    """A check that uses the share ``used`` of what is allowed, computed, with an error to it."""
    demand = used + (error or 0.0)
    return Check(topic=topic, zone=zone, case="push", place=None, demand=demand, capacity=1.5,
                 unit="MPa", required=1.5, basis="", sources=(), error=error)  # fmt: skip


def judged(before, after, *, gaps_before=(), gaps_after=(), parts=("ankle", "upright")):
    old = Side(before, gaps_before, dict.fromkeys(parts, "plastic"), 6.0)
    new = Side(after, gaps_after, dict.fromkeys([*parts, "strip"], "plastic"), 6.0)
    return tendency(compare_checks(old, new), compare_gaps(old, new))


@pytest.mark.parametrize(("before", "after", "overall"), [
    ([("ankle", 1.3), ("upright", 0.5)], [("ankle", 0.8), ("upright", 0.5)], "better"),
    ([("ankle", 1.3)], [("ankle", 1.25)], "no difference"),
    ([("ankle", 0.6)], [("ankle", 0.9)], "worse"),
    ([("ankle", 1.6), ("upright", 0.7)], [("ankle", 1.2), ("upright", 1.2)], "better and worse"),
    ([("ankle", 1.2), ("upright", 1.3)], [("ankle", 0.8), ("upright", 1.5)], "worse"),
    ([("ankle", 1.2), ("upright", 0.8)], [("ankle", 0.8), ("upright", 1.15)], "better and worse"),
    ([("ankle", 1.3)], [("ankle", 0.8), ("strip", 0.9)], "better"),
    ([("ankle", 0.8)], [("ankle", 0.5), ("strip", 1.4)], "worse"),
])  # fmt: skip
def test_the_hardest_check_decides_unless_a_requirement_breaks(before, after, overall):
    found = judged(*([check(*one) for one in checks] for checks in (before, after)))
    assert found.overall == overall


def test_what_is_not_checked_any_more_is_never_better():
    """The check that governed is gone: what is left looks better by half."""
    gap = NotChecked(topic="yield", zone="ankle", because="too coarse there")
    found = judged([check("ankle", 1.3), check("upright", 0.6)], [check("upright", 0.6)],
                   gaps_after=[gap])  # fmt: skip
    assert (found.overall, found.lost) == ("open", (("yield", "ankle"),))
    words = tendency_words(found)
    assert words.startswith("Not shown to be better or worse: the hardest-worked check uses 65 %")
    assert words.endswith("not checked any more: yield of ankle")


def test_what_was_not_checked_before_makes_nothing_worse():
    before = [check("ankle", 0.9)]
    found = judged(before, [check("ankle", 0.6), check("upright", 0.95)])
    assert found.overall == "better"
    assert found.hardest[1].zone == "ankle"


def test_what_nobody_knows_of_a_new_part_is_named():
    gaps = [NotChecked(topic=topic, zone="strip", because="why") for topic in ("peel", "bond")]
    found = judged([check("ankle", 1.3)], [check("ankle", 0.6)], gaps_after=gaps)
    assert (found.overall, found.lost, found.opened) == ("better", (), ("peel", "bond"))
    assert tendency_points(found)[-1] == "Not checked, and no question before: peel, bond."


def test_with_nothing_in_common_nothing_is_said():
    found = judged([], [check("ankle", 0.5)])
    assert found.overall == "open"
    assert tendency_words(found).startswith("Nothing can be compared")


def test_a_requirement_that_is_just_missed_now_is_never_a_plain_better():
    """0.97 to 1.02, of which 0.1 is open: nobody can tell, and yet it is not met any more."""
    before = [check("ankle", 1.6), check("upright", 0.94)]
    found = judged(before, [check("ankle", 0.9), check("upright", 0.99)])
    assert found.overall == "better and worse"
    assert "not met any more: yield of upright" in tendency_words(found)


def test_the_words_name_both_checks_and_what_breaks():
    found = judged([check("ankle", 1.6), check("upright", 0.7)],
                   [check("ankle", 1.2), check("upright", 1.21)])  # fmt: skip
    assert (found.better, found.worse, found.same) == (1, 1, 0)
    words = tendency_words(found)
    assert words == (
        "Better in one thing, worse in another: the hardest-worked check uses 126 % of what is "
        "allowed (yield of upright; 121 % without the error of the mesh), where it was 165 % "
        "(yield of ankle; 160 % without the error of the mesh); "
        "not met any more: yield of upright")
    assert tendency_points(found) == (
        "Without the errors of the meshes, the largest share of what is allowed changes by −39 "
        "percentage points, from whichever check it was in to whichever it is in now; a change of "
        "up to 10 cannot be told.",
        "Of 2 checks that both were judged by, better: 1, worse: 1, no difference that can be "
        "told: 0.")


def test_a_device_beside_itself_uses_what_it_did():
    found = judged([check("ankle", 0.9)], [check("ankle", 0.9)])
    assert tendency_words(found) == (
        "No difference that the model can resolve: the hardest-worked check uses 95 % of what is "
        "allowed (yield of ankle; 90 % without the error of the mesh), as before")


def test_what_is_just_missed_for_the_error_of_the_mesh_alone_is_said_first():
    """0.9 to 0.8, with an error of 0.4 now: the change cannot be told, and it is not met any more.

    Of 1.2 that is asked now, a third is error.
    """
    found = judged([check("ankle", 0.9)], [check("ankle", 0.8, error=0.4)])
    assert found.overall == "no difference"
    assert opening_words(found) == (
        "No difference that the model can resolve, but less is shown to hold")
    assert "not met any more: yield of ankle" in tendency_words(found)
    assert any("34 % is error of the mesh, which counts against the device" in point
               for point in tendency_points(found))
    unknown = judged([check("ankle", 0.9, error=None)], [check("ankle", 1.02, error=None)])
    assert "not met any more: yield of ankle" in tendency_words(unknown)
    assert not any("error of the mesh," in point for point in tendency_points(unknown))


@pytest.mark.parametrize(("told", "words"), [
    (True, "4 g heavier"), (None, "4 g heavier"),
    (False, "4 g heavier, which the meshes leave open"),
])
def test_grams_that_the_meshes_leave_open_say_so(told, words):
    assert grams_words(0.004, told) == words


def test_a_peak_hidden_behind_the_error_of_another_widens_the_bound():
    """0.9 ± 0.05 beside 0.8 ± 0.3: the largest may be 1.1, so 0.2 above what was computed."""
    before = [check("ankle", 0.9), check("upright", 0.8, error=0.3)]
    found = judged(before, [check("ankle", 0.7), check("upright", 0.3)])
    assert found.unresolved == pytest.approx(0.2 + 0.05)
    assert found.overall == "no difference"


@pytest.mark.parametrize(("verdict", "checks", "gaps", "words"), [
    ("met", [check("ankle", 0.5)], 0, "that is enough"),
    ("not met", [check("ankle", 1.5)], 0, "that is not enough, 1 check is not met"),
    ("not met", [check("ankle", 1.5)], 2,
     "that is not enough, 1 check is not met and 2 things were not checked"),
    ("not fully checked", [check("ankle", 0.5)], 1, "that is enough as far as it was checked, but "
     "1 thing was not checked, so it is not shown to hold"),
    ("not fully checked", [], 1, "nothing could be checked of it"),
])  # fmt: skip
def test_enough_or_not_is_said_by_the_verdict_of_the_second(verdict, checks, gaps, words):
    missing = [NotChecked(topic=f"topic {k}", zone="ankle", because="why") for k in range(gaps)]
    after = SimpleNamespace(verdict=verdict, checks=checks, not_checked=missing)
    assert enough_words(after) == words

# SPDX-License-Identifier: MIT
"""Numbers from memory: marked where they are shown, and refused where they are forbidden."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from fea.check.check import Check, NotChecked
from fea.check.factors import read_factors
from fea.check.memory import elastic_from_memory, without_memory
from fea.check.strength import Spot, judge_bar
from fea.check.summarytext import MEMORY_NOTE, text_summary
from fea.material.library import read_library

LIBRARY = read_library()
STEEL, PLASTIC = LIBRARY["stainless-steel-316l"], LIBRARY["polypropylene-homopolymer"]


def check(note=""):
    return Check(topic="yield", zone="heel", case="push", place=None, demand=1.0, capacity=2.0,
                 unit="MPa", required=1.5, basis="", sources=(), note=note, horizon="first fall")


def device(*materials):
    return SimpleNamespace(materials=materials)


FROM_MEMORY = check("yield: read; times 0.78 at 37 °C: memory-M; factor for model: assumed")


def test_a_check_names_its_numbers_from_memory():
    assert FROM_MEMORY.from_memory == ("times 0.78 at 37 °C: memory-M",)
    assert check("factor for model: assumed").from_memory == ()


def test_a_real_check_of_polypropylene_rests_on_memory_and_one_of_steel_does_not():
    spot = Spot("bar", "push", np.zeros((1, 3)))
    for material, rests in ((PLASTIC, True), (STEEL, False)):
        (found,) = judge_bar(spot, [[[5.0], [5.0]]], material, read_factors()).findings
        assert bool(found.from_memory) == rests


def test_forbidden_memory_makes_a_check_not_checked_and_names_number_and_cure():
    kept = check("factor for model: assumed")
    gap = NotChecked(topic="life", zone="device", because="…")
    found = without_memory([FROM_MEMORY, kept, gap], device(STEEL))
    assert found[1:] == (kept, gap)
    refused = found[0]
    assert isinstance(refused, NotChecked)
    assert (refused.topic, refused.zone, refused.horizon) == ("yield", "heel", "first fall")
    assert "times 0.78 at 37 °C: memory-M" in refused.because
    assert "assumed" not in refused.because and "--materials" in refused.because


def test_elastic_constants_from_memory_count_for_every_check_of_the_device():
    assert elastic_from_memory({PLASTIC.name: PLASTIC}) == (
        "poisson ratio of polypropylene-homopolymer: memory-H",
    )
    (found,) = without_memory([check()], device(PLASTIC))
    assert isinstance(found, NotChecked) and "poisson ratio" in found.because
    measured = replace(PLASTIC.properties["poisson_ratio"], status="measured")
    own = replace(PLASTIC, properties={**PLASTIC.properties, "poisson_ratio": measured})
    assert without_memory([check()], device(own)) == (check(),)


@pytest.mark.parametrize(("item", "marked"), [(FROM_MEMORY, True), (check(), False)])
def test_the_terminal_marks_them_with_a_legend(item, marked):
    shown = text_summary("title", [item], [])
    assert ("2.00†" in shown) == marked
    assert (MEMORY_NOTE in shown) == marked

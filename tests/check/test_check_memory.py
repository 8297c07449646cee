# SPDX-License-Identifier: MIT
"""Numbers from memory: marked where they are shown, and refused where they are forbidden."""

from dataclasses import dataclass, replace
from types import SimpleNamespace

import numpy as np
import pytest

from fea.check.check import Check, NotChecked
from fea.check.factors import read_factors
from fea.check.life import LifeRow
from fea.check.memory import elastic_from_memory, forgotten, without_memory
from fea.check.pressure import bone_flag, check_pad
from fea.check.strength import Spot, judge_bar
from fea.check.summarytext import MEMORY_NOTE, text_summary
from fea.check.touch import PadReading
from fea.material.library import read_library
from fea.mesh.mesh import Mesh
from fea.skin import Band, Skin
from fea.turning import Turning

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


def test_pressure_on_the_skin_rests_on_flesh_whatever_the_device_is_made_of():
    pad = PadReading("tibial crest", "bone", "push", 0.040, 0.055, (30.0, 0.0, 380.0))
    for finding in (check_pad(pad), bone_flag(pad)):
        (found,) = without_memory([finding], device(STEEL_OF_OWN))
        assert isinstance(found, NotChecked) and "kPa" not in found.because
        assert "stiffness of flesh and liner: memory-M" in found.because
    assert "40 kPa" in bone_flag(pad).because


MEASURED = replace(STEEL.properties["poisson_ratio"], status="measured")
STEEL_OF_OWN = replace(STEEL, properties={**STEEL.properties, "poisson_ratio": MEASURED})


@dataclass(frozen=True)
class Case:
    utilisation: dict


@dataclass(frozen=True)
class Buckled:
    case: str


@dataclass(frozen=True)
class Result:
    device: object
    findings: tuple
    checks: tuple = ()
    not_checked: tuple = ()
    cases: tuple = (Case({"heel": 0.5, "cuff": 0.4}),)
    applied: tuple = ()
    step: tuple = (Case({"heel": 0.3, "cuff": 0.2}),)
    turning: Turning = Turning((), "push", 0.05, 0.08)
    buckles: tuple = (Buckled("push"), Buckled("pull"))
    skin: Skin = Skin((), (Band(None, None, None),))
    cell_utilisation: np.ndarray = None
    life: tuple = ()


def row(zone):
    return LifeRow(zone, "step", (0, 0, 0), "stress", "a", "b", 1.0, 0.0, 1e6, 2.0, 1.5,
                   "outlived", 12.0, 24.0)


def test_nothing_that_rests_on_memory_is_left_to_show():
    mesh = Mesh(np.array([[0, 0, 0], [1, 0, 0], [0, 1, 0], [1, 1, 0.0]]),
                {"triangle": np.array([[0, 1, 2], [1, 3, 2]])},
                zones={"heel": ("triangle", [0]), "cuff": ("triangle", [1])})
    walls = {zone: SimpleNamespace(material=STEEL_OF_OWN) for zone in ("heel", "cuff")}
    worn = SimpleNamespace(walls=walls, bars={}, mesh=mesh, materials=(STEEL_OF_OWN,))
    today = {"horizon": "today"}
    heel, cuff = replace(FROM_MEMORY, **today), replace(check(), zone="cuff", **today)
    buckling = replace(cuff, topic="buckling", note="knock-down: memory-M")
    lives = [replace(each, topic="life", horizon="service life") for each in (heel, cuff)]
    result = Result(worn, (heel, cuff, buckling, *lives), cell_utilisation=np.array([0.5, 0.4]),
                    life=(row("heel"), row("cuff")))
    kept = forgotten(result)
    assert kept.checks == (cuff, lives[1])
    assert {(gap.topic, gap.zone) for gap in kept.not_checked} == {
        ("yield", "heel"), ("buckling", "cuff"), ("life", "heel")}
    np.testing.assert_array_equal(kept.cell_utilisation, [np.nan, 0.4])
    assert [case.utilisation for case in (*kept.cases, *kept.step)] == [
        {"cuff": 0.4}, {"cuff": 0.2}]
    assert kept.buckles == (Buckled("pull"),)
    assert (kept.skin.bands, kept.turning.soft, kept.turning.usual) == ((), None, 0.05)
    assert [each.zone for each in kept.life] == ["cuff"]
    (only,) = forgotten(result, [replace(heel, zone="cuff")]).step
    assert only.utilisation == {}  # what the step alone rests on counts too


@pytest.mark.parametrize(("item", "marked"), [(FROM_MEMORY, True), (check(), False)])
def test_the_terminal_marks_them_with_a_legend(item, marked):
    shown = text_summary("title", [item], [])
    assert ("2.00†" in shown) == marked
    assert (MEMORY_NOTE in shown) == marked

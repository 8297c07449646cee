# SPDX-License-Identifier: MIT
"""Buckling of a device: knock-down, stiffness left and required factor, by hand on either side."""

import dataclasses
import math

import numpy as np
import pytest
from small_models import grid

import fea
from fea.check.buckling import Buckle, check_buckle, judge_buckling
from fea.check.check import Check, NotChecked
from fea.check.factors import read_factors
from fea.check.stability import Share, knock_down, stiffness_left
from fea.device.device import Bar, Device, Sole, Wall
from fea.material.library import read_library

FACTORS, LIBRARY = read_factors(), read_library()
PLASTIC, METAL = LIBRARY["polypropylene-homopolymer"], LIBRARY["aluminium-7075-t6"]
LENGTH, BREADTH, THICKNESS = 200.0, 20.0, 4.0


def device(bars=()):
    """A flat strip, as a device: one wall, and bars of metal that nothing in the mesh shows."""
    mesh = grid(20, 2, lambda u, v: (0 * u, BREADTH * (v - 0.5), LENGTH * u))
    return Device(
        name="strip", title="A strip", side="left", mesh=mesh,
        walls={"skin": Wall(PLASTIC, THICKNESS)}, plate_zones=("skin",), foot_zones=("skin",),
        shank_zones=("skin",), landmarks={}, sole=Sole(0.0, 0.0, 0.0), origin="invented",
        bars={name: Bar(METAL, 20.0, 4.0, (1, 0, 0)) for name in bars},
    )  # fmt: skip


def solved(**forces):
    """The strip, clamped below, under forces downwards at its free top."""
    strip = device()
    model = fea.Model(
        strip.mesh, {"skin": fea.ShellSection(PLASTIC.elastic, thickness=THICKNESS)},
        [fea.Support("u0", "ux uy uz rx ry rz")],
        {name: [fea.EdgeForce("u1", (0, 0, -force / BREADTH))] for name, force in forces.items()},
    )  # fmt: skip
    return strip, fea.solve(model)


def buckle(**more):
    values = {"zone": "skin", "place": (1, 2, 3), "moves_most": (4, 5, 6), "slenderness": 100.0}
    return Buckle("push", **{"factor": 8.0, "proved": True} | values | more)


def test_a_wall_by_hand():
    left = Share(0.5, "half left")
    check = check_buckle(device(), buckle(), left, FACTORS)
    # γ = 1 − 0.901 (1 − e^(−10/16)) = 0.581; required 1.15 · 1.20 · 1.30
    assert check.capacity == pytest.approx(8.0 * 0.5813 * 0.5, rel=1e-3)
    assert check.required == pytest.approx(1.794) and check.demand == 1.0
    assert (check.topic, check.zone, check.case, check.place) == (
        "buckling", "skin", "push", (1, 2, 3))  # fmt: skip
    assert check.met
    assert "critical factor 8.00 (proved to be the lowest)" in check.basis
    assert "R/t = 100" in check.basis and check.error is None
    unproved = check_buckle(device(), buckle(proved=None), left, FACTORS)
    assert "critical factor 8.00 (not proved to be the lowest)" in unproved.basis
    assert "moves most at 4 5 6 mm" in check.basis
    assert "nasa-sp-8007" in check.sources and "memory-M" in check.note
    limit = 1.794 / (0.5813 * 0.5)
    for factor, met in ((1.001 * limit, True), (0.999 * limit, False)):
        assert check_buckle(device(), buckle(factor=factor), left, FACTORS).met is met


@pytest.mark.parametrize("slenderness", [None, math.inf, 1501.0])
def test_bars_and_flat_walls_take_no_knock_down(slenderness):
    down = knock_down(slenderness)
    assert down.value == 1.0 and down.words.startswith("no knock-down") and not down.sources


def test_the_knock_down_falls_with_slenderness_and_never_passes_one():
    shares = [knock_down(ratio).value for ratio in np.geomspace(1e-3, 1500.0, 50)]
    assert np.all(np.diff(shares) < 0.0)
    assert shares[0] < 1.0 and shares[-1] > 0.099


def test_what_the_count_says_is_written_down():
    def note(proved):
        return check_buckle(device(), buckle(proved=proved), Share(1.0, ""), FACTORS).note

    assert note(True).startswith("a count proves that no lower factor was missed")
    assert note(None).startswith("unproved")


def test_a_factor_known_to_be_missed_is_not_checked():
    finding = check_buckle(device(), buckle(proved=False), Share(1.0, ""), FACTORS)
    assert isinstance(finding, NotChecked)
    assert "the count shows a lower factor" in finding.because and "'push'" in finding.because


def test_no_factor_without_a_count_is_not_checked():
    finding = check_buckle(device(), Buckle("push", None, None), Share(1.0, ""), FACTORS)
    assert isinstance(finding, NotChecked) and finding.topic == "buckling"
    assert "no count" in finding.because and "'push'" in finding.because


def test_a_case_that_never_buckles_asks_nothing():
    check = check_buckle(device(), Buckle("pull", None, True), Share(1.0, ""), FACTORS)
    assert check.demand == 0.0 and math.isinf(check.factor) and check.met


def test_scatter_and_warmth_enter_once_at_a_steps_peak():
    left = stiffness_left([PLASTIC], FACTORS)
    assert left.value == pytest.approx(1140 / 1400 * 0.70)
    assert set(left.sources) == {"mpe-1999", "handbook-memory"}
    assert all(words in left.words for words in ("scatter", "at 37 °C"))
    assert "held" not in left.words
    required = FACTORS.required_stability("thermoplastic")
    effects = {part.effect for part in required.parts}
    assert effects == {"model", "consequence", "brittleness", "instability"}


def test_what_cracks_has_no_strength_left_past_its_buckling_load():
    """2.4 of a laminate, as before brittleness was counted apart from consequence."""
    for kind, consequence in (("laminate", 1.60), ("printed", 1.40), ("metal", 1.20)):
        whole = FACTORS.required_stability(kind).value
        assert whole == pytest.approx(1.15 * consequence * 1.30, rel=1e-3)


def test_only_a_held_load_meets_the_creep_modulus():
    # 925 MPa at 1 h, 450 at 1000 h; 4 h lie log(4)/log(1000) of the way, straight in logarithms
    crept = 925 * (450 / 925) ** (math.log(4) / math.log(1000))
    held = stiffness_left([PLASTIC], FACTORS, held=True)
    assert held.value == pytest.approx(1140 / 1400 * 0.70 * crept / 1400)
    assert "held for 4 h" in held.words
    longer = stiffness_left([PLASTIC], dataclasses.replace(FACTORS, standing_hours=10.0), held=True)
    assert longer.value < held.value


def test_partial_factors_stand_in_for_what_the_library_does_not_know():
    bare = dataclasses.replace(PLASTIC, properties={
        name: item for name, item in PLASTIC.properties.items()
        if name not in ("modulus_factor_37c", "creep_modulus_1h")})  # fmt: skip
    assert stiffness_left([bare], FACTORS).value == pytest.approx(1140 / 1400 / 1.28)
    left = stiffness_left([bare], FACTORS, held=True)
    assert left.value == pytest.approx(1140 / 1400 / 1.28 / 1.23)
    assert "assumed" in left.note


def test_the_material_that_loses_most_counts():
    metal = stiffness_left([METAL], FACTORS)
    assert 0.85 < metal.value <= 1.0
    assert stiffness_left([METAL, PLASTIC], FACTORS) == stiffness_left([PLASTIC], FACTORS)


def test_a_column_by_hand_through_the_whole_check():
    """Cantilever: P = π² E I/(2 L)², flat, so no knock-down; wide, so between E and E/(1 − ν²)."""
    strip, solutions = solved(light=10.0, heavy=20.0, pull=-10.0)
    judged = judge_buckling(strip, solutions, FACTORS)
    euler = math.pi**2 * 1400.0 * BREADTH * THICKNESS**3 / 12.0 / (2.0 * LENGTH) ** 2
    light, heavy, pull = judged.buckles
    assert light.factor == pytest.approx(euler / 10.0, rel=0.03)
    assert heavy.factor == pytest.approx(light.factor / 2.0, rel=1e-3)
    assert light.slenderness == math.inf and light.zone == "skin"
    assert light.place[2] < 0.1 * LENGTH  # strained hardest at the clamped end
    assert light.moves_most[2] == LENGTH
    check = judged.findings[1]
    assert isinstance(check, Check)
    assert check.factor == pytest.approx(heavy.factor * 0.57, rel=1e-3)  # 1140/1400 · 0.70
    crept = judge_buckling(strip, solutions, FACTORS, held=["heavy"]).findings
    assert crept[0].factor == judged.findings[0].factor
    assert crept[1].factor == pytest.approx(heavy.factor * 0.57 * 801 / 1400, rel=1e-3)
    assert all(buckle.proved for buckle in judged.buckles)
    assert pull.factor is None or pull.factor > 100.0 * light.factor
    assert set(judged.modes) == {"light", "heavy", "pull"}


def test_without_cases_nothing_buckles():
    judged = judge_buckling(device(), {}, FACTORS)
    assert judged.findings == () and judged.buckles == ()

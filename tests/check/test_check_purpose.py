# SPDX-License-Identifier: MIT
"""What a load set is for decides what is required, and what stays open."""

from dataclasses import replace

import numpy as np
import pytest

from fea.check.factors import read_factors
from fea.check.purpose import factors_for, judges_strength, purpose_gaps, purpose_words
from fea.check.strength import Spot, judge_yield
from fea.loadcase.reader import read_load_set
from fea.material.library import read_library

FACTORS = read_factors()
STRESS = np.full((3, 1, 3), [100.0, 0.0, 0.0])  # uniaxial, 100 MPa at all layers
SPOT = Spot("stirrup", "forefoot condition", np.zeros((1, 3)))


def judged(purpose):
    metal = read_library()["aluminium-7075-t6"]
    (check,) = judge_yield(SPOT, STRESS, metal, factors_for(FACTORS, purpose)).findings
    return check


@pytest.mark.parametrize(
    ("purpose", "topic", "strength", "required"),
    [  # 7075-T6: yield 503 MPa, tensile strength 572 MPa; over 1.10 for scatter
        ("verdict", "yield", 503 / 1.10, 1.15 * 1.20),
        ("proof", "yield", 503 / 1.10, 1.15),
        ("ultimate", "break", 572 / 1.10, 1.15),
        ("fall", "break", 572 / 1.10, 1.15),
    ],
)
def test_strength_and_required_factor(purpose, topic, strength, required):
    check = judged(purpose)
    assert check.topic == topic
    assert check.capacity == pytest.approx(strength) and check.required == pytest.approx(required)


def test_buckling_drops_the_consequence_too_and_nothing_else():
    walk, proof = (
        factors_for(FACTORS, purpose).required_stability("metal").value
        for purpose in ("verdict", "proof")
    )
    assert walk == pytest.approx(1.15 * 1.20 * 1.30) and proof == pytest.approx(1.15 * 1.30)


def test_a_fall_contains_consequence_and_creep_but_not_brittleness():
    fall = factors_for(FACTORS, "fall")
    kinds = ("metal", "thermoplastic", "printed", "laminate")
    values = [fall.required(kind).value for kind in kinds]
    assert values == pytest.approx([1.15, 1.15, 1.15 * 1.167, 1.15 * 1.333])


def test_every_shipped_purpose_says_how_it_is_judged():
    for name in ("proof", "ultimate-brittle", "ultimate-ductile", "cyclic"):
        (words,) = purpose_words(read_load_set(f"borrowed-{name}"))
        assert "no test to a standard" in words and "for brittleness are 1" in words
    assert purpose_words(read_load_set("walking-envelope")) == ()


def test_cycles_are_never_judged_as_one_load():
    cyclic = read_load_set("borrowed-cyclic")
    assert not judges_strength(cyclic.purpose)
    assert "3000000 cycles" in purpose_words(cyclic)[0]
    assert [gap.topic for gap in purpose_gaps(cyclic)] == ["other loads"]
    cyclic_factors = factors_for(FACTORS, "cyclic")
    assert cyclic_factors.required_life("metal").value == pytest.approx(1.15)  # model alone
    assert cyclic_factors.of_life("metal") == FACTORS.of_life("metal")
    assert [gap.topic for gap in purpose_gaps(read_load_set("stumble"))] == ["other loads"]


def test_one_step_is_never_all_steps():
    for name in ("typical-step", "typical-step-adult", "example-laboratory"):
        gap = purpose_gaps(read_load_set(name))[0]
        assert gap.topic == "scatter of steps" and name in gap.because
    assert [gap.topic for gap in purpose_gaps(read_load_set("walking-envelope"))] == ["other loads"]


def test_every_other_daily_load_is_named_as_not_checked():
    """A device that holds on level ground may break in a turn: silence would read as a pass."""
    gaps = {gap.topic: gap.because for gap in purpose_gaps(read_load_set("walking-envelope"))}
    for name in ("turning", "stairs", "stumble", "crouch", "fast-walking"):
        assert name in gaps["other loads"]
    assert "borrowed" not in gaps["other loads"] and "typical-step" not in gaps["other loads"]
    turning = {gap.topic: gap.because for gap in purpose_gaps(read_load_set("turning"))}
    assert "walking-envelope" in turning["other loads"]


def test_measured_gait_whose_impulse_is_halved_is_doubted():
    measured = read_load_set("example-laboratory")
    assert not [gap for gap in purpose_gaps(measured) if gap.topic == "measured gait"]
    half = replace(measured, measured_on=replace(measured.measured_on, doubts=("impulse 0.25",)))
    (gap,) = [gap for gap in purpose_gaps(half) if gap.topic == "measured gait"]
    assert gap.because == "impulse 0.25"

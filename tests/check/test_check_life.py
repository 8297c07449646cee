# SPDX-License-Identifier: MIT
"""From ranges and a spectrum to a check, a gap and months."""

from dataclasses import replace

import numpy as np
import pytest

from fea.check.check import Check, NotChecked
from fea.check.cycles import Ranges
from fea.check.factors import read_factors
from fea.check.life import EARLY_CRACKS, LIFE, Points, ZoneLife, life_rows
from fea.check.lifecurve import life_curve
from fea.check.requirements import Service, read_requirements
from fea.check.spectrum import Block, Spectrum
from fea.errors import GateError
from fea.material.library import read_library
from fea.material.life import Basquin, FatigueCurve, Goodman, Sensitivity

LIBRARY, FACTORS = read_library(), read_factors()
LINE = Basquin.through((1e3, 400.0), (1e7, 100.0))
CURVE = FatigueCurve(LINE, Goodman(500.0), 500.0, 500.0)
SERVICE = Service(months=12.0, strides_per_day=3000.0, stair_strides_per_day=50.0,
                  stumbles_per_day=0.1, standing_hours_per_day=4.0)  # fmt: skip


def spectrum(**changes):
    return Spectrum.of(SERVICE, stairs=1.5, stumble=2.4, **changes)


def zone(stress, material="aluminium-7075-t6", asked=None, error=None):
    """One place whose stress along an axis goes through a series, then rests."""
    series = np.append(np.asarray(stress, dtype=float), 0.0)
    names = [f"instant {k}" for k in range(len(stress))] + ["swing"]
    curve = life_curve(LIBRARY[material], FACTORS)
    points = Points("stress in the extreme fibre", curve, np.array([[1.0, 2.0, 3.0]]),
                    series[:, None], error)  # fmt: skip
    kind = LIBRARY[material].kind
    return ZoneLife("bar", "step", names, [points], asked or spectrum(),
                    FACTORS.required_life(kind))  # fmt: skip


def test_a_spectrum_counts_days_and_takes_consequence_off_rare_loads():
    walking, stairs, stumbles = spectrum().blocks
    days = 365.25
    assert walking.count == pytest.approx(3000.0 * days)
    assert stairs == Block("stairs", 1.5, pytest.approx(50.0 * days))
    ratios = [each.ratio for each in spectrum(walking=1.1).blocks]
    assert ratios == pytest.approx([1.1, 1.65, 2.64])  # a heavier step has heavier stairs
    assert spectrum().without_consequence(1.2).blocks[2].ratio == pytest.approx(2.0)
    assert spectrum().without_consequence(1.2).blocks[1].ratio == 1.5
    first = spectrum().first(1e5)
    assert first.count == pytest.approx(1e5)
    assert first.months == pytest.approx(12.0 * 1e5 / spectrum().count)
    assert spectrum().first(1e9) == spectrum()


def test_damage_of_one_block_is_cycles_over_life():
    once = Spectrum((Block("cycles", 1.0, 1e4),), None)
    damage = once.damage(CURVE, np.array([[200.0]]), np.array([[0.0]]))
    assert damage == pytest.approx(1e4 / LINE.life(200.0))
    factor = once.factor(CURVE, np.array([[200.0]]), np.array([[0.0]]))
    assert factor * 200.0 == pytest.approx(LINE.amplitude_at(1e4), rel=1e-6)


def test_the_factor_uses_up_the_life_exactly_with_every_block_and_cycle():
    amplitude, mean = np.array([[20.0], [60.0]]), np.array([[5.0], [30.0]])
    factor = spectrum().factor(CURVE, amplitude, mean)
    assert spectrum().damage(CURVE, amplitude, mean, factor) == pytest.approx(1.0, rel=1e-6)
    assert spectrum().factor(CURVE, 2 * amplitude, 2 * mean) == pytest.approx(factor / 2)


def test_a_metal_lasts_months_with_a_band():
    (check,), (row,) = zone([80.0, -20.0]).judge()
    assert isinstance(check, Check) and (check.topic, check.horizon) == (LIFE, "service life")
    assert check.demand == pytest.approx(50.0) and row.mean == pytest.approx(30.0)
    assert check.case == row.first == "instant 0" and row.second == "instant 1"
    assert check.required == pytest.approx(1.15 * 1.20)
    assert check.met is (row.months >= 12.0) and row.months < row.months_middle
    assert (row.state == "outlived") is check.met
    assert "nearly every piece lasts" in check.basis and "memory-M" in check.note


@pytest.mark.parametrize("peak", [60.0, 90.0, 130.0])
def test_the_check_is_met_exactly_where_the_months_reach_the_service(peak):
    for scale in np.linspace(0.6, 1.4, 9):
        (check,), (row,) = zone([scale * peak, -0.3 * peak]).judge()
        assert check.met is (row.months >= 12.0)


def test_twice_the_stress_halves_the_factor_and_longer_service_lowers_it():
    (one,), _ = zone([60.0, -20.0]).judge()
    (two,), _ = zone([120.0, -40.0]).judge()
    assert two.factor == pytest.approx(0.5 * one.factor, rel=1e-6)
    (longer,), _ = zone([60.0, -20.0], asked=Spectrum.of(
        Service(60.0, 3000.0, 50.0, 0.1, 4.0), stairs=1.5, stumble=2.4)).judge()  # fmt: skip
    assert longer.factor < one.factor


def test_a_second_hump_in_a_step_counts():
    (one,), _ = zone([90.0]).judge()
    (two,), _ = zone([90.0, 0.0, 85.0]).judge()
    assert two.demand == one.demand and two.factor < one.factor


def test_a_stumble_that_reaches_the_static_strength_is_the_last_cycle():
    """By the largest stress itself, whatever the mean of a wall is called."""
    once = Spectrum((Block("steps", 1.0, 10.0), Block("stumbles", 2.0, 1.0)), None)
    amplitude, mean = np.array([[50.0]]), np.array([[0.0]])
    assert once.highest == 2.0
    assert once.damage(CURVE, amplitude, mean, 2.5, bears=5.0) == pytest.approx(1.0, abs=0.01)
    assert once.damage(CURVE, amplitude, mean, 2.49, bears=5.0) < 0.01
    assert once.factor(CURVE, amplitude, mean, bears=5.0) == pytest.approx(2.5, rel=1e-6)


def test_the_static_limit_of_a_wall_is_its_von_mises_stress():
    """Pushed alike along both axes: the sum of normal stresses is twice the von Mises stress."""
    stress = np.array([[[-30.0, -30.0, 0.0]], [[0.0, 0.0, 0.0]]])
    ranges = Ranges.of_plane_stress(stress)
    assert ranges.mean == pytest.approx(-30.0)
    assert ranges.pull == ranges.push == pytest.approx(30.0)
    curve = life_curve(LIBRARY["polypropylene-homopolymer"], FACTORS)
    points = Points("stress", curve, np.zeros((1, 3)), stress)
    rare = Spectrum((Block("once", 1.0, 1.0),), None)
    assert points.factors(rare, ranges) == pytest.approx(curve.sure.tension / 30.0)


def test_the_rule_for_plane_stress_is_named_where_it_serves():
    curve = life_curve(LIBRARY["aluminium-7075-t6"], FACTORS)
    plane = np.array([[[30.0, 10.0, 0.0]], [[0.0, 0.0, 0.0]]])
    for stress, named in ((plane, True), (plane[:, :, 0], False)):  # a ply has one component
        points = Points("stress", curve, np.zeros((1, 3)), stress)
        life = ZoneLife("wall", "step", ["peak", "swing"], [points], spectrum(),
                        FACTORS.required_life("metal"))  # fmt: skip
        (check,), _ = life.judge()
        assert ("sines-1959" in check.sources) is named


def test_error_is_a_part_of_the_demand():
    def error(instants):
        return np.full((len(instants), 1), 2.0)

    (check,), _ = zone([50.0], error=error).judge()
    assert check.demand == pytest.approx(25.0 + 2.0)  # 2 MPa at both ends here
    assert check.error == pytest.approx(2.0)


@pytest.mark.parametrize("rule", [Goodman(500.0, 60.0), Goodman(60.0), Sensitivity(0.2, 3.0)])
@pytest.mark.parametrize("stress", [-50.0, 50.0])
def test_error_counts_the_way_that_harms_most(rule, stress):
    """At the peak ±2, at rest ±2: the widest swing, or the mean moved to either side."""
    curve = life_curve(LIBRARY["aluminium-7075-t6"], FACTORS)
    curve = replace(curve, sure=FatigueCurve(curve.sure.line, rule, 500.0, 500.0))

    asked = zone([stress], error=lambda instants: np.full((len(instants), 1), 2.0))
    points = replace(asked.points[0], curve=curve)
    (row,) = replace(asked, points=[points]).judge()[1]
    corners = [(peak, low) for peak in (stress + 2.0, stress - 2.0) for low in (2.0, -2.0)]
    amplitude = np.array([[0.5 * abs(peak - low) for peak, low in corners]])
    mean = np.array([[0.5 * (peak + low) for peak, low in corners]])
    factors = asked.spectrum.factor(curve.sure, amplitude, mean)
    assert row.factor == pytest.approx(factors.min(), rel=1e-4)


@pytest.mark.parametrize("wrong", [np.nan, np.inf])
def test_a_stress_or_an_error_that_is_no_number_is_refused(wrong):
    with pytest.raises(GateError, match="in 'bar' is not finite at 1 of"):
        zone([50.0, wrong]).judge()
    with pytest.raises(GateError, match="estimated error"):
        zone([50.0], error=lambda instants: np.full((len(instants), 1), wrong)).judge()


def test_a_plastic_is_held_to_published_cycles_and_never_given_months():
    findings, (row,) = zone([6.0, -2.0], "polypropylene-homopolymer").judge()
    check, gap = findings
    assert check.topic == EARLY_CRACKS and check.met and row.state == "beyond published life"
    assert isinstance(gap, NotChecked) and gap.topic == LIFE and gap.horizon == "service life"
    assert "published tests reach 90 000 cycles (29 days of use)" in gap.because
    assert "replace" in gap.because and row.months is None and row.months_middle is None
    assert "nearly every piece lasts" not in check.basis


def test_a_plastic_that_fails_within_published_cycles_is_not_met():
    (check,), (row,) = zone([14.0, -6.0], "polypropylene-homopolymer").judge()
    assert check.topic == LIFE and not check.met and row.state == "cracks expected early"


def test_a_plastic_of_which_less_is_asked_is_met():
    short = Spectrum.of(Service(1.0, 1000.0, 0.0, 0.0, 4.0), stairs=1.5, stumble=2.4)
    (check,), (row,) = zone([6.0, -2.0], "polypropylene-homopolymer", asked=short).judge()
    assert check.topic == LIFE and check.met and row.state == "outlived"


def test_without_a_service_life_nothing_is_met():
    endless = Spectrum.of(Service(None, 3000.0, 50.0, 0.1, 4.0), stairs=1.5, stumble=2.4)
    (gap,), (row,) = zone([80.0], asked=endless).judge()
    assert isinstance(gap, NotChecked) and "give months" in gap.because
    assert f"{int(row.months)} months" in gap.because or "years" in gap.because


def test_no_stress_lasts_for_ever():
    (check,), (row,) = zone([0.0]).judge()
    assert check.demand == 0.0 and check.met and np.isinf(row.months)


def test_a_stress_beyond_strength_is_finite_and_not_met():
    (check,), _ = zone([2000.0]).judge()
    assert not check.met and 0.0 < check.factor < 0.3


def test_all_cells_left_out_is_not_checked():
    life = zone([5.0])
    empty = Points("none", life.points[0].curve, np.zeros((0, 3)), np.zeros((2, 0)))
    (gap,), rows = ZoneLife("wall", "step", ["a", "swing"], [empty], spectrum(),
                            life.required).judge()  # fmt: skip
    assert isinstance(gap, NotChecked) and "left out" in gap.because and rows == ()


def test_rows_keep_the_worst_of_a_zone():
    _, mild = zone([30.0]).judge()
    _, hard = zone([90.0]).judge()
    assert life_rows((*mild, *hard)) == hard


def test_the_shipped_service_says_where_its_numbers_come_from():
    asked = Spectrum.of(read_requirements(adult=False).service, stairs=1.5, stumble=2.5)
    assert "strides per day: memory-M" in asked.note
    (check,), _ = zone([60.0], asked=asked).judge()
    assert "strides per day: memory-M" in check.basis
    assert not any("strides" in words for words in check.from_memory)  # a load, no strength

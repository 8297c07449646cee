# SPDX-License-Identifier: MIT
"""Strength checks against hand calculations, and the known-bad device that must fail."""

import numpy as np
import pytest

from fea.check.check import NotChecked
from fea.check.factors import read_factors
from fea.check.strength import Spot, judge_bar, judge_yield
from fea.errors import InputError
from fea.material.library import read_library
from fea.structure.sections import torsion_shear

LIBRARY = read_library()
FACTORS = read_factors()
PLACES = np.array([[0.0, 0.0, 10.0], [0.0, 0.0, 80.0]])
SPOT = Spot("upright", "push-off", PLACES)
PP = LIBRARY["polypropylene-homopolymer"]
CLOTH = LIBRARY["carbon-cloth-epoxy"]


def only_yield(*arguments):
    (finding,) = judge_yield(*arguments).findings
    return finding


def only_bar(*arguments):
    (finding,) = judge_bar(*arguments).findings
    return finding


def bending(stress):
    """(3, 2, 3): the second cell bends to this stress, the first to half of it."""
    outer = np.array([[0.5 * stress, 0.0, 0.0], [stress, 0.0, 0.0]])
    return np.stack([-outer, np.zeros((2, 3)), outer])


def test_yield_takes_the_worst_cell_and_layer():
    stress = bending(10.0)
    stress[0, 1] = [-11.0, 0.0, 5.0]  # bottom: sqrt(121 + 75) = 14.0
    check = only_yield(SPOT, stress, PP, FACTORS)
    assert check.demand == pytest.approx(14.0, abs=1e-3)
    assert check.place == (0.0, 0.0, 80.0)
    assert check.capacity == pytest.approx(19.70, abs=0.01)
    assert check.met  # 19.70 / 14.0 = 1.407 > 1.38
    assert "at the bottom of the wall" in check.basis
    assert "mpe-1999" in check.sources
    assert not only_yield(SPOT, bending(14.3), PP, FACTORS).met  # allowed: 14.27


@pytest.mark.parametrize("moment_per_kg", [1.226, 1.67])
def test_bare_polypropylene_uprights_fail(moment_per_kg):
    # Known to fail: child of 35 kg, two bare uprights of 5 x 25 mm edgewise carry the ankle
    # moment. Z = 2 · 5 · 25² / 6 = 1041.7 mm³; mean 1.226 N·m/kg: 42.9 N·m, 41.2 MPa;
    # mean + 2 SD 1.67 N·m/kg: 58.5 N·m, 56.1 MPa.
    stress = moment_per_kg * 35.0 * 1e3 / (2 * 5.0 * 25.0**2 / 6)
    assert stress == pytest.approx({1.226: 41.2, 1.67: 56.1}[moment_per_kg], abs=0.05)
    check = only_yield(SPOT, bending(stress), PP, FACTORS)
    assert not check.met
    assert check.factor < 1.0  # beyond yield itself, no partial factor needed to see it


def test_aluminium_uprights_of_the_same_size_hold():
    stress = 1.67 * 35.0 * 1e3 / (2 * 5.0 * 25.0**2 / 6)
    assert only_yield(SPOT, bending(stress), LIBRARY["aluminium-7075-t6"], FACTORS).met


def test_the_error_is_part_of_what_is_asked():
    error = np.zeros((3, 2))
    error[2, 0] = 6.0  # 5 + 6 at the top of the first place, 10 at the second
    (check,) = judge_yield(SPOT, bending(10.0), PP, FACTORS, error).findings
    assert check.demand == 11.0 and check.error == 6.0
    assert check.place == (0.0, 0.0, 10.0)
    shares = judge_yield(SPOT, bending(10.0), PP, FACTORS, error).shares
    assert shares == pytest.approx(np.array([11.0, 10.0]) * check.required / check.capacity)


def test_a_stress_that_is_no_number_cannot_hide():
    stress = bending(1.0)
    stress[1, 0, 0] = np.nan
    with pytest.raises(InputError, match="demand is nan"):
        only_yield(SPOT, stress, PP, FACTORS)


def test_places_left_out_are_not_judged():
    stress = bending(10.0)
    spot = Spot("upright", "push-off", PLACES, np.array([True, False]))
    assert only_yield(spot, stress, PP, FACTORS).demand == 5.0
    none = Spot("upright", "push-off", PLACES, np.array([False, False]))
    assert isinstance(only_yield(none, stress, PP, FACTORS), NotChecked)


def test_yield_of_a_material_without_yield_strength_is_not_checked():
    finding = only_yield(SPOT, bending(1.0), CLOTH, FACTORS)
    assert isinstance(finding, NotChecked)
    assert "yield strength" in finding.because and "carbon-cloth-epoxy" in finding.because


def test_bar_takes_the_extreme_fibre_of_either_sign():
    # 2 N·m on a bar of 4 x 20 mm edgewise: 6 · 2000 / (4 · 400) = 7.5 MPa; with -1 MPa of axial
    stress = np.zeros((2, 2, 4))
    stress[0, 1] = [-8.5, -8.5, 6.5, 6.5]
    check = only_bar(SPOT, stress, LIBRARY["aluminium-6061-t6"], FACTORS)
    assert check.demand == 8.5 and "compression" in check.basis
    assert check.place == (0.0, 0.0, 10.0)
    assert check.capacity == pytest.approx(270.0 / 1.10)
    assert isinstance(only_bar(SPOT, stress, CLOTH, FACTORS), NotChecked)


def test_shares_follow_the_checks_cell_by_cell():
    judgement = judge_yield(SPOT, bending(10.0), PP, FACTORS)
    (check,) = judgement.findings
    assert judgement.shares == pytest.approx([0.5 * check.utilisation, check.utilisation])
    spot = Spot("upright", "push-off", PLACES, np.array([True, False]))
    shares = judge_yield(spot, bending(10.0), PP, FACTORS).shares
    assert shares[0] == pytest.approx(0.5 * check.utilisation) and np.isnan(shares[1])


def test_torsion_enters_a_bar_with_the_axial_stress():
    # sqrt(8² + 3 · 5²) = 11.79 at the far end; its sign does not matter
    fibres, twist = [[[8.0], [8.0]], [[2.0], [-9.0]]], [[0.0, -5.0], [1.0, 0.0]]
    check = only_bar(SPOT, fibres, PP, FACTORS, twist)
    assert check.demand == pytest.approx(np.sqrt(139.0))
    assert "with 5.00 MPa of torsion" in check.basis
    assert only_bar(SPOT, fibres, PP, FACTORS).demand == 9.0
    assert not only_bar(SPOT, [[[0.0], [0.0]], [[0.0], [0.0]]], PP, FACTORS, [[9.0, 0], [0, 0]]).met


@pytest.mark.parametrize("long, coefficient", [(1.0, 0.208), (2.0, 0.246), (10.0, 0.312)])
def test_shear_of_torsion_is_that_of_the_tables(long, coefficient):
    # timoshenko-goodier-1970: peak = T / (k long short²)
    assert torsion_shear(3 * long, 3.0) == pytest.approx(1 / (coefficient * 27 * long), rel=3e-3)
    assert torsion_shear(3.0, 3 * long) == torsion_shear(3 * long, 3.0)

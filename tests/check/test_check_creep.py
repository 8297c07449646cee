# SPDX-License-Identifier: MIT
"""Creep: straight over the logarithm of time between what is known, and never a gain."""

import dataclasses

import numpy as np
import pytest

from fea.check.capacity import capacity_of, strength_shares
from fea.check.creep import PEAK_SHARE, modulus_kept, strength_kept
from fea.check.factors import read_factors
from fea.check.purpose import factors_for
from fea.check.stability import warm_share
from fea.material.library import read_library

LIBRARY = read_library()
FACTORS = read_factors()
PLASTIC = LIBRARY["polypropylene-homopolymer"]
PRINTED = next(each for each in LIBRARY.values() if each.kind == "printed")


def with_status(material, name, status):
    row = dataclasses.replace(material.properties[name], status=status)
    return dataclasses.replace(material, properties={**material.properties, name: row})


def test_each_tenfold_time_costs_the_same_factor():
    # din-8077: 10.7 bar for a year and 9.2 for ten at 40 °C, 12.6 and 10.9 at 30 °C
    per_decade = [strength_kept(PLASTIC, t).value / strength_kept(PLASTIC, 10 * t).value
                  for t in (0.01, 0.1, 1.0, 10.0, 100.0, 1000.0)]
    assert per_decade == pytest.approx([1.16] * 6, abs=0.002)
    assert 12.6 / 10.9 < 1.16 < 10.7 / 9.2


def test_a_load_shorter_than_a_tensile_test_gains_nothing():
    assert strength_kept(PLASTIC, 1e-5).value == 1.0
    assert modulus_kept(PLASTIC, 0.1) == modulus_kept(PLASTIC, 1.0)


def test_the_known_values_come_back():
    assert modulus_kept(PLASTIC, 1.0).value == pytest.approx(925 / 1400)
    assert modulus_kept(PLASTIC, 1000.0).value == pytest.approx(450 / 1400)


@pytest.mark.parametrize("missing", ["creep_strength_factor_1h", "creep_strength_factor_1000h"])
def test_one_value_alone_says_nothing(missing):
    rest = {name: row for name, row in PLASTIC.properties.items() if name != missing}
    assert strength_kept(dataclasses.replace(PLASTIC, properties=rest), 1.0) is None
    assert strength_kept(LIBRARY["aluminium-7075-t6"], 1.0) is None
    assert modulus_kept(LIBRARY["carbon-ud-epoxy"], 1.0) is None


def test_the_share_of_time_at_the_peak_is_that_of_the_published_step():
    """Mean ankle moment at free speed, Schwartz 2008, N·m/kg, every 2 % of the cycle."""
    percent = np.arange(34, 62, 2)
    moment = np.array([0.7603, 0.8363, 0.9174, 1.0013, 1.0841, 1.1586, 1.2116, 1.2261, 1.1862,
                       1.0726, 0.8614, 0.5621, 0.2533, 0.0523])
    fine = np.linspace(34, 60, 2601)
    share = (np.interp(fine, percent, moment) / moment.max()) ** 16
    assert np.trapezoid(share, fine) / 100 == pytest.approx(PEAK_SHARE, abs=0.002)


def test_a_held_load_meets_the_strength_of_the_hours_it_is_held():
    peak = capacity_of(PLASTIC, "yield_strength", FACTORS)
    held = capacity_of(PLASTIC, "yield_strength", FACTORS.held())
    # two straight decades from 0.743 at an hour: log10(4) of 1.16, against 0.24 h
    assert held.value / peak.value == pytest.approx(1.16 ** -np.log10(4.0 / 0.24), rel=0.002)
    assert "times 0.68 for 4 h a day held" in held.basis and "0.24 h" not in held.basis
    metal = LIBRARY["aluminium-7075-t6"]
    assert capacity_of(metal, "yield_strength", FACTORS.held()) == capacity_of(
        metal, "yield_strength", FACTORS)


def test_a_general_factor_grows_by_the_decades_that_a_load_is_held():
    peak, held = (
        strength_shares(PRINTED.property("yield_strength"), "yield_strength", PRINTED, each)
        for each in (FACTORS, FACTORS.held())
    )
    assert peak["creep"].value == pytest.approx(1 / 1.23)
    assert held["creep"].value == pytest.approx(1 / 1.23 * 1.16 ** -np.log10(4.0 / 0.24))
    assert "over 1.47 for creep in 4 h a day held" in held["creep"].words
    fall = strength_shares(PRINTED.property("yield_strength"), "yield_strength", PRINTED,
                           factors_for(FACTORS.held(), "fall"))
    assert fall["creep"].value == 1.0


def test_a_factor_of_the_users_own_is_taken_as_it_is(tmp_path):
    path = tmp_path / "own.toml"
    path.write_text('[factors.creep.values]\n'
                    'printed = { value = 1.4, source = "own tests", status = "measured" }\n')
    factors = read_factors(path).held()
    shares = strength_shares(PRINTED.property("yield_strength"), "yield_strength", PRINTED, factors)
    assert shares["creep"].value == pytest.approx(1 / 1.4)


@pytest.mark.parametrize("name, effect", [
    ("strength_factor_37c", "environment"), ("creep_strength_factor_1h", "creep"),
    ("creep_strength_factor_1000h", "creep"),
])
def test_a_share_that_is_hardly_remembered_is_no_limit(name, effect):
    weak = with_status(PLASTIC, name, "memory-L")
    shares = strength_shares(weak.property("yield_strength"), "yield_strength", weak, FACTORS)
    assert shares[effect].value == pytest.approx(1 / FACTORS.partial(effect, weak.kind).value)
    assert "memory-L" not in capacity_of(weak, "yield_strength", FACTORS).note


def test_a_modulus_that_is_hardly_remembered_is_no_limit():
    weak = with_status(PLASTIC, "modulus_factor_37c", "memory-L")
    assert warm_share(weak, FACTORS).value == pytest.approx(1 / 1.28)
    assert modulus_kept(with_status(PLASTIC, "creep_modulus_1h", "memory-L"), 4.0) is None


def test_creep_stands_as_its_weakest_number():
    weak = with_status(PLASTIC, "creep_strength_factor_1000h", "memory-M")
    assert strength_kept(weak, 1.0).origin.status == "memory-M"

# SPDX-License-Identifier: MIT
"""Creep: straight over the logarithm of time between what is known, and never a gain."""

import dataclasses

import numpy as np
import pytest

from fea.check.creep import PEAK_SHARE, modulus_kept, strength_kept
from fea.material.library import read_library

LIBRARY = read_library()
PLASTIC = LIBRARY["polypropylene-homopolymer"]


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

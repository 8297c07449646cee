# SPDX-License-Identifier: MIT
"""Fatigue strengths of test bars, by the rules that devices are judged with, factors left out.

Aluminium: amplitude fully reversed at 5·10⁸ cycles and tensile strength from tables of typical
properties (R. R. Moore specimens); the largest stress from zero follows by Goodman's line, by hand.
The S-N line of 7075-T6 between the tables' two numbers is held against the fit of many tests in
MIL-HDBK-5 (from memory, not read): log N = 18.21 − 7.73 log(S − 10), S = Smax (1 − R)^0.62 in ksi.

Polyamide 12, laser sintered: below an amplitude of 20 MPa fully reversed bars outlive 10⁶ cycles,
15 MPa is outlived in all directions of building (rotating bending); from zero 16.8 MPa across the
layers, and 29.3 MPa in the layers at R = 0.1 (Procedia Structural Integrity 2026;76:151). The
direction in which a device was built is not known, so nothing above the worst may be promised.

Polypropylene: amplitude 11 MPa fully reversed, 18 to 20 MPa largest at R = 0.1 (handbooks, from
memory).
"""

import numpy as np
import pytest

from fea.check.spectrum import Block, Spectrum
from fea.material.library import read_library
from fea.material.life import Basquin, FatigueCurve, Goodman, Sensitivity, sensitivity

LIBRARY = read_library()
KSI = 6.894757


def largest(curve, ratio, cycles):
    """Largest stress that is outlived for some cycles at a stress ratio, MPa."""
    once = Spectrum((Block("cycles", 1.0, cycles),), None)
    amplitude, mean = np.array([0.5 * (1.0 - ratio)]), np.array([0.5 * (1.0 + ratio)])
    return float(once.factor(curve, amplitude, mean))


def metal(amplitude, strength, cycles):
    line = Basquin.through((1e3, 0.9 * strength), (cycles, amplitude), knee=True)
    return FatigueCurve(line, Goodman(strength), strength, strength)


@pytest.mark.source("tables of typical properties; Goodman")
@pytest.mark.parametrize(
    ("amplitude", "strength", "hand"),
    [(160.0, 570.0, 249.9), (140.0, 485.0, 217.3), (95.0, 310.0, 145.4)],
    ids=["7075-T6", "2024-T3", "6061-T6"],
)
def test_aluminium_from_zero(amplitude, strength, hand):
    """2 σ/(1 + σ/σu)"""
    assert largest(metal(amplitude, strength, 5e8), 0.0, 5e8) == pytest.approx(hand, rel=1e-3)


def handbook(ratio, cycles):
    """Largest stress of the fit for 7075-T6, MPa."""
    equivalent = 10.0 + 10.0 ** ((18.21 - np.log10(cycles)) / 7.73)
    return equivalent / (1.0 - ratio) ** 0.62 * KSI


@pytest.mark.source("MIL-HDBK-5, from memory")
@pytest.mark.parametrize("cycles", [1e5, 1e6, 1e7])
@pytest.mark.parametrize("ratio", [-1.0, 0.0])
def test_the_line_of_7075_between_its_two_numbers(ratio, cycles):
    material = LIBRARY["aluminium-7075-t6"]
    curve = metal(*(material.property(name).value for name in
                    ("fatigue_amplitude", "tensile_strength", "fatigue_cycles")))  # fmt: skip
    assert largest(curve, ratio, cycles) == pytest.approx(handbook(ratio, cycles), rel=0.10)


def nylon():
    material = LIBRARY["polyamide-12-sintered"]
    names = ("fatigue_amplitude", "fatigue_maximum_stress", "fatigue_maximum_ratio",
             "yield_strength", "fatigue_cycles")  # fmt: skip
    reversed_, pull, ratio, strength, cycles = (material.property(name).value for name in names)
    line = Basquin.through((1.0, strength), (cycles, reversed_))
    return FatigueCurve(line, Sensitivity(sensitivity(reversed_, pull, ratio)), strength, strength)


@pytest.mark.source("Procedia Structural Integrity 2026;76:151")
def test_powder_printed_nylon_across_its_layers():
    assert largest(nylon(), 0.0, 1e6) == pytest.approx(16.8, rel=1e-6)


@pytest.mark.source("Procedia Structural Integrity 2026;76:151")
def test_powder_printed_nylon_in_its_layers_is_promised_no_more():
    assert largest(nylon(), 0.1, 1e6) < 29.3
    assert largest(nylon(), -1.0, 1e6) < 20.0


@pytest.mark.source("handbooks, from memory")
def test_polypropylene_without_its_second_ratio_is_on_the_safe_side():
    """A grade without a test at another ratio is judged by Goodman: 17.8 MPa, tests 18 to 20."""
    material = LIBRARY["polypropylene-homopolymer"]
    amplitude, strength, cycles, yields = (
        material.property(name).value for name in
        ("fatigue_amplitude", "tensile_strength", "fatigue_cycles", "yield_strength")
    )  # fmt: skip
    line = Basquin.through((1.0, yields), (cycles, amplitude))
    found = largest(FatigueCurve(line, Goodman(strength), yields, yields), 0.1, 1e6)
    assert found == pytest.approx(17.80, rel=1e-3)  # 11/(0.45 + 0.55 · 11/36)
    assert found < material.property("fatigue_maximum_stress").low

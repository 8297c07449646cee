# SPDX-License-Identifier: MIT
"""What a life under a step leaves open."""

import math
from types import SimpleNamespace

from fea.check.lifegaps import CREEP, creep_gaps, turned_gaps
from fea.check.spectrum import Block

WALKING = Block("walking", 1.0, 1e6)


def device(**kinds):
    parts = {zone: SimpleNamespace(material=SimpleNamespace(kind=kind))
             for zone, kind in kinds.items()}  # fmt: skip
    bars = {zone: parts.pop(zone) for zone in list(parts) if zone == "bar"}
    return SimpleNamespace(walls=parts, bars=bars)


def test_plastic_and_printed_parts_creep_and_others_do_not():
    (gap,) = creep_gaps(device(shell="thermoplastic", foot="printed", bar="metal"))
    assert gap.topic == CREEP and gap.horizon == "service life"
    assert "shell, foot creep over months" in gap.because and "bar" not in gap.because
    assert "measure the angle of its ankle at each visit" in gap.because
    assert creep_gaps(device(shell="laminate", bar="metal")) == ()


def test_the_furthest_turn_of_either_sign_is_named():
    assert turned_gaps({}, [WALKING]) == ()
    assert turned_gaps({"push-off": math.radians(8.0) - 1e-9}, [WALKING]) == ()
    turned = {"push-off": math.radians(8.5), "heel strike": math.radians(-9.25)}
    (gap,) = turned_gaps(turned, [WALKING])
    assert "9.2° (walking) in 'heel strike'" in gap.because and gap.horizon == "service life"


def test_a_stumble_turns_the_ankle_further_than_a_step():
    stumbles = Block("stumbles", 2.5, 30.0, rare=True)
    (gap,) = turned_gaps({"push-off": math.radians(5.0)}, [WALKING, stumbles])
    assert "12.5° (stumbles) in 'push-off'" in gap.because

# SPDX-License-Identifier: MIT
"""Published gait of typically developing children, at five walking speeds.

Schwartz M H, Rozumalski A, Trost J P. The effect of walking speed on the gait of typically
developing children. J Biomech 2008;41:1639-1650. Body height of the sample 1.439 m (Pinzone 2014),
ankle axis at 0.040 and foot length 0.156 of it.
"""

import numpy as np
import pytest

from fea.loadcase.gait import (
    COP_SCATTER,
    allowed_near,
    children_gait,
    cop_scatter,
    foot_cop,
    foot_pitch,
)
from fea.loadcase.instant import StanceInstant
from fea.loadcase.reaction import ground_reaction, into_device_frame
from fea.wearer import Wearer

HEIGHT = 1439.0


def free(*percent):
    return children_gait()["free"].at(percent)


def floor_frame_reaction(percent):
    curve = free(percent)
    instant = StanceInstant(
        name="published",
        percent=percent,
        fz_bw=float(curve.fz_bw[0]),
        fx_bw=float(curve.fx_bw[0]),
        moment_nm_per_kg=float(curve.ankle_moment_nm_per_kg[0]),
    )
    return ground_reaction(
        instant,
        wearer=Wearer(mass_kg=40.0, height_mm=HEIGHT, side="left"),
        ankle=(0.0, 0.0, 0.040 * HEIGHT),
        foot_length=0.156 * HEIGHT,
        plate_span=(-56.0, 168.0),
    )


def test_load_table_at_48_percent():
    reaction = floor_frame_reaction(48)
    assert reaction.force[2] == pytest.approx(421.6, rel=0.01)
    assert reaction.force[0] == pytest.approx(59.8, rel=0.01)
    assert reaction.cop[0] == pytest.approx(108.0, rel=0.05)
    # The moment is kept, and is rebuilt from force and centre of pressure.
    assert reaction.dorsiflexing_moment == pytest.approx(49.0e3, rel=0.01)
    rebuilt = reaction.force[2] * reaction.cop[0] + reaction.force[0] * 0.040 * HEIGHT
    assert rebuilt == pytest.approx(49.0e3, rel=0.01)


# Worked out by hand from the published means: floor-frame centre of pressure, foot lengths.
@pytest.mark.parametrize(
    ("percent", "cop"),
    [(2, 0.19), (7, 0.24), (12, 0.31), (20, 0.42), (31, 0.62), (40, 0.71), (48, 0.73), (54, 0.73)],
)
def test_floor_frame_cop(percent, cop):
    curve = free(percent)
    assert foot_cop(curve, np.zeros(1))[0] == pytest.approx(cop, abs=0.01)


# The foot carries half the body weight in the mean over a cycle of symmetrical walking, and
# pushes forward as much as it brakes.
@pytest.mark.parametrize(
    ("speed", "vertical"),
    [
        ("very slow", 0.4958),
        ("slow", 0.4948),
        ("free", 0.4969),
        ("fast", 0.4971),
        ("very fast", 0.4965),
    ],
)
def test_impulses_over_the_cycle(speed, vertical):
    curve = children_gait()[speed]
    time = curve.percent / 100.0
    assert np.trapezoid(curve.fz_bw, time) == pytest.approx(vertical, abs=1e-4)
    assert np.trapezoid(curve.fz_bw, time) == pytest.approx(0.5, abs=0.01)
    assert abs(np.trapezoid(curve.fx_bw, time)) <= 0.006


def test_foot_lies_flat_in_mid_stance():
    pitch = np.degrees(foot_pitch(free(*range(12, 33, 2))))
    assert np.abs(pitch).max() <= 2.0


@pytest.mark.parametrize(("percent", "pitch"), [(40, 5), (48, 14), (50, 18), (54, 32)])
def test_foot_pitch_after_heel_off(percent, pitch):
    assert np.degrees(foot_pitch(free(percent)))[0] == pytest.approx(pitch, abs=0.5)


def test_frame_of_the_foot_at_48_percent():
    curve = free(48)
    shear, _ = into_device_frame(curve.fx_bw, curve.fz_bw, foot_pitch(curve))
    assert foot_cop(curve)[0] == pytest.approx(0.79, abs=0.01)
    assert shear[0] == pytest.approx(-0.11, abs=0.005)


def test_cop_moves_forward_through_stance_in_the_frame_of_the_foot():
    cop = foot_cop(free(*range(2, 56, 2)))
    assert np.all(np.diff(cop) > 0.0)


def test_scatter_of_the_cop():
    assert cop_scatter(free(48))[0] == pytest.approx(COP_SCATTER, abs=5e-4)


def test_more_scatter_allows_more_force_and_shear():
    tight, wide = allowed_near(0.7, scatter=0.03), allowed_near(0.7, scatter=0.12)
    assert wide.fz_bw > tight.fz_bw
    assert wide.fx_bw[0] < tight.fx_bw[0] < tight.fx_bw[1] < wide.fx_bw[1]

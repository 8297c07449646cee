# SPDX-License-Identifier: MIT
"""The ground reaction on the plate: kept whole, or refused."""

from dataclasses import replace

import pytest

from fea.device.reader import read_device
from fea.errors import LoadError
from fea.loadcase.instant import StanceInstant
from fea.loadcase.reaction import ground_reaction
from fea.structure.realise import ground_load, landmark, plate_span
from fea.wearer import read_wearer


def test_a_twist_is_never_left_out_in_silence():
    device = read_device("ribbed-polypropylene-child-surface")
    reaction = ground_reaction(
        StanceInstant(name="pivot", percent=None, fz_bw=1.0, fx_bw=0.0, cop=0.5,
                      free_moment_nm_per_kg=0.3),
        wearer=read_wearer("demo-child"), ankle=landmark(device, "ankle_axis"), foot_length=219.0,
        plate_span=plate_span(device),
    )  # fmt: skip
    # 0.3 N·m/kg x 35 kg, toes in on a left foot: clockwise from above.
    with pytest.raises(LoadError, match="'pivot': the ground twists the foot by -10.5 N·m"):
        ground_load(device, reaction)
    untwisted = ground_load(device, replace(reaction, free_moment=0.0))
    assert untwisted.force[2] == pytest.approx(343.23, abs=0.01)  # 35 kg

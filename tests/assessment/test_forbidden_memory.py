# SPDX-License-Identifier: MIT
"""An assessment whose requirements forbid numbers from memory judges nothing that rests on them."""

from dataclasses import replace

import numpy as np
import pytest

import fea
from fea.check.benchwork import bench_work
from fea.check.check import Check
from fea.check.memory import FORBIDDEN
from fea.check.requirements import read_requirements
from fea.errors import InputError
from fea.loadcase.reader import read_load_set
from fea.study.margin import margin

CHILD = fea.Wearer(mass_kg=35, height_mm=1410, side="left")


@pytest.mark.slow
def test_polypropylene_is_left_unjudged_and_the_cure_is_named():
    walk = read_load_set("walking-envelope")
    one = replace(walk, instants=walk.instants[-1:])
    asked = replace(read_requirements(adult=False), allow_memory=False)
    device = fea.read_device("bare-two-upright-polypropylene-child")
    result = fea.assess(device, CHILD, loads=one, fall=None, step=None, size=16.0,
                        requirements=asked)
    assert result.requirements is asked
    assert not any(isinstance(found, Check) for found in result.findings)
    assert result.verdict == "not fully checked"
    assert np.isnan(result.cell_utilisation).all()
    assert not any(case.utilisation for case in result.every_case)
    assert (result.life, result.skin.bands, result.pressures, result.straps) == ((), (), (), ())
    assert not result.buckles and FORBIDDEN in result.assumptions
    work = bench_work(result.device, result.cell_utilisation, result.checks)
    assert work.drill.all() and all(place.utilisation is None for place in work.watch)
    with pytest.raises(InputError, match="nothing could be checked"):
        margin(result)
    gaps = [gap for gap in result.not_checked if "from memory" in gap.because]
    assert {"yield", "buckling"} <= {gap.topic for gap in gaps}
    assert "skin pressure" in {gap.topic for gap in gaps}
    for gap in gaps:
        assert "poisson ratio of polypropylene-homopolymer: memory-H" in gap.because
        assert "--materials" in gap.because

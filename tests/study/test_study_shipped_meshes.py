# SPDX-License-Identifier: MIT
"""Whether the cells of the shipped devices are small enough: the hardest strength check.

The peak on the device's own mesh must lie within 5 % of what finer meshes lead to, outside the
places where stress does not converge. Judged is the zone that governs; the other zones stand in
the table of `stanchion check DEVICE --refine`.
"""

import pytest

import fea
from fea import assessment
from fea.check.buckling import BucklingJudgement
from fea.shipped import resolve
from fea.study.refine import CLOSE, refine
from fea.wearer import read_wearer

STRENGTH = ("yield", "ply stress")


@pytest.fixture
def without_buckling(monkeypatch):
    """Buckling takes most of the time of a check and is not asked for here, nor is a fall."""
    monkeypatch.setattr(assessment, "judge_buckling", lambda *_: BucklingJudgement((), (), {}))
    monkeypatch.setattr(assessment, "judge_fall", lambda *_, **__: ())


@pytest.mark.slow
@pytest.mark.parametrize(
    ("device", "wearer"),
    [
        ("ribbed-polypropylene-child", "demo-child"),
        ("polypropylene-adult", "demo-adult"),
        ("aluminium-bars-adult", "demo-adult"),
        ("carbon-laminate-adult", "demo-adult"),
        ("bare-two-upright-polypropylene-child", "demo-child"),
        ("ribbed-polypropylene-child-surface", "demo-child"),
    ],
)
def test_the_hardest_peak_is_close_to_what_finer_meshes_lead_to(without_buckling, device, wearer):
    study = refine(fea.read_device(device), read_wearer(resolve("wearers", wearer)))
    hardest = next(peak for peak in study.peaks if peak.check.topic in STRENGTH)
    assert hardest.deviation <= CLOSE, (hardest.check.zone, hardest.convergence)

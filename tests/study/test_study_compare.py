# SPDX-License-Identifier: MIT
"""Two real devices compared on coarse cells: the model says what mechanics does, and no more."""

import logging
from types import SimpleNamespace

import numpy as np
import pytest

import fea
from fea.device.change import apply_change
from fea.device.changefile import Change, Overlay
from fea.errors import DeviceError
from fea.limb import Limb
from fea.study.compare import Comparison, common_size, compare, compare_devices, parts_within
from fea.study.comparedchecks import share
from fea.study.comparednumbers import MASS, NumberChange
from fea.study.tendency import tendency

CHILD = fea.Wearer(mass_kg=35, height_mm=1410, side="left")
QUICK = {"step": None, "size": 16.0}


@pytest.fixture(scope="module")
def bare():
    return fea.read_device("bare-two-upright-polypropylene-child")


@pytest.fixture(scope="module")
def thicker(bare):
    change = Change(title="Ankle of 6.25 mm sheet", values={"walls.ankle.sheet_mm": 6.25})
    return compare_devices(bare, apply_change(bare, change), CHILD, **QUICK)


@pytest.mark.slow
def test_a_thicker_ankle_is_told_where_it_works_and_nowhere_else(thicker):
    """A quarter more wall, on the same cells: the ankle bends a third less, the plate does not."""
    rows = {(row.topic, row.zone): row for row in thicker.rows if row.horizon == "today"}
    ankle = rows["yield", "ankle medial"]
    assert ankle.outcome == "better"
    assert 1.0 / 1.25**2 - 0.1 < 1.0 + ankle.change / share(ankle.before) < 1.0 / 1.25
    assert rows["yield", "foot plate"].outcome == "no difference"
    assert rows["buckling", "device"].outcome == "better"
    assert not any(row.because for row in thicker.rows)
    assert 1000.0 * thicker.mass_change == pytest.approx(5.2, abs=1.0)
    names = {change.name: change for change in thicker.changes}
    assert names["rotation"].told and names["rotation"].after < names["rotation"].before
    assert names["stiffness"].after > names["stiffness"].before
    assert thicker.coarser_size > 1.1 * thicker.numbers[0].cell_size


@pytest.mark.slow
def test_coarser_cells_let_more_be_told_and_nothing_else(thicker):
    alone = compare(thicker.before, thicker.after)
    assert alone.coarser_size is None
    for one, other in zip(alone.rows, thicker.rows, strict=True):
        assert (one.topic, one.zone, one.change) == (other.topic, other.zone, other.change)
        if one.estimated:
            assert other.unresolved <= one.unresolved
    assert alone.tendency.better < thicker.tendency.better


@pytest.mark.slow
def test_a_device_without_coarser_cells_is_compared_without_them(
    bare, thicker, caplog, monkeypatch
):
    def assess(device, wearer, *, size, **others):
        if size != 16.0:
            raise DeviceError("no such cells")
        return thicker.before

    monkeypatch.setattr("fea.study.compare.assess", assess)
    with caplog.at_level(logging.WARNING):
        found = compare_devices(bare, bare, CHILD, **QUICK)
    assert "not read again on coarser cells of 22.6 mm: no such cells" in caplog.text
    assert found.coarser_size is None
    assert found.tendency.overall == "no difference"


def test_a_comparison_prints_its_sentence_and_points_and_no_arrays():
    def side(name):
        return SimpleNamespace(device=SimpleNamespace(name=name), checks=(), not_checked=(),
                               verdict="not checked", arrays=np.zeros(3))  # fmt: skip

    row = NumberChange(MASS, 0.1, 0.13, 0.0)
    numbers = tuple(SimpleNamespace(mass=mass) for mass in (0.1, 0.13))
    found = Comparison(
        side("old"), side("new"), (), (), tendency((), ()), "", numbers, (row,), None)
    assert str(found).splitlines() == [found.sentence, *found.points]
    assert found.sentence.endswith("30 g heavier.")
    assert repr(found) == f"<Comparison of 'old' to 'new': {found.opening}>"


def test_a_change_that_does_not_fit_is_told_before_anything_is_judged(bare, monkeypatch):
    monkeypatch.setattr("fea.study.compare.assess", lambda *given, **options: pytest.fail("judged"))
    strip = Overlay(name="strip", zones=("no such zone",), face="outer",
                    material="polypropylene-homopolymer", thickness_mm=3.0)  # fmt: skip
    changed = apply_change(bare, Change(title="A strip", overlays=(strip,)))
    with pytest.raises(DeviceError, match="names the zone 'no such zone'"):
        compare_devices(bare, changed, CHILD, **QUICK)
    mesh = fea.read_device("ribbed-polypropylene-child-surface")  # for the left leg
    right = fea.Wearer(mass_kg=35, height_mm=1410, side="right")
    with pytest.raises(DeviceError, match="is for the left side, the wearer's is the right"):
        compare_devices(mesh, bare, right)


def test_a_strip_lies_within_the_wall_that_it_is_bonded_to(bare):
    strip = Overlay(name="strip", zones=("upright medial",), face="outer", width_mm=15.0,
                    material="polypropylene-homopolymer", thickness_mm=3.0)  # fmt: skip
    limb = Limb.of(CHILD)
    plain = bare.fit(limb, 14.0)
    bonded = apply_change(bare, Change(title="A strip", overlays=(strip,))).fit(limb, 14.0)
    (new,) = set(bonded.walls) - set(plain.walls)
    assert parts_within(bonded, plain) == {new: ("upright medial",)}
    assert parts_within(plain, bonded) == {}


def test_both_take_the_smaller_of_their_cell_sizes(bare):
    bars = fea.read_device("aluminium-bars-adult")
    mesh = fea.read_device("ribbed-polypropylene-child-surface")
    assert common_size(bare, bars) == min(bare.size, bars.size)
    assert common_size(bare, mesh) == bare.size
    assert common_size(mesh, mesh) is None

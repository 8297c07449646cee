# SPDX-License-Identifier: MIT
"""The lightest device, judged in full; what can be chosen; and that there may be none."""

from dataclasses import replace

import pytest

import fea
from fea.device.changefile import Change
from fea.errors import FileError, InputError
from fea.limb import Limb
from fea.study.lightest import lightest
from fea.study.parameter import Design
from fea.study.stock import choices, read_stock, stacked, together

WALK = fea.read_load_set("walking-envelope")
FOREFOOT = [each for each in WALK.instants if each.name.startswith("under the forefoot")]
BASE = Design(
    fea.read_device("ribbed-polypropylene-child"), fea.read_wearer("demo-child"),
    replace(WALK, instants=FOREFOOT[:1]),
)  # fmt: skip


@pytest.fixture(scope="module")
def stock(tmp_path_factory):
    path = tmp_path_factory.mktemp("stock") / "stock.toml"
    path.write_text('[thermoplastic]\nthickness_mm = [5.0, 6.0, 7.0, 12.0]\n'
                    'source = "practice"\nstatus = "practice"\n', encoding="utf-8")  # fmt: skip
    return path


@pytest.fixture(scope="module")
def found(stock):
    return lightest(BASE, stock=stock, one_sheet=True, fall=None, step=None, size=20.0)


def test_the_lightest_holds_and_is_lighter(found):
    assert found.after is not None
    assert all(check.met for check in found.after.checks)
    assert found.saving == pytest.approx(
        1e3 * (found.before.device_mass_kg - found.after.device_mass_kg), rel=1e-12
    )
    assert found.saving > 0.0


def test_the_lightest_is_what_an_assessment_of_its_own_says(found):
    design = BASE.changed(found.values)
    again = fea.assess(design.device, design.wearer, loads=design.loads, fall=None, step=None,
                       size=20.0)  # fmt: skip
    assert again.device_mass_kg == pytest.approx(found.after.device_mass_kg, rel=1e-12)
    assert again.checks[0].factor == pytest.approx(found.after.checks[0].factor, rel=1e-6)


def test_each_part_is_told_why_it_is_no_thinner(found):
    assert found.search.complete
    for number, trial in enumerate(found.search.thinner):
        assert trial is None or not trial.holds
        words = found._stop(number)
        assert words == "is the thinnest there is" or "%" in words or "open" in words
    assert "no part by itself can be one size thinner" in found.sentence


def test_sheets_that_go_together_stay_together(found):
    assert [part.name for part in found.parts] == [
        "foot plate and foot walls",
        "heel and ankle and uprights and posterior shell and front piece",
    ]
    assert {found.values["device.walls.heel.sheet_mm"]} == {
        found.values["device.walls.ankle.sheet_mm"]
    }


def test_none_holds_for_a_wearer_far_too_heavy(stock):
    heavy = BASE.changed({"wearer.mass_kg": 75.0})
    none = lightest(heavy, stock=stock, one_sheet=True, fall=None, step=None, size=20.0, most=5)
    assert none.after is None and none.saving is None and not none.values and not none.active
    assert none.sentence.startswith("No layout of these sizes")
    assert "comes nearest" in none.sentence


def test_every_kind_of_device_has_something_to_choose():
    adult = fea.read_wearer("demo-adult")
    for name, wanted in (("aluminium-bars-adult", {"foot section", "front piece", "bars"}),
                         ("carbon-laminate-adult", {"foot plate", "heel", "uprights"})):
        design = Design(fea.read_device(name), adult, WALK)
        parts = choices(design, design.device.fit(Limb.of(adult), 20.0), read_stock())
        assert wanted <= {part.name for part in parts}
        for part in parts:
            assert list(part.sizes) == sorted(part.sizes) and part.now is not None
            one = design.changed(dict.fromkeys(part.paths, part.values[part.now]))
            assert one.device.content == design.device.content


def test_an_overlay_can_be_chosen():
    strip = Change.model_validate({
        "title": "Strip", "overlays": [
            {"name": "strip", "zones": ["upright medial"], "face": "outer", "width_mm": 25.0,
             "material": "polypropylene-homopolymer", "thickness_mm": 3.0}]})  # fmt: skip
    design = replace(BASE, change=strip)
    fitted = design.device_as_changed().fit(Limb.of(BASE.wearer), 20.0)
    part = choices(design, fitted, read_stock())[-1]
    assert part.paths == ("overlay.strip.thickness_mm",) and part.words(part.now) == "3 mm"
    assert all(zone in fitted.walls for zone in part.zones) and part.zones


def test_a_surface_measured_cell_by_cell_has_nothing_to_choose():
    surface = fea.read_device("ribbed-polypropylene-child-surface")
    design = Design(surface, BASE.wearer, WALK)
    with pytest.raises(InputError, match="no wall whose sheet or plies"):
        choices(design, surface, read_stock())


def test_whole_plies_keep_the_faces_and_the_symmetry():
    stack = (0, 45, 90, 90, 45, 0)
    for count in range(2, 13, 2):
        plies = stacked(stack, count)
        assert len(plies) == count and plies == plies[::-1] and plies[0] == 0
    assert stacked(stack, 6) == stack
    assert stacked((0, 0, 45, 0), 4) == (0, 0, 45, 0)


def test_parts_with_other_sizes_do_not_go_together():
    fitted = BASE.device.fit(Limb.of(BASE.wearer), 20.0)
    parts = choices(BASE, fitted, read_stock())
    assert len(parts) == 7 and len(together(parts)) == 2


def test_a_stock_that_cannot_be_is_refused(tmp_path):
    path = tmp_path / "stock.toml"
    path.write_text('[metal]\nthickness_mm = [4.0, 3.0]\nsource = "practice"\n'
                    'status = "practice"\n', encoding="utf-8")  # fmt: skip
    with pytest.raises(FileError, match="must rise"):
        read_stock(path)
    path.write_text('[laminate]\nthickness_mm = [4.0]\nsource = "practice"\n'
                    'status = "practice"\n', encoding="utf-8")  # fmt: skip
    with pytest.raises(FileError, match="needs plies"):
        read_stock(path)

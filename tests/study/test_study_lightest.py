# SPDX-License-Identifier: MIT
"""The lightest device, judged in full; what can be chosen; and that there may be none."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

import fea
from fea.device.changefile import Change
from fea.errors import FileError, InputError
from fea.inputs import read_inputs
from fea.limb import Limb
from fea.reporting.lightening import change_text
from fea.study.layout import Search, Trial
from fea.study.lightest import Lightest, _in_its_file, lightest
from fea.study.parameter import Design
from fea.study.stock import Choice, choices, read_stock, stacked, together
from fea.study.trying import Trying

RIBBED = "ribbed-polypropylene-child"
WALK = fea.read_load_set("walking-envelope")
FOREFOOT = [each for each in WALK.instants if each.name.startswith("under the forefoot")]
BASE = Design(
    fea.read_device(RIBBED), fea.read_wearer("demo-child"),
    replace(WALK, instants=FOREFOOT[:1]),
)  # fmt: skip


@pytest.fixture(scope="module")
def stock(tmp_path_factory):
    path = tmp_path_factory.mktemp("stock") / "stock.toml"
    path.write_text('[thermoplastic]\nthickness_mm = [5.0, 6.0, 12.0]\n'
                    'source = "practice"\nstatus = "practice"\n', encoding="utf-8")  # fmt: skip
    return path


@pytest.fixture(scope="module")
def found(stock):
    return lightest(BASE, stock=stock, one_sheet=True, fall=None, step=None, size=24.0)


def test_the_lightest_holds_and_is_lighter(found):
    assert found.after is not None
    assert all(check.met for check in found.after.checks)
    assert found.saving == pytest.approx(
        1e3 * (found.before.device_mass_kg - found.after.device_mass_kg), rel=1e-12
    )
    assert found.saving > 0.0


def test_the_file_of_the_lightest_makes_a_device_of_that_mass_and_verdict(found, tmp_path):
    path = tmp_path / "lightest.toml"
    path.write_text(change_text(found), encoding="utf-8")
    inputs = read_inputs(RIBBED, after=str(path), wearer="demo-child", measures={})  # as compare
    again = fea.assess(inputs.after, BASE.wearer, loads=BASE.loads, fall=None, step=None,
                       size=24.0)  # fmt: skip
    assert again.device_mass_kg == pytest.approx(found.after.device_mass_kg, rel=1e-12)
    assert again.verdict == found.after.verdict
    assert again.checks[0].factor == pytest.approx(found.after.checks[0].factor, rel=1e-6)
    assert found.sentence in path.read_text(encoding="utf-8").replace("\n# ", " ")


def made(design, sizes):
    """The lightest of a design where the search chose so, by the name of the part."""
    device = _in_its_file(design).device_as_changed().fit(Limb.of(design.wearer), 20.0)
    parts = choices(_in_its_file(design), device, read_stock())
    layout = tuple(sizes.get(part.name, part.nearest) for part in parts)
    given = SimpleNamespace(device_mass_kg=1.0, verdict="met")
    search = SimpleNamespace(best=SimpleNamespace(layout=layout), trials=(), complete=True)
    return Lightest(design, parts, given, given, search)


@pytest.mark.parametrize(("name", "change", "sizes"), [
    (RIBBED, None, {"heel": 2}),
    (RIBBED, "carbon-strips-outside", {"heel": 3, "carbon strip": 1, "carbon strip, width": 1}),
    (RIBBED, "taller-ribs-thicker-ankle", {"ankle": 3}),
    ("carbon-laminate-adult", "carbon-strips-outside", {"uprights": 5, "carbon strip, width": 2}),
    ("aluminium-bars-adult", "stainless-bars", {"bars": 3}),
])  # fmt: skip
def test_a_file_holds_the_change_that_was_asked_for_and_the_sizes(name, change, sizes, tmp_path):
    wearer = fea.read_wearer("demo-child" if "child" in name else "demo-adult")
    design = Design(fea.read_device(name), wearer, WALK,
                    change=None if change is None else fea.read_change(change))  # fmt: skip
    lightest = made(design, sizes)
    path = tmp_path / "lightest.toml"
    path.write_text(change_text(lightest), encoding="utf-8")
    limb = Limb.of(wearer)
    mine = fea.apply_change(design.device, fea.read_change(path)).fit(limb, 20.0)
    tried = _in_its_file(design).changed(lightest.values).device_as_changed().fit(limb, 20.0)
    assert set(mine.walls) == set(tried.walls) and len(mine.mesh.points) == len(tried.mesh.points)
    for zone, wall in tried.walls.items():
        assert np.array_equal(mine.walls[zone].thickness, wall.thickness), zone
    assert {zone: bar.depth for zone, bar in mine.bars.items()} == {
        zone: bar.depth for zone, bar in tried.bars.items()
    }
    for part, number in zip(lightest.parts, lightest.search.best.layout, strict=True):
        if part.name in sizes:
            assert number == sizes[part.name]


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


@pytest.mark.slow
def test_none_holds_for_a_wearer_far_too_heavy(stock):
    heavy = BASE.changed({"wearer.mass_kg": 75.0})
    none = lightest(heavy, stock=stock, one_sheet=True, fall=None, step=None, size=20.0, most=5)
    assert none.after is None and none.saving is None and not none.values and not none.active
    assert none.change is None and change_text(none) == ""
    assert none.sentence.startswith("No layout of these sizes")
    assert "comes nearest" in none.sentence


def test_where_none_holds_it_says_which_comes_nearest_and_writes_no_change():
    key = ("yield", "heel", "today")
    trials = [Trial((0,), 0.3, {key: 1.40}), Trial((1,), 0.4, {key: 1.25}),
              Trial((2,), failure="no")]  # fmt: skip
    part = Choice("heel", ("device.walls.heel.sheet_mm",), ("heel",), (4.0, 5.0, 6.0),
                  (4.0, 5.0, 6.0), 5.0)  # fmt: skip
    search = Search(tuple(trials), None, (), False, True)
    none = Lightest(BASE, (part,), SimpleNamespace(verdict="not met"), None, search)
    assert none.change is None and change_text(none) == "" and not none.active
    assert none.sentence == (
        "No layout of these sizes holds: all 3 were judged, and the one that comes nearest uses "
        "125 % of what is allowed in yield of heel (today)."
    )
    assert "5 mm" in str(none)


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
    *_, part, width = choices(design, fitted, read_stock())
    assert part.paths == ("overlay.strip.thickness_mm",) and part.words(part.now) == "3 mm"
    assert width.paths == ("overlay.strip.width_mm",) and width.words(width.now) == "25 mm"
    assert part.zones == width.zones == ("strip on upright medial",)
    assert len(together((part, width))) == 2
    uprights = next(one for one in choices(design, fitted, read_stock()) if one.name == "uprights")
    shares = dict(Trying._shares(SimpleNamespace(device=fitted), uprights))
    assert shares["upright lateral"] == 1.0
    assert 0.5 < shares["strip on upright medial"] < 0.8  # 6 mm, formed, of what is 3 mm more
    (bonded,) = dict(Trying._shares(SimpleNamespace(device=fitted), part)).values()
    assert bonded == pytest.approx(1.0 - shares["strip on upright medial"])


def test_a_single_ply_may_be_bonded_on_but_makes_no_wall():
    design = replace(BASE, change=fea.read_change("carbon-strips-outside"))
    fitted = design.device_as_changed().fit(Limb.of(BASE.wearer), 20.0)
    strip = next(one for one in choices(design, fitted, read_stock()) if one.name == "carbon strip")
    assert [strip.words(number) for number in range(3)] == ["1 ply", "3 plies", "5 plies"]
    assert strip.values[1]["angles_deg"] == [0.0, 45.0, 0.0] and strip.now == 2


def test_a_check_without_an_adjoint_is_guessed_to_answer_like_its_wall():
    def one(topic, zone):
        return SimpleNamespace(check=check(topic, zone))

    def check(topic, zone):
        return SimpleNamespace(topic=topic, zone=zone, horizon="today")

    parts = tuple(Choice(zone, (f"device.walls.{zone}.sheet_mm",), (zone,), (4.0, 5.0), (4.0, 5.0),
                         4.0) for zone in ("heel", "ankle"))  # fmt: skip
    share = {"heel": -0.5, "ankle": -1.5}
    found = SimpleNamespace(
        gradients=[one("yield", "heel")], exponent=lambda gradient, zone: share[zone],
        result=SimpleNamespace(
            device=SimpleNamespace(bars={}, walls={}, parts=lambda zone: ()),
            checks=[check(*each) for each in (
                ("yield", "heel"), ("life", "heel"), ("life", "ankle"), ("bearing", "rivet"))],
        ),
    )  # fmt: skip
    trying = object.__new__(Trying)
    trying._parts = parts
    trying._shares = lambda result, part: [(part.name, 1.0)]
    slopes = {key[:2]: list(each) for key, each in trying._slopes(found).items()}
    assert slopes == {
        ("yield", "heel"): [-0.5, -1.5], ("life", "heel"): [-0.5, -1.5],
        ("life", "ankle"): [0.0, -1.0], ("bearing", "rivet"): [0.0, 0.0],
    }  # fmt: skip


def test_a_wall_that_the_change_settles_is_not_chosen():
    change = Change.model_validate({
        "title": "Thicker heel", "zones": [{"zones": ["heel"], "thickness_mm": 7.0}]})  # fmt: skip
    design = replace(BASE, change=change)
    fitted = design.device_as_changed().fit(Limb.of(BASE.wearer), 20.0)
    names = [one.name for one in choices(design, fitted, read_stock())]
    assert "heel" not in names and "ankle" in names


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
    path.write_text('[strips]\nwidth_mm = [30.0, 20.0]\nsource = "practice"\n'
                    'status = "practice"\n', encoding="utf-8")  # fmt: skip
    with pytest.raises(FileError, match="must rise"):
        read_stock(path)
    path.write_text('[laminate]\nthickness_mm = [4.0]\nsource = "practice"\n'
                    'status = "practice"\n', encoding="utf-8")  # fmt: skip
    with pytest.raises(FileError, match="needs plies"):
        read_stock(path)

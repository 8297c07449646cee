# SPDX-License-Identifier: MIT
"""The lightest in files: the change, and the map of where to thin."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

import fea
from fea.errors import FileError
from fea.reporting.lightening import write_lightest
from fea.reporting.thinmap import costs, thin_map, unknown_zones


@pytest.fixture(scope="module")
def found():
    walk = fea.read_load_set("walking-envelope")
    one = [each for each in walk.instants if each.name.endswith("pushed laterally")]
    result = fea.assess(fea.read_device("bare-two-upright-polypropylene-child"),
                        fea.read_wearer("demo-child"), loads=replace(walk, instants=one),
                        fall=None, step=None, size=24.0)  # fmt: skip
    return fea.gradient(result)


LAYOUT = SimpleNamespace(
    change=fea.Change(title="Lightest", values={"walls.ankle.sheet_mm": 5.0}),
    sentence="It holds.",
)


def test_the_map_shows_what_a_gram_costs_in_the_check_that_it_costs_most(found):
    key, picture, alt, caption = thin_map(found)
    assert key == "thin" and picture.scale.low == 0.0 < picture.scale.high
    netted = np.isnan(picture.triangle_values)
    zones = unknown_zones(found)
    mesh = found.result.device.mesh
    for zone in found.result.device.walls:
        assert set(netted[mesh.zone(zone)[1]]) == {zone in zones}
    for one in found.gradients:
        lost = 100.0 * one.check.utilisation * found.cells_per_gram(one)
        assert np.all(netted | (picture.triangle_values >= lost - 1e-9 * np.abs(lost)))
    first = found.gradients[0].check
    where = int(np.nanargmax(picture.triangle_values))
    cells = found.result.device.mesh.points[found.result.device.mesh.cells["triangle"][where]]
    places = [one.check.place for one in found.gradients if one.check.place is not None]
    near = min(np.linalg.norm(cells.mean(axis=0) - np.array(place)) for place in places)
    assert near < 20.0  # one cell: a check is asked there
    assert first.topic in caption and caption.split(".")[0] in alt
    assert "%/g" in picture.scale.label
    assert f"{len(found.missing)} checks not counted" in picture.scale.label


def test_costs_are_those_of_the_check_that_minds_most_of_walls_and_of_bars():
    """Factors lose 2 / 10 g and 1 / 10 g of the wall, 3 / 4 g and 0 of the bar, at 50 and 90 %."""
    first = SimpleNamespace(check=SimpleNamespace(utilisation=0.5), lines=np.array([-3.0, 0.0]),
                            lost=np.array([0.2]))  # fmt: skip
    other = SimpleNamespace(check=SimpleNamespace(utilisation=0.9), lines=np.zeros(2),
                            lost=np.array([0.1]))  # fmt: skip
    both = SimpleNamespace(gradients=[first, other], cells_per_gram=lambda one: one.lost,
                           line_mass=np.array([4e-3, 0.0]))  # fmt: skip
    triangles, lines = costs(both)
    assert triangles == pytest.approx([0.5 * 0.2])
    assert lines[0] == pytest.approx(0.5 * 0.75) and np.isnan(lines[1])


def test_a_wall_governed_by_what_the_map_does_not_count_is_not_called_thin():
    def check(zone, used):
        return SimpleNamespace(zone=zone, utilisation=used)

    found = SimpleNamespace(
        zones=("plate", "heel", "ankle", "bar"),
        gradients=[SimpleNamespace(check=check("plate", 0.7)),
                   SimpleNamespace(check=check("heel", 0.9))],
        missing=[(check("plate", 0.98), ""), (check("heel", 0.8), ""), (check("ankle", 0.4), ""),
                 (check("bar", 0.6), ""), (check("rivet 1", 1.2), "")],
    )  # fmt: skip
    assert unknown_zones(found) == ("plate", "bar")


def test_the_map_says_what_it_does_not_cover(found):
    caption = thin_map(found)[-1]
    assert found.missing
    for check, _ in found.missing:
        assert check.topic in caption
    worst = max((check for check, _ in found.missing), key=lambda check: check.utilisation)
    assert f"the hardest of them is {worst.topic}" in caption


def test_both_files_are_written(found, tmp_path):
    paths = write_lightest(LAYOUT, found, tmp_path / "new")
    assert paths.map.read_bytes()[:4] == b"\x89PNG"
    assert fea.read_change(paths.change) == LAYOUT.change
    text = paths.map.with_suffix(".txt").read_text(encoding="utf-8")
    assert paths.caption and text.split() == paths.caption.split()


def test_where_nothing_holds_there_is_no_change(found, tmp_path):
    none = SimpleNamespace(change=None, sentence="None holds.")
    (tmp_path / "lightest.toml").write_text("title = 'an earlier run'", encoding="utf-8")
    assert write_lightest(none, found, tmp_path).change is None
    assert not (tmp_path / "lightest.toml").exists()


def test_a_folder_that_cannot_be_made_is_told(found, tmp_path):
    (tmp_path / "taken").write_text("", encoding="utf-8")
    with pytest.raises(FileError, match="cannot be made"):
        write_lightest(LAYOUT, found, tmp_path / "taken")

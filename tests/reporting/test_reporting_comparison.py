# SPDX-License-Identifier: MIT
"""The files of a comparison: page, JSON and CSV say the same, and nothing that is not told."""

import csv
import io
import json
import math
import re
from dataclasses import replace
from types import SimpleNamespace

import pytest
from fake_assessment import assessment

from fea.check.check import NotChecked
from fea.errors import FileError, InputError
from fea.material.isotropic import Isotropic
from fea.reporting.comparesummary import (
    CompareSummary,
    comparison_csv,
    summarise_comparison,
)
from fea.reporting.comparetables import change_texts, numbers_table, signed
from fea.reporting.comparetext import comparison_text
from fea.reporting.comparing import build_compare_page, write_comparison
from fea.reporting.schema import schema_text
from fea.structure.model import Structure
from fea.structure.sections import ShellSection
from fea.study.compare import compare
from fea.study.comparednumbers import number_changes


def weighed(result):
    """With the structure of its solutions, and a density in it."""
    plastic = Isotropic(youngs_modulus=1400.0, poisson_ratio=0.4, density=0.9e-6)
    sections = {zone: ShellSection(plastic, thickness=wall.thickness)
                for zone, wall in result.device.walls.items()}  # fmt: skip
    old = next(iter(result.run.solutions.values())).system.structure
    structure = Structure(old.mesh, {**old.sections, **sections}, beds=old.beds, bodies=old.bodies)
    return replace(result, run=SimpleNamespace(**{**vars(result.run), "structure": structure}))


@pytest.fixture(scope="module")
def result():
    """The shell is hard worked and comes down; the plate is not judged now; 38 g more."""
    before = weighed(assessment(1.3))
    after = weighed(assessment(0.9))
    gap = NotChecked(topic="yield", zone="foot-plate", because="no strength is known")
    after = replace(
        after, checks=tuple(check for check in after.checks if check.zone != "foot-plate"),
        not_checked=(*after.not_checked, gap), device_mass_kg=0.450,
        device=replace(after.device, title="The same with a rib", name="ribbed"))  # fmt: skip
    return compare(before, after)


def test_the_sentence_says_what_how_much_enough_and_grams(result):
    assert result.sentence == (
        "Not shown to be better or worse: the hardest-worked check uses 90 % of what is allowed "
        "(yield of calf shell; 83 % without the error of the mesh), where it was 130 % (yield of "
        "calf shell; 123 % without the error of the mesh); not checked any more: yield of "
        "foot-plate; that is enough as far as it was checked, but 2 things were not checked, so "
        "it is not shown to hold; 38 g heavier.")  # fmt: skip
    assert "Met now, and not before: yield of calf shell." in result.points
    assert "Better: yield of calf shell." in result.points
    assert "not read again on coarser cells" in result.points[-1]


def test_only_the_device_may_differ(result):
    heavier = replace(result.before, wearer=replace(result.before.wearer, mass_kg=36.0))
    with pytest.raises(InputError, match="differ in their wearer"):
        compare(heavier, result.after)
    with pytest.raises(InputError, match=r"coarser cells are 1 times as large .* from 1.1 times"):
        compare(result.before, result.after, coarser=(result.before, result.after))


def test_json_and_csv_hold_the_same_numbers(result):
    summary = summarise_comparison(result)
    read = CompareSummary.model_validate_json(summary.model_dump_json())
    assert (read.schema_version, read.overall) == ("1.0", "open")
    rows = list(csv.DictReader(io.StringIO(comparison_csv(result))))
    assert len(rows) == len(read.checks) == 3
    for row, check in zip(rows, read.checks, strict=True):
        assert (row["topic"], row["zone"], row["outcome"]) == (
            check.topic, check.zone, check.outcome)  # fmt: skip
        for side, found in (("before", check.before), ("after", check.after)):
            if found is None:
                assert row[f"{side}_state"] == "not checked" and row[f"{side}_demand"] == ""
            else:
                assert float(row[f"{side}_demand"]) == found.demand
                assert (row[f"{side}_state"] == "met") == found.met
    assert read.mass_change_g == pytest.approx(38.0)
    assert read.after.verdict == "not fully checked"


def test_the_change_of_a_check_is_that_of_the_shares_without_error(result):
    """Demand 16 · peak with 1.25 MPa of error, capacity 24, required 1.5; see the invented one."""
    check = summarise_comparison(result).checks[0]
    assert check.change_of_utilisation == pytest.approx(16.0 * (0.9 - 1.3) * 1.5 / 24.0)
    assert check.unresolved_change == pytest.approx(2 * 1.25 * 1.5 / 24.0)
    assert (check.outcome, check.errors_estimated) == ("better", True)


def test_a_mass_from_one_pair_of_meshes_is_told_only_of_one_surface(result):
    mass = summarise_comparison(result).numbers[0]
    assert (mass.name, mass.unit) == ("mass", "g")
    assert mass.after - mass.before == pytest.approx(38.0)
    assert (mass.unresolved_change, mass.resolved) == (pytest.approx(0.1), True)
    one, other = result.numbers
    (unlike, *_) = number_changes((one, replace(other, area=1.01 * other.area)))
    assert (unlike.unresolved, unlike.told) == (None, None)
    same = compare(result.before, result.before)
    assert summarise_comparison(same).numbers[0].resolved is False


def test_a_mass_on_coarser_cells_is_told_by_how_far_its_change_moves(result):
    """400 g and 438 g; on cells twice as large 400 g and 436 g: three times two grams are open."""
    one, other = (replace(each, mass=mass) for each, mass in
                  zip(result.numbers, (0.400, 0.438), strict=True))  # fmt: skip
    coarse = tuple(replace(each, mass=mass, cell_size=2.0 * each.cell_size) for each, mass in
                   zip(result.numbers, (0.400, 0.436), strict=True))  # fmt: skip
    (mass, *_) = number_changes((one, other), coarse)
    assert mass.unresolved == pytest.approx(0.006)
    assert mass.told


def test_a_change_gives_the_page_its_title(result):
    titled = replace(result.after.device, title=f"{result.before.device.title}; changed: A strip")
    page = build_compare_page(compare(result.before, replace(result.after, device=titled)))
    assert page.after == "Changed: A strip"
    assert page.before == result.before.device.title


def test_files_are_written_whole_or_not_at_all(result, tmp_path, monkeypatch):
    """The third file cannot be written: the first two of a former comparison stay as they were."""
    for name in ("compare.html", "compare.json"):
        (tmp_path / name).write_text("former", encoding="utf-8")
    (tmp_path / "compare.csv").mkdir()
    monkeypatch.setattr("fea.reporting.comparing.comparison_html", lambda _: "page")
    with pytest.raises(FileError, match="compare.csv: cannot be written"):
        write_comparison(result, tmp_path)
    assert (tmp_path / "compare.json").read_text(encoding="utf-8") == "former"
    assert sorted(path.name for path in tmp_path.iterdir()) == [
        "compare.csv", "compare.html", "compare.json"]  # fmt: skip


def test_numbers_come_in_the_units_that_people_use(result):
    found = {each.name: each for each in summarise_comparison(result).numbers}
    turn = found["ankle_rotation"]
    assert (turn.unit, turn.before, turn.resolved) == ("deg", pytest.approx(4.19), False)
    assert found["skin_pressure"].before == pytest.approx(1.1 * 31.0)  # kPa, stiff flesh
    stiffness = found["ankle_stiffness"]  # moment / 12 000 degrees, by the invented cases
    assert (stiffness.unit, stiffness.after) == ("N·m/deg", pytest.approx(12.0))


def test_the_published_schema_is_the_one_in_use(root):
    """Remake it with `python -m fea.reporting.schema` after a change, and raise the version."""
    published = (root / "reports/compare-schema.json").read_text(encoding="utf-8")
    assert json.loads(published) == json.loads(schema_text("compare-schema.json"))


def test_the_page_never_counts_what_is_not_checked_as_better(result):
    page = build_compare_page(result)
    assert page.opening == "Not shown to be better or worse"
    assert page.sentence.startswith("The hardest-worked check uses")
    (row,) = page.one_sided.rows
    assert row[0] == "yield, foot plate"
    assert (row[3], row[4]) == ("–", "is not checked now: no strength is known")
    assert [row[2:] for row in page.not_checked.rows] == [
        ("no life is known beyond 100 000 cycles; test coupons", "the same"),
        ("was not left out", "no strength is known")]  # fmt: skip


def test_parts_are_set_in_bold_only_where_they_changed(result):
    thick = replace(result.after.device.walls["foot-plate"], thickness=7.0)
    walls = {**result.after.device.walls, "foot-plate": thick}
    after = weighed(replace(
        result.after, device=replace(result.after.device, walls=walls),
        run=SimpleNamespace(solutions=result.after.run.solutions, modes={}, step={})))  # fmt: skip
    parts = build_compare_page(compare(result.before, after)).parts
    names = [row[0] for row in parts.rows]
    assert names == ["calf shell", "foot plate", "lateral bar"]
    assert parts.strong == {1}
    assert parts.rows[1][1:3] == ("polypropylene-homopolymer, 5 mm",
                                  "polypropylene-homopolymer, 7 mm")  # fmt: skip
    grams = [float(cell.removesuffix(" g")) for cell in parts.rows[1][3:]]
    assert grams[1] / grams[0] == pytest.approx(7.0 / 5.0, rel=0.03)


def test_the_text_has_both_sides_and_the_sentence_last(result):
    text = comparison_text(result)
    assert "before: Polypropylene leaf with one bar, invented (leaf)" in text
    assert re.search("yield +foot-plate +today +4.80 / 1.50 ✓ +– +not checked", text)
    assert text.count("  yield, foot-plate: no strength is known") == 1
    assert "not left out before; the page gives the reasons:\n  yield, foot-plate\n" in text
    assert text.endswith("\n\n".join([result.sentence, "\n".join(result.points)]))


@pytest.mark.parametrize("over", [1e-4, -1e-4, 1.0, -1.0])
def test_a_change_and_its_bound_never_seem_to_say_the_opposite(result, over):
    """Both errors are 1.25 MPa: 2.5 MPa less cannot be told, and a hair more can."""
    row = result.rows[0]
    after = replace(row.after, demand=row.before.demand - 2.5 - over)
    change, bound = (float(re.sub("[^0-9.]", "", text))
                     for text in change_texts(replace(row, after=after)))  # fmt: skip
    assert (change > bound) == (over > 0.0)


@pytest.mark.parametrize(("months", "words"), [
    (19.3, "19.3 months"), (0.0006, "less than a day"), (math.inf, "without end"), (None, "class"),
])  # fmt: skip
def test_the_shortest_life_is_told_in_words(result, months, words):
    after = replace(result.numbers[1], life=months, life_state="class", life_zone="shell")
    rows = numbers_table(replace(result, numbers=(result.numbers[0], after))).rows
    assert rows[-1][2] == words


def test_nothing_has_no_sign():
    assert signed(-0.0001, "g", digits=0) == "0 g"


@pytest.mark.slow
def test_the_page_is_one_file_with_pictures_on_one_scale(result, tmp_path):
    paths = write_comparison(result, tmp_path / "new")
    assert sorted(path.name for path in (tmp_path / "new").iterdir()) == [
        "compare.csv", "compare.html", "compare.json"]  # fmt: skip
    html = paths.html.read_text(encoding="utf-8")
    addresses = re.findall(r'(?:src|href)="([^"#]*)', html)
    assert all(not each or each.startswith("data:image/") for each in addresses)
    assert re.findall(r'<figure id="([a-z]+)">', html) == ["hardest", "deformed", "changes"]
    assert "<script" not in html and html.count("<h1>") == 1
    assert "replaces none of them" in html and "“Not checked” is never “passed”." in html
    targets = set(re.findall(r'href="#([^"]+)"', html))
    assert targets <= set(re.findall(r'id="([^"]+)"', html))


def test_a_folder_that_cannot_be_made_is_refused(result, tmp_path, monkeypatch):
    monkeypatch.setattr("fea.reporting.comparing.comparison_html", lambda _: "page")
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(FileError, match="cannot be made"):
        write_comparison(result, tmp_path / "file" / "below")

# SPDX-License-Identifier: MIT
"""`stanchion compare`: what it reads, prints and writes, and its exit status."""

from types import SimpleNamespace

import pytest

from fea import cli, cli_compare
from fea.device.change import ChangedRecipe
from fea.shipped import shipped_names

CHILD, RIBBED = "bare-two-upright-polypropylene-child", "ribbed-polypropylene-child"
THICKER = """
title = "Thicker at the ankle"
[set]
"walls.ankle.sheet_mm" = 6.0
"""


@pytest.fixture
def compared(monkeypatch):
    """Nothing is solved; the devices that were to be are kept, and the verdict is given."""
    kept = SimpleNamespace(verdict="met", given=None, options=None, folder=None)

    def compare_devices(before, after, wearer, **options):
        kept.given, kept.options = (before, after), options
        return SimpleNamespace(after=SimpleNamespace(verdict=kept.verdict))

    def write_comparison(result, folder):
        kept.folder = folder
        return SimpleNamespace(html=f"{folder}/compare.html")

    monkeypatch.setattr(cli_compare, "compare_devices", compare_devices)
    monkeypatch.setattr(cli_compare, "write_comparison", write_comparison)
    monkeypatch.setattr(cli_compare, "comparison_text", lambda result: "the text")
    return kept


@pytest.mark.parametrize(("verdict", "status"), [
    ("met", 0), ("not met", 1), ("not fully checked", 1),
])  # fmt: skip
def test_the_status_is_that_of_the_device_after(compared, capsys, tmp_path, verdict, status):
    compared.verdict = verdict
    words = ["compare", CHILD, RIBBED, "--wearer", "demo-child", "--out", str(tmp_path)]
    assert cli.run(words) == status
    printed = capsys.readouterr().out
    assert printed.index("the text") < printed.index("Caution") < printed.index("compare.html")
    assert [each.name for each in compared.given] == [CHILD, RIBBED]
    assert compared.options["coarser"] is True
    assert compared.folder == str(tmp_path)


def test_a_change_file_is_applied_to_the_device_before(compared, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    path = tmp_path / "thicker.toml"
    path.write_text(THICKER, encoding="utf-8")
    assert cli.run(["compare", CHILD, str(path), "--wearer", "demo-child", "--quick"]) == 0
    before, after = compared.given
    assert isinstance(after, ChangedRecipe)
    assert before.content.walls.ankle.sheet_mm == 5.0
    assert after.recipe.content.walls.ankle.sheet_mm == 6.0
    assert compared.options["coarser"] is False
    assert compared.folder == f"out/{CHILD}-changed"
    assert list(tmp_path.iterdir()) == [path]


def test_a_shipped_change_goes_by_its_name(compared, tmp_path):
    name = shipped_names("changes")[0]
    words = ["compare", RIBBED, name, "--wearer", "demo-child", "--out", str(tmp_path)]
    assert cli.run(words) == 0
    assert compared.given[1].name == f"{RIBBED}-changed"


def test_a_name_that_is_not_shipped_is_answered_with_devices_and_changes(compared, capsys):
    assert cli.run(["compare", RIBBED, "no-such-name", "--wearer", "demo-child"]) == 2
    said = capsys.readouterr().err
    for word in ("no-such-name", RIBBED, *shipped_names("changes"), "with its suffix"):
        assert word in said


def test_smaller_cells_are_passed_on(compared, tmp_path):
    words = ["compare", CHILD, RIBBED, "--wearer", "demo-child", "--out", str(tmp_path)]
    assert cli.run([*words, "--size-mm", "6.5"]) == 0
    assert compared.options["size"] == 6.5


def test_all_mistakes_are_said_at_once(compared, capsys, tmp_path):
    path = tmp_path / "empty.toml"
    path.write_text('title = "Nothing"\n', encoding="utf-8")
    words = ["compare", "no-such-device", str(path), "--mass-kg", "35", "--cases", "no-such-set"]
    assert cli.run(words) == 2
    said = capsys.readouterr().err
    for word in ("no-such-device", "changes nothing", "--height-mm", "no-such-set"):
        assert word in said
    assert compared.given is None


def test_help_shows_an_example(capsys):
    assert cli.run(["compare", "--help"]) == 0
    assert "Example: stanchion compare" in capsys.readouterr().out
    assert cli.run(["--help"]) == 0
    assert "is it better" in capsys.readouterr().out

# SPDX-License-Identifier: MIT
"""`stanchion chance`: what it reads, prints and writes, and what it refuses before any work."""

import csv
import io
import json
from types import SimpleNamespace

import pytest
from fake_assessment import assessment

from fea import cli, cli_chance
from fea.reporting.chancing import ChanceFile, ChanceReport, summarise_chances
from fea.reporting.schema import schema_text
from fea.study.chance import Chance, Chances
from fea.study.sampling import Sampled
from fea.study.scatter import read_scatter

DEVICE = ["chance", "ribbed-polypropylene-child", "--wearer", "demo-child"]


def found(peak=1.2, known=True):
    """Chances of the first check of an invented assessment; the others have none."""
    result = assessment(peak)
    first, *others = result.checks
    sampled = Sampled(0.11, 0.6, (0.08, 0.14), (0.5, 0.7), 24)
    one = Chance(first, 0.1, 0.62, 0.15, {"load": 0.7, "wall": 0.3}, sampled)
    missing = tuple((check, "no adjoint here") for check in (others if known else result.checks))
    return Chances(result, read_scatter()[0], (one,) if known else (), missing)


@pytest.fixture
def asked(monkeypatch):
    """Nothing is solved; what was asked is kept."""
    kept = SimpleNamespace(found=found(), options=None, scatter=None)

    def find(result, scatter, **options):
        kept.options, kept.scatter = options, scatter
        return kept.found

    monkeypatch.setattr(cli_chance, "assess", lambda *_, **__: kept.found.result)
    monkeypatch.setattr(cli_chance, "find", find)
    return kept


def test_chances_stand_with_their_interval_and_the_rest_is_not_estimated(
    asked, capsys, tmp_path
):
    assert cli.run([*DEVICE, "--out", str(tmp_path)]) == 1  # as the verdict
    out = capsys.readouterr().out
    assert "60 % (50 % to 70 %)" in out and "62 %" in out
    assert "Not estimated, 2 checks of: yield" in out
    assert "body weight  3 %      assumed" in out
    assert asked.options["samples"] == 24 and asked.options["seed"] == 1
    assert {path.name for path in tmp_path.iterdir()} == {
        "chance.html", "chance.json", "chance.csv"}  # fmt: skip


def test_files_say_not_estimated_and_never_nil(asked, tmp_path):
    asked.found = found(known=False)
    cli.run([*DEVICE, "--out", str(tmp_path)])
    data = json.loads((tmp_path / "chance.json").read_text(encoding="utf-8"))
    ChanceFile.model_validate(data)
    assert data["any"] == [] and data["chances"] == []
    assert len(data["not_estimated"]) == 4 and not data["not_estimated"][-1]["checked"]
    rows = list(csv.reader(io.StringIO((tmp_path / "chance.csv").read_text(encoding="utf-8"))))
    assert {len(row) for row in rows} == {len(rows[0])}
    assert {row[0] for row in rows[1:]} == {"not estimated"}
    assert all(row[7] == row[8] == "" for row in rows[1:])
    page = (tmp_path / "chance.html").read_text(encoding="utf-8")
    assert "not safe for that" in page and "nothing is known of it" in page


def test_a_failed_check_without_a_chance_is_named():
    report = ChanceReport(found(known=False), read_scatter()[1], 1)
    words = cli_chance.chance_sentences(report.found)[-1]
    assert "1 of them not met as judged (yield of the calf shell 120 %)" in words
    assert summarise_chances(report).not_estimated[0].because == "no adjoint here"


def test_options_reach_the_chances(asked, tmp_path):
    mine = tmp_path / "mine.toml"
    mine.write_text("wall = 0.02\n", encoding="utf-8")
    assert cli.run([*DEVICE, "--out", str(tmp_path / "out"), "--scatter", str(mine), "--samples",
                    "0", "--seed", "7", "--hardest", "2"]) == 1  # fmt: skip
    assert asked.scatter.wall == 0.02
    assert (asked.options["samples"], asked.options["seed"], asked.options["hardest"]) == (0, 7, 2)


@pytest.mark.parametrize(("words", "complaint"), [
    (["--samples", "3"], "3 samples say nothing"),
    (["--samples", "-1"], "-1 samples say nothing"),
    (["--seed", "-1"], "seed -1 is below 0"),
    (["--scatter", "no-such.toml"], "no-such.toml"),
])  # fmt: skip
def test_what_cannot_be_is_refused_before_any_work(monkeypatch, capsys, words, complaint):
    monkeypatch.setattr(cli_chance, "assess", lambda *_, **__: pytest.fail("judged"))
    assert cli.run([*DEVICE, *words]) == cli.UNUSABLE
    assert complaint in capsys.readouterr().err


def test_the_published_schema_is_the_one_in_use(root):
    published = (root / "reports/chance-schema.json").read_text(encoding="utf-8")
    assert published == schema_text("chance-schema.json")


def test_the_list_of_commands_names_it(capsys):
    cli.run(["--help"])
    assert "Estimate the chance that each requirement fails" in capsys.readouterr().out

# SPDX-License-Identifier: MIT
"""`stanchion sweep`: what it prints and writes, its exit status, and how it is stopped."""

import pytest

from fea import cli, cli_sweep
from fea.study import sweepwork

PLAN = """
title = "Ankle wall"
device = "ribbed-polypropylene-child"
wearer = "demo-child"
[vary]
"device.walls.ankle.sheet_mm" = [5.0, 6.0]
"""


@pytest.fixture
def plan(tmp_path):
    path = tmp_path / "ankle.toml"
    path.write_text(PLAN, encoding="utf-8")
    return path


@pytest.fixture
def judge(monkeypatch):
    """Designs are not solved; the test says what came of them."""
    rows = {"state": "judged", "verdict": "not fully checked", "mass_g": 400.0, "not_checked": 2,
            "governing_reserve": 1.1, "governing_topic": "yield", "governing_zone": "heel"}
    monkeypatch.setattr(sweepwork, "judge_design",
                        lambda task: {"design": task.number, **rows, "seconds": 0.0})  # fmt: skip
    return rows


def test_it_prints_and_writes_into_a_folder_named_after_the_plan(
    plan, judge, capsys, monkeypatch, tmp_path
):
    monkeypatch.chdir(tmp_path)
    assert cli.run(["sweep", str(plan), "--workers", "1"]) == 0
    printed = capsys.readouterr()
    assert "Ankle wall: 2 designs; 2 not fully checked." in printed.out
    assert "this is no proof that it holds" in printed.out
    assert "replaces none of them" in printed.out and "designs a minute" in printed.out
    assert "2 of 2 designs" in printed.err
    folder = tmp_path / "out" / "ankle"
    assert {path.name for path in folder.iterdir()} == {
        "sweep.jsonl", "sweep.csv", "sweep.svg", "front.svg"}


def test_status_1_where_a_design_could_not_be_judged(plan, judge, capsys, tmp_path):
    judge.clear()
    judge.update(state="failed", reason="the ribs run over the edge")
    assert cli.run(["sweep", str(plan), "--workers", "1", "--out", str(tmp_path / "o")]) == 1
    assert "Not judged, 2 of them: the ribs run over the edge" in capsys.readouterr().out


def test_a_sweep_that_is_stopped_says_where_it_goes_on(plan, monkeypatch, capsys, tmp_path):
    def stop(*_, **__):
        raise KeyboardInterrupt

    monkeypatch.setattr(cli_sweep.study, "sweep", stop)
    assert cli.run(["sweep", str(plan), "--out", str(tmp_path / "o")]) == 130
    told = capsys.readouterr().err
    assert "finished designs are kept" in told and str(tmp_path / "o") in told


def test_who_stops_the_drawing_hears_what_is_kept(plan, judge, monkeypatch, capsys, tmp_path):
    def stop(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr(cli_sweep, "write_sweep_charts", stop)
    assert cli.run(["sweep", str(plan), "--workers", "1", "--out", str(tmp_path / "o")]) == 130
    printed = capsys.readouterr()
    assert "stopped while drawing; table and journal are kept in" in printed.err
    assert "2 designs" in printed.out
    assert {path.name for path in (tmp_path / "o").iterdir()} == {"sweep.jsonl", "sweep.csv"}


def test_every_file_that_was_written_is_listed(plan, judge, capsys, tmp_path):
    pytest.importorskip("pandas", reason="extra tables")
    pytest.importorskip("pyarrow", reason="extra tables")
    out = tmp_path / "o"
    assert cli.run(["sweep", str(plan), "--workers", "1", "--parquet", "--out", str(out)]) == 0
    (files,) = [line for line in capsys.readouterr().out.splitlines() if line.startswith("Files: ")]
    listed = files.removeprefix("Files: ").split(", ")
    assert listed == [str(out / name) for name in (
        "sweep.csv", "sweep.parquet", "sweep.svg", "front.svg")]


def test_a_plan_that_varies_nothing_is_judged_and_lists_no_chart_of_values(
    plan, judge, capsys, tmp_path
):
    plan.write_text(PLAN.partition("[vary]")[0] + "[[designs]]\n", encoding="utf-8")
    out = tmp_path / "o"
    assert cli.run(["sweep", str(plan), "--out", str(out)]) == 0
    assert f"Files: {out / 'sweep.csv'}, {out / 'front.svg'}" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("words", "told"),
    [(["--workers", "0"], "--workers"), (["--address", "nonsense"], "no address of a scheduler")],
)
def test_workers_that_cannot_be_leave_no_folder(plan, capsys, tmp_path, words, told):
    if "--address" in words:
        pytest.importorskip("distributed", reason="extra many (Dask) is not installed")
    assert cli.run(["sweep", str(plan), *words, "--out", str(tmp_path / "o")]) == 2
    assert told in capsys.readouterr().err and not (tmp_path / "o").exists()


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (PLAN.replace("demo-child", "nobody"), "nobody"),
        (PLAN.replace("sheet_mm", "sheets_mm"), "sheets_mm"),
        ("[", "is not valid TOML"),
    ],
)
def test_a_plan_that_cannot_be_used_is_told(plan, capsys, tmp_path, content, told):
    plan.write_text(content, encoding="utf-8")
    assert cli.run(["sweep", str(plan), "--out", str(tmp_path / "o")]) == 2
    assert told in capsys.readouterr().err
    assert not (tmp_path / "o").exists()


def test_another_plan_in_the_folder_is_refused(plan, judge, capsys, tmp_path):
    words = ["sweep", str(plan), "--workers", "1", "--out", str(tmp_path / "o")]
    assert cli.run(words) == 0
    plan.write_text(PLAN.replace("6.0", "7.0"), encoding="utf-8")
    assert cli.run(words) == 2
    assert "of another plan" in capsys.readouterr().err


def test_it_is_listed_with_what_it_does(capsys):
    assert cli.run(["--help"]) == 0
    assert "sweep: Judge many designs of one plan" in " ".join(capsys.readouterr().out.split())

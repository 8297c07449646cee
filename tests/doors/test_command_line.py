# SPDX-License-Identifier: MIT
"""The command line: exit status, every mistake at once, no traceback, works without a screen."""

import json
import os
import re
import subprocess
import sys
from pathlib import Path
from types import SimpleNamespace
from typing import get_args

import pytest
from fake_assessment import assessment
from fake_refinement import study

from fea import cli, cli_list
from fea.errors import UnsupportedError
from fea.loadcase.instant import Purpose

WHO = ["--mass-kg", "35", "--height-mm", "1410", "--side", "left"]


def stanchion(*arguments, **environment):
    return subprocess.run(
        [sys.executable, "-m", "fea.cli", *arguments], capture_output=True, text=True,
        env={**os.environ, **environment}, timeout=300, check=False)


@pytest.fixture
def stubbed(monkeypatch):
    """Replace the engineering: the door reads its inputs and a given result comes back."""
    def stub(outcome):
        def assess(*_):
            if isinstance(outcome, Exception):
                raise outcome
            return outcome

        leaf = SimpleNamespace(name="leaf")
        monkeypatch.setattr(cli, "_read_inputs", lambda *_, **__: SimpleNamespace(judged=leaf))
        monkeypatch.setattr(cli, "_assess", assess)
        monkeypatch.setattr(cli, "_report", lambda _, folder, *__: Path(folder) / "report.html")
    return stub


@pytest.mark.parametrize(
    ("result", "status", "word"),
    [(assessment(0.5, not_checked=False), 0, "keeps every required factor"),
     (assessment(0.5, not_checked=True), 1, "not all could be judged"),
     (assessment(1.2, not_checked=False), 1, "does not keep its required factor")],
    ids=["met", "not checked", "not met"],
)
def test_the_status_follows_the_verdict(stubbed, capsys, tmp_path, result, status, word):
    stubbed(result)
    assert cli.run(["check", "leaf", *WHO, "--out", str(tmp_path)]) == status
    printed = capsys.readouterr()
    assert word in printed.out
    assert "replaces none of them" in printed.out.replace("\n", " ")
    assert f"Report: {tmp_path / 'report.html'}" in printed.out
    assert "writing the report" in printed.err  # progress goes to the error stream


def test_the_report_goes_to_a_folder_named_after_the_device(stubbed, capsys):
    stubbed(assessment(0.5))
    cli.run(["check", "leaf", *WHO])
    assert f"Report: {os.path.join('out', 'leaf', 'report.html')}" in capsys.readouterr().out


def test_a_refined_check_shows_the_study_and_hands_it_to_the_report(
    stubbed, capsys, monkeypatch, tmp_path
):
    made, handed = study(), []
    stubbed(ZeroDivisionError("judged twice"))
    monkeypatch.setattr(cli, "_refine", lambda *_: made)
    monkeypatch.setattr(cli, "_report", lambda *given: handed.append(given) or tmp_path)
    assert cli.run(["check", "leaf", *WHO, "--refine", "--out", str(tmp_path)]) == 1
    printed = capsys.readouterr().out
    study_at = printed.index("Refinement study")
    assert printed.index(made.assessment.verdict_sentence) < study_at < printed.index("Caution")
    assert made.sentence in printed
    assert [each[:4] for each in handed] == [(made.assessment, str(tmp_path), made, None)]


@pytest.mark.parametrize("error", [UnsupportedError("the front piece floats"), ZeroDivisionError()])
def test_no_traceback_reaches_the_user_unless_asked_for(stubbed, capsys, error):
    stubbed(error)
    assert cli.run(["check", "leaf", *WHO]) == 2
    assert "Traceback" not in capsys.readouterr().err
    assert cli.run(["check", "leaf", *WHO, "--debug"]) == 2
    assert "Traceback" in capsys.readouterr().err


def test_a_stop_is_told_and_has_its_own_status(monkeypatch, stubbed, capsys):
    stubbed(assessment(0.5))

    def stop(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr(cli, "_assess", stop)
    assert cli.run(["check", "leaf", *WHO]) == 130
    assert "stopped; nothing was written" in capsys.readouterr().err


def test_an_unexpected_error_is_not_blamed_on_the_user(stubbed, capsys):
    stubbed(ZeroDivisionError("in the middle"))
    cli.run(["check", "leaf", *WHO])
    assert "a mistake of this program, not of yours" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["check"], "requires an argument"),
        (["chek"], 'Did you mean "check"?'),
        (["check", "x", "--colour", "red"], "--colour"),
        (["check", "x", "--mass-kg", "heavy"], "heavy"),
        (["check", "x", "--side", "middle"], "middle"),
        (["check", "no-such-device", *WHO], "no-such-device"),
        (["check", "no/such/file.toml", *WHO], "there is no file"),
        (["check", "aluminium-bars-adult", *WHO, "--set", "fz=1.5"], "has no number 'fz'"),
        (["check", "aluminium-bars-adult", *WHO, "--set", "fz_bw"], "write NAME=VALUE"),
    ],
)
def test_unusable_words_give_status_2_and_a_cure(capsys, arguments, words):
    assert cli.run(arguments) == 2
    assert words in capsys.readouterr().err


def test_the_mistakes_of_all_inputs_are_reported_at_once(tmp_path, capsys):
    wearer = tmp_path / "wearer.toml"
    wearer.write_text('mass_kg = 900.0\nheight_mm = 1410.0\nside = "left"\nshoe = 3\n', "utf-8")
    status = cli.run(["check", "no-such-device", "--wearer", str(wearer), "--cases", "no-such-set"])
    said = capsys.readouterr().err
    assert status == 2
    for word in ("900", "shoe", "no-such-device", "no-such-set"):
        assert word in said


def test_a_change_is_made_of_the_device_first(monkeypatch, tmp_path):
    judged = []

    def assess(given, *_):
        judged.append(given.judged)
        return assessment(0.5)

    monkeypatch.setattr(cli, "_assess", assess)
    monkeypatch.setattr(cli, "_report", lambda _, folder, *__: Path(folder) / "report.html")
    monkeypatch.chdir(tmp_path)
    words = ["check", "ribbed-polypropylene-child", *WHO, "--change"]
    assert cli.run([*words, "taller-ribs-thicker-ankle"]) == 1
    assert [each.name for each in judged] == ["ribbed-polypropylene-child-changed"]
    assert cli.run([*words, "no-such-change"]) == 2


def test_an_incomplete_wearer_is_told_what_is_missing(capsys):
    assert cli.run(["check", "no-such-device", "--mass-kg", "35"]) == 2
    assert "add --height-mm, --side, or give --wearer" in capsys.readouterr().err
    assert cli.run(["check", "x", "--mass-kg", "35", "--wearer", "demo-child"]) == 2
    assert "exclude each other" in capsys.readouterr().err


def test_help_shows_an_example_of_each_command(capsys):
    for command in ("check", "list"):
        assert cli.run([command, "--help"]) == 0
        assert f"Example: stanchion {command}" in capsys.readouterr().out


def test_list_names_everything_that_is_shipped():
    done = stanchion("list", NO_COLOR="1")
    assert done.returncode == 0, done.stderr
    for word in ("Devices", "Load sets", "walking-envelope", "demo-child", "titanium-6al-4v"):
        assert word in done.stdout
    assert "\x1b" not in done.stdout
    rows = [[cell.strip() for cell in re.split(" {2,}", line)] for line in done.stdout.splitlines()]
    assert ["demo-child", "35", "1410", "left", "Brisa of the lighthouse (invented)"] in rows
    assert ["name", "mass, kg", "height, mm", "leg", "who it is"] in rows
    assert [row[1] for row in rows if row[0] in ("walking-envelope", "borrowed-proof")] == [
        "no yield", "holds"]
    assert "walking-envelope if left out" in done.stdout
    assert ["ribbed-polypropylene-child-surface", "one left leg, never resized"] in [
        row[:2] for row in rows]


def test_every_purpose_of_a_load_set_has_its_words():
    assert cli_list.PURPOSES.keys() == set(get_args(Purpose))


def closed_pipe(arguments, prelude=""):
    """Run the command line into a pipe that nobody reads; status and the error stream."""
    code = f"import sys; from fea import cli\n{prelude}\nsys.exit(cli.run({list(arguments)!r}))"
    reading, writing = os.pipe()
    os.close(reading)
    try:
        done = subprocess.run([sys.executable, "-c", code], stdout=writing, stderr=subprocess.PIPE,
                              text=True, timeout=300, check=False)
    finally:
        os.close(writing)
    return done.returncode, done.stderr


def test_a_closed_pipe_ends_the_list_quietly():
    assert closed_pipe(["list"]) == (0, "")


def test_a_closed_pipe_does_not_cost_the_report_nor_the_status(tmp_path):
    prelude = f"""
from pathlib import Path
from types import SimpleNamespace
from typing import get_args
cli._read_inputs = lambda *_, **__: SimpleNamespace(judged=SimpleNamespace(name="leaf"))
cli._assess = lambda *_: SimpleNamespace(verdict="not met")
cli._report = lambda *_: Path({str(tmp_path / "report")!r}).write_text("written")
"""
    status, said = closed_pipe(["check", "leaf", *WHO], prelude)
    assert (status, said) == (1, "… writing the report\n")
    assert (tmp_path / "report").read_text() == "written"


@pytest.mark.parametrize("out", ["file", "file/out", "", " "])
def test_an_impossible_folder_is_refused_before_the_work(tmp_path, monkeypatch, capsys, out):
    (tmp_path / "file").write_text("", encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(cli, "_assess", lambda *_: pytest.fail("solved before refusing"))
    assert cli.run(["check", "aluminium-bars-adult", "--wearer", "demo-adult", "--out", out]) == 2
    said = capsys.readouterr().err
    assert ("choose another folder" if out.strip() else "name one, such as") in said
    assert len(said.splitlines()) == 1


def test_a_step_that_nobody_knows_is_refused_before_the_work(monkeypatch, capsys):
    monkeypatch.setattr(cli, "_assess", lambda *_: pytest.fail("solved before refusing"))
    assert cli.run(["check", "aluminium-bars-adult", "--wearer", "demo-adult", "--step", "no"]) == 2
    assert "typical-step" in capsys.readouterr().err


def test_the_step_is_passed_on(stubbed, monkeypatch):
    stubbed(assessment(0.5, not_checked=False))
    asked = []
    monkeypatch.setattr(cli, "_assess", lambda *given: asked.append(given) or assessment(0.5))
    cli.run(["check", "leaf", *WHO, "--step", "example-laboratory"])
    assert asked[0][1].step == "example-laboratory"


def test_the_verdict_is_shown_even_if_the_report_cannot_be_written(stubbed, capsys, monkeypatch):
    stubbed(assessment(0.5, not_checked=False))

    def full(*_):
        raise UnsupportedError("no space")

    monkeypatch.setattr(cli, "_report", full)
    assert cli.run(["check", "leaf", *WHO]) == 2
    assert "keeps every required factor" in capsys.readouterr().out


def test_the_process_leaves_with_the_status():
    assert stanchion("--version").returncode == 0
    done = stanchion("check", "no-such-device", *WHO)
    assert (done.returncode, done.stdout) == (2, "")


@pytest.mark.slow
def test_a_shipped_device_is_judged_from_start_to_report(tmp_path):
    done = stanchion("check", "aluminium-bars-adult", "--wearer", "demo-adult",
                     "--out", str(tmp_path / "out"), NO_COLOR="1", LANG="C", TERM="dumb")
    summary = json.loads((tmp_path / "out" / "summary.json").read_text(encoding="utf-8"))
    assert done.returncode == (0 if summary["verdict"] == "met" else 1), done.stderr
    assert summary["verdict_sentence"] in done.stdout
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == [
        "fields.vtu", "report.html", "report.pdf", "step.csv", "summary.csv", "summary.json"]
    assert "\x1b" not in done.stdout + done.stderr

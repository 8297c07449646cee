# SPDX-License-Identifier: MIT
"""`stanchion bench`: what it prints and writes, its exit status, every mistake at once."""

from dataclasses import replace

import pytest
from benches import CHILD

import fea
from fea import cli

BARE = "bare-two-upright-polypropylene-child"
WHO = ["--mass-kg", "35", "--height-mm", "1410", "--side", "left"]


@pytest.fixture(scope="module")
def result():
    bare = fea.read_device(BARE)
    return fea.bench(bare, CHILD, rig="clamped-calf", size=18.0, large_from_deg=None)


@pytest.fixture
def asked(monkeypatch, result):
    """The bench is not solved anew; what it was asked for is kept."""
    calls = []
    monkeypatch.setattr(cli, "_bench", lambda *given: calls.append(given) or result)
    return calls


def test_it_prints_writes_and_says_that_something_is_not_judged(asked, capsys, tmp_path):
    words = ["bench", BARE, *WHO, "--rig", "clamped-calf", "--out", str(tmp_path)]
    assert cli.run(words) == 1  # torsion passes 8°
    printed = capsys.readouterr().out
    assert "not judged beyond" in printed
    assert str(tmp_path / "bench.png") in printed
    assert "replaces none of them" in printed
    assert asked[0][1] == "clamped-calf"


def test_without_a_folder_nothing_is_written(asked, monkeypatch, tmp_path):
    monkeypatch.chdir(tmp_path)
    cli.run(["bench", BARE, "--wearer", "demo-child"])
    assert list(tmp_path.iterdir()) == []


def test_status_0_where_every_curve_reaches_the_moment(monkeypatch, result, capsys):
    whole = {name: replace(curve, because="") for name, curve in result.curves.items()}
    monkeypatch.setattr(cli, "_bench", lambda *_: replace(result, curves=whole))
    assert cli.run(["bench", BARE, *WHO]) == 0


def test_every_mistake_at_once(capsys):
    assert cli.run(["bench", "no-such-device", "--rig", "no-such-rig"]) == 2
    said = capsys.readouterr().err
    for word in ("no-such-device", "unknown rig 'no-such-rig'", "--mass-kg"):
        assert word in said


def test_the_rigs_are_listed(capsys):
    assert cli.run(["list"]) == 0
    assert "clamped-calf" in capsys.readouterr().out


def test_the_whole_way(capsys, tmp_path):
    words = ["bench", BARE, *WHO, "--rig", "clamped-calf", "--no-large-rotation"]
    assert cli.run([*words, "--out", str(tmp_path)]) == 1
    assert (tmp_path / "bench.json").is_file()
    assert "dorsiflexion" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("words", "angle"),
    [([], 8.0), (["--large-rotation"], 5.0), (["--no-large-rotation"], None)],
)
def test_large_rotation_starts_where_it_is_asked_to(monkeypatch, result, words, angle):
    calls = []
    monkeypatch.setattr(
        "fea.study.bench.bench", lambda *_, **given: calls.append(given) or result
    )
    cli.run(["bench", BARE, *WHO, *words])
    assert calls[0]["large_from_deg"] == angle

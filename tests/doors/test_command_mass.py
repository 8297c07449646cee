# SPDX-License-Identifier: MIT
"""`stanchion check DEVICE --max-mass`: what it prints; the verdict never waits for it."""

from types import SimpleNamespace

import pytest

from fea import cli
from fea.errors import InputError, UnsupportedError

LEAF = SimpleNamespace(name="leaf", verdict="not met")


@pytest.fixture
def margin(monkeypatch):
    """Replace the engineering; what the study does is given."""
    def written(result, folder, study, margin, *_):
        cli.show(f"written with {margin}")
        return "report.html"

    def stub(outcome):
        def study(result, **_):
            assert result is LEAF
            if isinstance(outcome, Exception):
                raise outcome
            return outcome

        monkeypatch.setattr(cli, "_read_inputs", lambda *_, **__: SimpleNamespace(judged=LEAF))
        monkeypatch.setattr(cli, "_assess", lambda *_: LEAF)
        monkeypatch.setattr(cli, "_report", written)
        monkeypatch.setattr("fea.study.margin.margin", study)
        return cli.run(["check", "leaf", "--max-mass"])
    return stub


def test_mass_stands_below_the_verdict_and_in_the_report(margin, capsys):
    assert margin("met up to 41 kg") == 1
    printed = capsys.readouterr().out
    words = ("leaf", "met up to 41 kg", "written with met up to 41 kg", "Caution")
    places = [printed.index(word) for word in words]
    assert places == sorted(places)


def test_a_set_without_a_mass_says_why_and_keeps_the_verdict(margin, capsys):
    assert margin(InputError("load set 'x' is not judged for strength")) == 1
    printed = capsys.readouterr().out
    assert "No largest body mass: load set 'x' is not judged" in printed
    assert "written with None" in printed


def test_a_search_that_fails_costs_neither_verdict_nor_report(margin, capsys):
    assert margin(UnsupportedError("a part can move freely")) == 2
    printed = capsys.readouterr()
    assert "leaf" in printed.out and "written with None" in printed.out
    assert "a part can move freely" in printed.err

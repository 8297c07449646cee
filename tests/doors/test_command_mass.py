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
    def stub(outcome):
        def study(result, **_):
            assert result is LEAF
            if isinstance(outcome, Exception):
                raise outcome
            return outcome

        monkeypatch.setattr(cli, "_read_inputs", lambda *_, **__: SimpleNamespace(device=LEAF))
        monkeypatch.setattr(cli, "_assess", lambda *_: LEAF)
        monkeypatch.setattr(cli, "_report", lambda *_: "report.html")
        monkeypatch.setattr("fea.study.mass.largest_mass", study)
        monkeypatch.setattr("fea.study.sensitivity.sensitivity", lambda *_, **__: "the table")
        return cli.run(["check", "leaf", "--max-mass"])
    return stub


def test_mass_and_table_stand_below_the_verdict(margin, capsys):
    assert margin("met up to 41 kg") == 1
    printed = capsys.readouterr().out
    places = [printed.index(word) for word in ("leaf", "met up to 41 kg", "the table", "Caution")]
    assert places == sorted(places)


def test_a_set_without_a_mass_says_why_and_keeps_the_verdict(margin, capsys):
    assert margin(InputError("load set 'x' is not judged for strength")) == 1
    assert "No largest body mass: load set 'x' is not judged" in capsys.readouterr().out


def test_a_search_that_fails_does_not_cost_the_verdict(margin, capsys):
    assert margin(UnsupportedError("a part can move freely")) == 2
    printed = capsys.readouterr()
    assert "leaf" in printed.out and "a part can move freely" in printed.err

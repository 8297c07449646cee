# SPDX-License-Identifier: MIT
"""`stanchion lightest`: what it reads, prints and writes, and its exit status."""

from pathlib import Path
from types import SimpleNamespace

import pytest

from fea import cli, cli_lightest
from fea.shipped import shipped_names

RIBBED = "ribbed-polypropylene-child"


@pytest.fixture
def sought(monkeypatch):
    """Nothing is solved; what was asked is kept, and the verdict is given."""
    kept = SimpleNamespace(verdict="met", design=None, options=None, folder=None)

    class Found(SimpleNamespace):
        def __str__(self):
            return "the layout"

    def find(design, **options):
        kept.design, kept.options = design, options
        after = None if kept.verdict is None else SimpleNamespace(verdict=kept.verdict)
        return Found(after=after, before=SimpleNamespace())

    def write(result, found, folder):
        kept.folder = folder
        return SimpleNamespace(change=Path(folder, "lightest.toml"), map=None, caption="the map")

    monkeypatch.setattr(cli_lightest, "find", find)
    monkeypatch.setattr(cli_lightest, "gradient", lambda result, progress: "sensitivities")
    monkeypatch.setattr(cli_lightest, "write_lightest", write)
    return kept


@pytest.mark.parametrize(("verdict", "status"), [
    ("met", 0), ("not fully checked", 1), (None, 1),
])  # fmt: skip
def test_the_status_is_that_of_the_lightest(sought, capsys, tmp_path, verdict, status):
    sought.verdict = verdict
    words = ["lightest", RIBBED, "--wearer", "demo-child", "--out", str(tmp_path)]
    assert cli.run(words) == status
    printed = capsys.readouterr().out
    assert printed.index("the layout") < printed.index("sensitivities") < printed.index("Caution")
    assert printed.rstrip().endswith("lightest.toml")
    assert sought.design.device.name == RIBBED and sought.folder == str(tmp_path)
    assert sought.options["most"] == 40 and sought.options["one_sheet"] is False


def test_options_reach_the_search(sought, tmp_path):
    stock = tmp_path / "mine.toml"
    words = ["lightest", RIBBED, "--wearer", "demo-child", "--out", str(tmp_path), "--one-sheet",
             "--stock", str(stock), "--layouts", "12", "--size-mm", "14", "--set", "fz_bw*=1.1",
             "--change", shipped_names("changes")[0]]  # fmt: skip
    assert cli.run(words) == 0
    assert sought.options["stock"] == stock and sought.options["one_sheet"] is True
    assert (sought.options["most"], sought.options["size"]) == (12, 14.0)
    assert sought.design.change is not None
    assert sought.design.loads.changes


def test_a_wrong_wearer_is_told_before_the_work(sought, capsys, tmp_path):
    assert cli.run(["lightest", RIBBED, "--wearer", "nobody", "--out", str(tmp_path)]) == 2
    assert "nobody" in capsys.readouterr().err and sought.design is None

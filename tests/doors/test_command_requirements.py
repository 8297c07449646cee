# SPDX-License-Identifier: MIT
"""`stanchion check DEVICE --requirements FILE --materials FILE`: read, passed on, refused."""

import pytest
from fake_assessment import assessment

from fea import cli

DEVICE = ["check", "aluminium-bars-adult", "--wearer", "demo-adult"]


@pytest.fixture
def asked(monkeypatch, tmp_path):
    """What reaches the engineering, which is replaced."""
    seen = []
    monkeypatch.setattr(cli, "_assess", lambda *given: seen.append(given[0]) or assessment(0.5))
    monkeypatch.setattr(cli, "_report", lambda *_: tmp_path / "report.html")
    return seen


def written(tmp_path, name, text):
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    return str(path)


def test_requirements_and_materials_reach_the_assessment(asked, tmp_path):
    requirements = written(tmp_path, "asked.toml", """
[service]
months = 18
standing_hours_per_day = 9
[numbers]
from_memory = "forbid"
""")
    materials = written(tmp_path, "own.toml", """
[materials.aluminium-7075-t6.properties]
yield_strength_mpa = { value = 480, low = 470, source = "own tests", status = "measured" }
""")
    cli.run([*DEVICE, "--requirements", requirements, "--materials", materials])
    (given,) = asked
    assert given.requirements.service.months == 18.0
    assert given.requirements.factors.standing_hours == 9.0
    assert not given.requirements.allow_memory
    strength = given.device.library["aluminium-7075-t6"].property("yield_strength")
    assert (strength.lower, strength.status) == (470.0, "measured")


def test_without_a_file_the_shipped_service_of_such_a_wearer_counts(asked):
    cli.run(DEVICE)
    cli.run(["check", "ribbed-polypropylene-child", "--wearer", "demo-child"])
    assert [given.requirements.service.months for given in asked] == [36.0, 12.0]


def test_the_mistakes_of_both_files_are_named_at_once(tmp_path, capsys, monkeypatch):
    monkeypatch.setattr(cli, "_assess", lambda *_: pytest.fail("solved before refusing"))
    requirements = written(tmp_path, "asked.toml", "[service]\nmonths = 0\nyears = 3\n")
    materials = written(tmp_path, "own.toml", """
[materials.mine.properties]
yield_strength_mm = { value = 1, source = "practice", status = "practice" }
""")
    assert cli.run([*DEVICE, "--requirements", requirements, "--materials", materials]) == 2
    said = capsys.readouterr().err
    for place in ("service.months", "service.years", "materials.mine", "yield_strength_mm"):
        assert place in said

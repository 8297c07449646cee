# SPDX-License-Identifier: MIT
"""What is asked of a device: shipped answers with their origin, a user's laid over them."""

import pytest

from fea.check.factors import read_factors
from fea.check.requirements import read_requirements
from fea.errors import FileError
from fea.sources import cite


def written(tmp_path, text):
    path = tmp_path / "asked.toml"
    path.write_text(text, encoding="utf-8")
    return path


@pytest.mark.parametrize(
    ("adult", "months", "strides"),
    [(True, 36.0, 6212 / 2), (False, 12.0, 4222.0)],  # Winberg 2014; Bjornson 2007
)
def test_the_shipped_service_is_that_of_adults_and_of_children(adult, months, strides):
    asked = read_requirements(adult=adult)
    assert (asked.service.months, asked.service.strides_per_day) == (months, strides)
    assert asked.allow_memory and asked.factors == read_factors()
    numbers = {"months", "strides_per_day", "stair_strides_per_day", "stumbles_per_day",
               "standing_hours_per_day"}
    assert set(asked.service.origins) == numbers
    for origin in asked.service.origins.values():
        assert cite(origin.source) and origin.status and origin.note
        assert origin.status != "memory-L"


def test_what_the_file_says_replaces_what_is_shipped(tmp_path):
    path = written(tmp_path, """
[service]
months = 18
strides_per_day = { value = 5200, source = "step counter, two weeks", status = "measured" }
[numbers]
from_memory = "forbid"
[factors.model.values]
metal = { value = 1.05, source = "own bench tests 2025", status = "measured" }
""")
    asked = read_requirements(path, adult=False)
    assert asked.service.months == 18.0 and asked.service.strides_per_day == 5200.0
    assert asked.service.origins["months"].status == "given"
    assert asked.service.origins["strides_per_day"].source == "step counter, two weeks"
    assert asked.service.stumbles_per_day == read_requirements().service.stumbles_per_day
    assert not asked.allow_memory
    assert asked.factors.partial("model", "metal").value == 1.05
    assert not any(words.startswith(("months", "strides")) for words in asked.service.doubts)


def test_every_mistake_is_named_at_once(tmp_path):
    path = written(tmp_path, """
[service]
months = 0
standing_hours_per_day = 25
steps = 3
strides_per_day = { value = 10, source = "nowhere", status = "read" }
[numbers]
from_memory = "never"
[factors.luck.values]
metal = { value = 1.1, source = "practice", status = "practice" }
[factors.model.values]
metal = { value = 0.9, source = "practice", status = "practice" }
""")
    with pytest.raises(FileError) as caught:
        read_requirements(path)
    places = {problem.where for problem in caught.value.problems}
    assert places >= {"service.months", "service.standing_hours_per_day", "service.steps",
                      "numbers.from_memory"}
    assert {place.rsplit(".", 1)[0] for place in places} >= {"service.strides_per_day",
                                                              "factors.model.values.metal"}


@pytest.mark.parametrize("value", ['"two"', "true", "[24]"])
def test_a_number_that_is_none_is_told_in_both_of_its_forms(tmp_path, value):
    path = written(tmp_path, f"[service]\nmonths = {value}\n")
    with pytest.raises(FileError, match="must be a number, or { value = …, source = …, status"):
        read_requirements(path)


def test_a_factor_that_would_count_twice_is_refused(tmp_path):
    path = written(tmp_path, '[factors.thinning.values]\n'
                             'metal = { value = 1.3, source = "practice", status = "practice" }\n')
    with pytest.raises(FileError, match="counted twice"):
        read_requirements(path)

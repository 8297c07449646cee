# SPDX-License-Identifier: MIT
"""The terminal table says in words what is met and what is not."""

from fea.check.check import Check, NotChecked
from fea.check.table import checks_table


def check(demand, **changes):
    values = {"topic": "yield", "zone": "shell", "case": "push-off", "place": None,
              "capacity": 30.0, "unit": "MPa", "required": 1.5, "basis": "", "sources": ()}
    return Check(demand=demand, **{**values, **changes})


def test_hardest_first_with_the_word_in_front():
    lines = checks_table([check(10.0), check(25.0, zone="plate")]).splitlines()
    assert lines[2].startswith("NOT MET  yield  plate    25.0      30.0  MPa     1.20      1.50")
    assert lines[3].startswith("met      yield  shell    10.0      30.0  MPa     3.00      1.50")


def test_just_beyond_the_limit_never_reads_as_the_limit():
    line = checks_table([check(20.01)]).splitlines()[2]
    assert "1.49      1.50  100.1 %" in line


def test_what_could_not_be_checked_is_listed_with_the_reason():
    missing = [NotChecked(topic="fatigue", zone="shell", because="no life known; test coupons")]
    assert checks_table([], missing) == "not checked: fatigue, shell: no life known; test coupons"

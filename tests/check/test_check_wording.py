# SPDX-License-Identifier: MIT
"""A rounded number never contradicts the verdict beside it."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fea.check.wording import factor_texts, percent_text, quantity_text

CLOSE = st.floats(0.999, 1.001)


@given(required=st.floats(0.5, 5.0), share=st.one_of(CLOSE, st.floats(0.01, 50.0)))
def test_shown_factors_compare_like_the_exact_ones(required, share):
    factor = required * share
    shown, limit = factor_texts(factor, required)
    assert (Decimal(shown) >= Decimal(limit)) == (factor >= required)
    assert Decimal(shown) <= Decimal(repr(factor))
    assert Decimal(limit) >= Decimal(repr(required)) * (1 - Decimal("1e-11"))


@given(utilisation=st.one_of(CLOSE, st.floats(0.0, 20.0)))
def test_a_shown_percentage_is_on_the_side_of_the_exact_one(utilisation):
    shown = Decimal(percent_text(utilisation).removesuffix(" %"))
    assert (shown > 100) == (utilisation > 1.0)
    assert shown >= Decimal(repr(utilisation)) * 100 * (1 - Decimal("1e-11"))


def test_noise_of_binary_numbers_does_not_raise_a_percentage():
    assert percent_text(0.1 + 0.2) == "30 %"
    assert percent_text(1.0000000000000002) == "100.1 %"


@pytest.mark.parametrize(
    ("factor", "required", "texts"),
    [
        (1.1, 1.1, ("1.10", "1.10")),  # 1.1 * 100 is 110.00000000000001 in binary
        (1.25, 1.2500001, ("1.25", "1.2501")),
        (2.0, 1.15 * 1.2 * 1.3, ("2.00", "1.794")),  # as the product that stands beside it
        (float("inf"), 1.15 * 1.2 * 1.3, ("no demand", "1.794")),
        (0.0, 1.5, ("0.00", "1.50")),
        (float("inf"), 1.5, ("no demand", "1.50")),
    ],
)
def test_factor_examples(factor, required, texts):
    assert factor_texts(factor, required) == texts


@pytest.mark.parametrize(
    ("value", "text"),
    [(0.0, "0"), (9.996, "10.0"), (-31.44, "-31.4"), (1.0, "1.00"), (2.5e-7, "2.50e-07")],
)
def test_quantity_examples(value, text):
    assert quantity_text(value) == text

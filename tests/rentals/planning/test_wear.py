"""Straight-line wear, by a textbook's numbers, and its rule in words."""

from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rentals.planning.wear import WearRule, proposed_charge, whole_months, worth_left

pytestmark = pytest.mark.any_database

# Straight-line depreciation of a printing press in chapter 11 of OpenStax, "Principles of
# Accounting, Volume 1: Financial Accounting": cost 58,000, salvage value 10,000, life 5 years,
# 9,600 a year. The book values at the end of each year follow from it; values from memory.
COST, SALVAGE, LIFE = Decimal(58000), Decimal(10000), 60


@pytest.mark.parametrize(
    ("years", "book_value"),
    [(0, 58000), (1, 48400), (2, 38800), (3, 29200), (4, 19600), (5, 10000)],
)
def test_the_book_values_of_a_textbook(years, book_value):
    assert worth_left(COST, SALVAGE, 12 * years, LIFE) == book_value


def test_after_its_life_a_part_keeps_its_residual_worth():
    assert worth_left(COST, SALVAGE, 400, LIFE) == SALVAGE


@pytest.mark.parametrize(
    ("price", "residual", "age", "life"),
    [(10, 11, 1, 12), (10, -1, 1, 12), (10, 0, -1, 12), (10, 0, 1, 0)],
)
def test_what_cannot_be_is_refused(price, residual, age, life):
    with pytest.raises(ValueError, match=r"cannot be|does not fit"):
        worth_left(Decimal(price), Decimal(residual), age, life)


@pytest.mark.parametrize(
    ("since", "until", "months"),
    [
        (date(2026, 1, 15), date(2026, 1, 31), 0),
        (date(2026, 1, 15), date(2026, 2, 14), 0),
        (date(2026, 1, 15), date(2026, 2, 15), 1),
        (date(2025, 11, 1), date(2027, 2, 1), 15),
        (date(2027, 1, 1), date(2026, 1, 1), 0),
    ],
)
def test_months_are_whole(since, until, months):
    assert whole_months(since, until) == months


def test_the_rule_and_its_sum_stand_in_words():
    rule = WearRule(life_months=36, residual_percent=10)
    proposal = proposed_charge(Decimal(45), 1, rule, "EUR", age_months=12)
    assert proposal.amount == Decimal("31.50")
    assert proposal.words == (
        "Replacement price: €45.00 each. 12 months old of a life of 36 months down to 10 %: €13.50"
        " off for wear, evenly by the month. Proposed: €31.50."
    )


def test_without_a_life_or_an_age_the_whole_price_is_proposed_and_why_is_said():
    no_life = proposed_charge(Decimal(3), 2, WearRule(), "EUR", age_months=5)
    assert no_life.amount == 6 and "No life is set" in no_life.words
    no_age = proposed_charge(Decimal(3), 1, WearRule(12), "EUR")
    assert no_age.amount == 3 and "age is not known" in no_age.words


def test_a_part_that_had_been_damaged_before_is_worth_half():
    proposal = proposed_charge(Decimal(40), 1, WearRule(), "EUR", damaged_before=True)
    assert proposal.amount == 20 and "damaged before: 50 %" in proposal.words


@settings(max_examples=40, deadline=None)
@given(
    st.decimals("0", "9999", places=2),
    st.integers(0, 100),
    st.integers(1, 240),
    st.integers(0, 300),
)
def test_wear_never_adds_and_never_falls_below_the_residual_worth(price, percent, life, age):
    residual = price * percent / 100
    left = worth_left(price, residual, age, life)
    assert residual <= left <= price
    assert worth_left(price, residual, age + 1, life) <= left

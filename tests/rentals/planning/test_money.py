from decimal import Decimal

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from rentals.planning.money import minor_units, money_text, round_money

#: Slow machines are no fault of the rule.
patient = settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])


@pytest.mark.parametrize(
    ("currency", "places"),
    # ISO 4217 minor units (from memory of the published list).
    [("EUR", 2), ("USD", 2), ("GBP", 2), ("CHF", 2), ("JPY", 0), ("KWD", 3), ("BHD", 3)],
)
def test_minor_units_are_those_of_the_published_list(currency, places):
    assert minor_units(currency) == places


@pytest.mark.parametrize(
    ("amount", "currency", "rounded"),
    [
        ("12.345", "EUR", "12.35"),
        ("12.3449", "EUR", "12.34"),
        ("-12.345", "EUR", "-12.35"),
        ("1234.5", "JPY", "1235"),
        ("1.2345", "KWD", "1.235"),
    ],
)
def test_money_is_rounded_to_the_smallest_unit_halves_away_from_zero(amount, currency, rounded):
    assert str(round_money(Decimal(amount), currency)) == rounded


def test_money_is_written_as_the_language_writes_it():
    assert money_text(Decimal("1234.5"), "EUR", "en-gb") == "€1,234.50"
    assert money_text(Decimal("1234.5"), "JPY") == "¥1,235"
    assert money_text(Decimal("1234.5"), "EUR", "de") == "1.234,50\u00a0€"
    assert money_text(Decimal("-85.005"), "EUR") == "-€85.01"


def test_letters_of_a_currency_stand_apart_from_the_digits():
    assert money_text(Decimal("12.5"), "CHF", "en-gb") == "CHF\u00a012.50"
    assert money_text(Decimal("-12.5"), "CHF", "en-gb") == "-CHF\u00a012.50"


def test_letters_that_are_no_currency_are_refused():
    for use in (lambda: money_text(Decimal(1), "EURO"), lambda: round_money(Decimal(1), "XX1")):
        with pytest.raises(ValueError, match="is not a currency"):
            use()


@patient
@given(st.decimals("-999999", "999999", places=4), st.sampled_from(["EUR", "JPY", "KWD", "CHF"]))
def test_rounding_moves_by_at_most_half_a_unit_and_then_no_more(amount, currency):
    rounded = round_money(amount, currency)
    unit = Decimal(1).scaleb(-minor_units(currency))
    assert abs(rounded - amount) <= unit / 2
    assert round_money(rounded, currency) == rounded
    assert round_money(-amount, currency) == -rounded

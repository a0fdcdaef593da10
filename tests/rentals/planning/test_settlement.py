from datetime import date
from decimal import Decimal

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from rentals.planning.money import minor_units, round_money
from rentals.planning.settlement import (
    CHARGED,
    UNDECIDED,
    Claim,
    is_charged,
    is_undecided,
    pay_by,
    replacement_cost,
    settlement,
)

#: Slow machines are no fault of the rule.
patient = settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])

STATES = ("open", "chased", "recovered", "charged", "waived")
CURRENCIES = st.sampled_from(["EUR", "JPY", "KWD", "CHF"])
AMOUNTS = st.decimals("0", "999999", places=3)
CLAIMS = st.lists(
    st.tuples(AMOUNTS, st.sampled_from(STATES)).map(lambda claim: Claim(*claim)), max_size=12
)


def claims(*pairs: tuple[str, str]) -> list[Claim]:
    return [Claim(Decimal(amount), state) for amount, state in pairs]


def test_only_what_is_charged_counts_and_each_claim_is_rounded_first():
    sums = settlement(
        Decimal(150),
        claims(("85.005", "charged"), ("60", "waived"), ("6", "recovered"), ("22", "open")),
        "EUR",
    )
    assert (sums.deposit, sums.charged) == (Decimal("150.00"), Decimal("85.01"))
    assert (sums.refund, sums.to_pay) == (Decimal("64.99"), Decimal("0.00"))
    assert sums.undecided == Decimal("22.00")


def test_what_is_waived_is_borne_by_the_practice_and_all_adds_up_to_the_worth():
    sums = settlement(
        Decimal(150),
        claims(("85.005", "charged"), ("60.004", "waived"), ("6", "recovered"), ("22", "open")),
        "EUR",
    )
    assert (sums.written_off, sums.worth) == (Decimal("60.00"), Decimal("167.01"))


@pytest.mark.parametrize(
    ("settled_on", "days", "day"),
    [
        (date(2027, 2, 20), 14, date(2027, 3, 6)),
        (date(2027, 2, 20), 0, date(2027, 2, 20)),
        (date(2027, 2, 20), None, None),
        (None, 14, None),
    ],
)
def test_the_last_day_to_pay_counts_from_the_settling(settled_on, days, day):
    assert pay_by(settled_on, days) == day


def test_charges_beyond_the_deposit_are_still_to_pay():
    sums = settlement(Decimal(50), claims(("85.005", "charged")), "EUR")
    assert (sums.refund, sums.to_pay) == (Decimal("0.00"), Decimal("35.01"))


def test_a_clean_return_gives_the_whole_deposit_back():
    sums = settlement(Decimal(80), (), "EUR")
    assert (sums.refund, sums.charged, sums.to_pay) == (Decimal("80.00"), 0, 0)


def test_charges_that_eat_the_deposit_up_leave_nothing_on_either_side():
    sums = settlement(Decimal(80), claims(("30", "charged"), ("50", "charged")), "EUR")
    assert (sums.refund, sums.to_pay) == (0, 0)


def test_without_a_deposit_everything_charged_is_to_pay():
    assert settlement(Decimal(0), claims(("12", "charged")), "EUR").to_pay == Decimal("12.00")


def test_rounded_claims_add_up_to_the_total_in_a_currency_without_cents():
    # Three times 100.5 yen: 101 each, 303 in all, and not 302 (the sum 301.5 rounded).
    sums = settlement(Decimal(1000), claims(*[("100.5", "charged")] * 3), "JPY")
    assert (sums.charged, sums.refund) == (Decimal(303), Decimal(697))


def test_a_currency_of_three_places_keeps_them():
    sums = settlement(Decimal("10.5"), claims(("1.2345", "charged")), "KWD")
    assert (str(sums.charged), str(sums.refund)) == ("1.235", "9.265")


def test_a_chased_part_is_as_undecided_as_an_open_one():
    sums = settlement(Decimal(50), claims(("7", "open"), ("8", "chased")), "EUR")
    assert (sums.undecided, sums.refund) == (Decimal("15.00"), Decimal("50.00"))


def test_the_states_divide_into_charged_undecided_and_nothing_to_pay():
    assert [state for state in STATES if is_charged(state)] == [CHARGED]
    assert [state for state in STATES if is_undecided(state)] == list(UNDECIDED)


def test_a_currency_that_is_none_is_refused():
    with pytest.raises(ValueError, match="'EURO' is not a currency"):
        settlement(Decimal(1), (), "EURO")


def test_a_shortfall_is_worth_the_replacement_price_of_each_piece():
    assert replacement_cost(Decimal("2.125"), 3) == Decimal("6.375")
    assert replacement_cost(Decimal(0), 1) == 0
    for price, pieces in ((Decimal(-1), 1), (Decimal(1), 0)):
        with pytest.raises(ValueError, match=r"below zero|at least one piece"):
            replacement_cost(price, pieces)


@patient
@given(AMOUNTS, CLAIMS, CURRENCIES)
def test_deposit_is_what_is_charged_and_goes_back_less_what_is_to_pay(deposit, claims, currency):
    sums = settlement(deposit, claims, currency)
    assert sums.deposit == sums.charged + sums.refund - sums.to_pay
    assert min(sums.refund, sums.to_pay) == 0


@patient
@given(AMOUNTS, CLAIMS, CURRENCIES)
def test_every_sum_is_in_whole_units_and_none_is_below_zero(deposit, claims, currency):
    sums = settlement(deposit, claims, currency)
    for amount in (sums.deposit, sums.charged, sums.refund, sums.to_pay, sums.undecided):
        assert amount >= 0
        assert -amount.as_tuple().exponent == minor_units(currency)


@patient
@given(AMOUNTS, CLAIMS, CURRENCIES)
def test_the_printed_lines_add_up_to_the_printed_totals(deposit, claims, currency):
    sums = settlement(deposit, claims, currency)
    lines = {
        state: sum(round_money(claim.amount, currency) for claim in claims if claim.state == state)
        for state in STATES
    }
    assert sums.charged == lines["charged"]
    assert sums.undecided == lines["open"] + lines["chased"]


@patient
@given(AMOUNTS, CLAIMS, AMOUNTS, CURRENCIES)
def test_one_more_charge_never_gives_more_back(deposit, claims, amount, currency):
    before = settlement(deposit, claims, currency)
    after = settlement(deposit, [*claims, Claim(amount, CHARGED)], currency)
    assert after.refund <= before.refund
    assert after.to_pay >= before.to_pay
    moved = (before.refund - after.refund) + (after.to_pay - before.to_pay)
    assert moved == round_money(amount, currency)


@patient
@given(AMOUNTS, CLAIMS, CURRENCIES)
def test_the_order_of_the_claims_is_of_no_account(deposit, claims, currency):
    forward = settlement(deposit, claims, currency)
    assert forward == settlement(deposit, list(reversed(claims)), currency)

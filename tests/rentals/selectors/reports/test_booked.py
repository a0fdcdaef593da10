"""What the ledger says for reports: what stands, each currency apart."""

from decimal import Decimal

import pytest
from django.db.models import Q

from rentals.accounts import EntryKind
from rentals.actions.balance import give_up_balance
from rentals.actions.ledger import post_entry
from rentals.actions.settle import charge, recover, settle, waive
from rentals.models import Entry, Practice
from rentals.reports.scope import ReportScope
from rentals.selectors.reports.booked import (
    booked_in_all,
    booked_sums,
    other_currencies,
    shortfalls_in,
)
from rentals.selectors.reports.costs import cost_total
from rentals.selectors.reports.losses import losses_by_kind

from .ended import ended_loan

pytestmark = pytest.mark.django_db


def _by_kind(loan):
    return {short.packing_line.part_kind: short for short in loan.shortfalls.all()}


def test_what_was_taken_back_or_given_up_is_borne_by_nobody_else():
    loan = ended_loan("charger", "band", "box")
    lost = _by_kind(loan)
    charge(lost["charger"], Decimal(100))  # 20 above the deposit
    charge(lost["band"], Decimal("6.00"))
    waive(lost["box"], reason="worn anyway")
    recover(lost["band"])  # a charge that is reversed
    post_entry(loan, EntryKind.COMPENSATION_CLAIMED, Decimal(15))
    post_entry(loan, EntryKind.COMPENSATION_RECEIVED, Decimal(12))
    give_up_balance(settle(loan), reason="moved away")
    # Plain sums over the entries, one by one: debit less credit of each account.
    standing = [each for each in Entry.objects.all() if not hasattr(each, "reversed_by")]
    by_hand = {kind: sum(e.amount for e in standing if e.kind == kind) for kind in EntryKind}
    (sums,) = booked_sums(Q(), "loan", "EUR").values()
    assert sums.charged == by_hand[EntryKind.CHARGE] == 100
    assert sums.written_off == by_hand[EntryKind.WAIVED] == 6
    assert sums.given_up == by_hand[EntryKind.GIVEN_UP] == 20
    assert sums.from_students == 80
    assert sums.from_carriers == 12
    assert booked_in_all([sums, sums]).from_carriers == 24
    # Parts of 106 (the band came after all), less 80 and 12; no stock has a price.
    assert cost_total(ReportScope(), None).total == 14


def test_sums_of_two_currencies_are_never_added():
    first = ended_loan("charger", "band")
    waive(_by_kind(first)["charger"], reason="lost by us")
    Practice.objects.update_or_create(pk=1, defaults={"currency": "JPY"})
    second = ended_loan("charger")
    charge(_by_kind(second)["charger"], Decimal(3000))
    sums = booked_in_all(booked_sums(Q(), "loan", "JPY").values())
    assert (sums.charged, sums.written_off) == (3000, 0)
    assert other_currencies(Q(), "JPY") == ["In EUR, not among the sums: written off €22.00."]
    assert {short.loan_id for short in shortfalls_in(Q(), "JPY")} == {second.pk}
    report = losses_by_kind(ReportScope())
    assert report.basis[-1].startswith("In EUR, ")
    assert "1 charged (¥3,000), 1 written off (¥0), 2 not settled yet (¥0)" in report.sentence

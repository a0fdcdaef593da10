"""What the database refuses of the ledger, tried behind the actions' backs."""

from decimal import Decimal

import pytest
from django.db import DatabaseError, IntegrityError, connection, transaction

from rentals import ledger_guard
from rentals.models import Entry, Loan
from tests.emptied import take_guard_down
from tests.factories import assigned_loan

pytestmark = pytest.mark.django_db


@pytest.fixture
def received() -> Entry:
    return assigned_loan().entries.get(kind="deposit_received")


def again(entry: Entry, **changes: object) -> None:
    """Write a copy of an entry with other facts."""
    facts = {
        field.attname: getattr(entry, field.attname)
        for field in Entry._meta.concrete_fields
        if field.attname != "id"
    }
    with transaction.atomic():
        Entry.objects.create(**(facts | changes))


def mirror(entry: Entry, **changes: object) -> None:
    turned = {"debit": entry.credit, "credit": entry.debit, "reverses_id": entry.pk}
    again(entry, **({"kind": "reversal"} | turned | changes))


@pytest.mark.parametrize(
    ("changes", "rule"),
    [
        ({"amount": Decimal(0)}, "entry_amount_above_zero"),
        ({"amount": Decimal(-1)}, "entry_amount_above_zero"),
        ({"debit": "student"}, "entry_between_two_accounts|entry_sides_fit_its_kind"),
        ({"credit": "charges"}, "entry_sides_fit_its_kind"),
        ({"kind": "reversal"}, "entry_reversal_names_its_entry"),
        ({"currency": ""}, "entry_names_its_currency|one currency"),
        ({"currency": "USD"}, "a loan holds one currency"),
    ],
)
def test_an_entry_that_cannot_be_is_refused(received, changes, rule):
    with pytest.raises(IntegrityError, match=rule):
        again(received, **changes)


@pytest.mark.parametrize(
    "change",
    [{"amount": Decimal(1)}, {"day": "2020-01-01"}, {"memo": "other words"}, {"way": "cash"}],
)
def test_what_is_written_stays(received, change):
    with pytest.raises(DatabaseError, match="never changed or deleted"), transaction.atomic():
        Entry.objects.filter(pk=received.pk).update(**change)
    with pytest.raises(DatabaseError, match="never changed or deleted"), transaction.atomic():
        Entry.objects.filter(pk=received.pk).delete()
    assert Entry.objects.get(pk=received.pk).amount == 80


def test_words_about_a_person_can_be_emptied(received):
    again(received, memo="words about a person", kind="payment")
    assert Entry.objects.update(memo="") == 3


def test_a_reversal_mirrors_an_entry_of_its_loan_once(received):
    for false in (
        {"amount": Decimal(79)},
        {"debit": received.debit, "credit": received.credit},
        {"loan_id": assigned_loan().pk},
        {"reverses_id": None, "kind": "reversal"},
    ):
        with pytest.raises(IntegrityError, match=r"mirrors|reversal"):
            mirror(received, **false)
    mirror(received)
    with pytest.raises(IntegrityError, match="reverses"):
        mirror(received)
    reversal = Entry.objects.get(kind="reversal")
    with pytest.raises(IntegrityError, match="mirrors"):
        mirror(reversal)


def test_each_entry_holds_two_postings_that_add_up_to_nothing(received):
    for entry in Entry.objects.all():
        (debit, plus), (credit, minus) = entry.postings
        assert (debit, credit) == (entry.debit, entry.credit)
        assert plus + minus == 0 and plus > 0
    assert str(received) == "deposit received 80.000 EUR"


def test_a_loan_with_a_ledger_is_not_deleted(received):
    with pytest.raises(IntegrityError), transaction.atomic():
        Loan.objects.filter(pk=received.loan_id).delete()


def test_the_guard_is_put_up_again_where_a_migration_took_it_down(received):
    if connection.vendor == "sqlite":
        take_guard_down()
    ledger_guard.put_up_after_migrating(using="default", plan=())
    with pytest.raises(DatabaseError, match="never changed"), transaction.atomic():
        Entry.objects.filter(pk=received.pk).update(amount=1)

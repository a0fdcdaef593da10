"""Pages of money: the list of what is owed, and what is noted on one loan."""

from decimal import Decimal

import pytest
from django.urls import reverse

from rentals.actions.assign import assign
from rentals.actions.dispatch import dispatch
from rentals.actions.settle import charge, settle
from rentals.errors import Refused
from rentals.models import Practice
from rentals.selectors.ledger import loan_sums
from tests.factories import EnrolmentFactory, complete_kit
from tests.rentals.actions.acts import pack_all, shortfall_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def unpaid():
    kit = complete_kit()
    return assign(kit, EnrolmentFactory(run__kit_type=kit.kit_type))


def page(client, name: str, *args: object, **query: str) -> str:
    answer = client.get(reverse(f"rentals:{name}", args=args), query)
    assert answer.status_code == 200
    return " ".join(answer.getvalue().decode().split())


def test_a_deposit_is_noted_from_the_list_and_leaves_it(signed_in, unpaid):
    listed = page(signed_in, "money")
    assert "students owe us" in listed and "deposit that has not come" in listed
    address = reverse("rentals:loan_deposit", args=[unpaid.pk])
    assert address in listed
    assert "Open of it: €80.00." in page(signed_in, "loan_deposit", unpaid.pk)
    refused = signed_in.post(address, {"amount": "81"})
    assert refused.status_code == 422 and "is open of the deposit" in refused.content.decode()
    signed_in.post(
        address, {"amount": "80", "way": "cash", "on": "2024-07-05", "memo": "at the door"}
    )
    assert "Nothing is owed" in page(signed_in, "money")
    loan = page(signed_in, "loan", unpaid.pk)
    assert "cash, at the door" in loan and "bank and cash" in loan and "RF" in loan
    assert "No debt fits" not in loan


def test_the_bench_says_that_a_deposit_lacks_and_the_owner_may_let_it_block(signed_in, unpaid):
    kit = unpaid.kit
    says = "The deposit has not come: €80.00 is open."
    assert says in page(signed_in, "pack_kit", kit.code)
    pack_all(kit)
    assert says in page(signed_in, "pack_kit", kit.code)
    Practice.objects.update_or_create(pk=1, defaults={"deposit_first": True})
    with pytest.raises(Refused, match="The deposit has not come"):
        dispatch(kit)
    Practice.objects.update(deposit_first=False)
    assert dispatch(kit).stage == "away"


def test_a_debt_is_paid_in_part_or_asked_for_no_more(signed_in):
    short = shortfall_of("charger")
    charge(short, Decimal(100))
    loan = settle(short.loan)
    signed_in.post(
        reverse("rentals:loan_paid", args=[loan.pk]),
        {"on": "2024-07-05", "amount": "5", "way": "card"},
    )
    assert loan_sums(loan).to_pay == 15
    address = reverse("rentals:loan_give_up", args=[loan.pk])
    assert "Still to pay: €15.00." in page(signed_in, "loan_give_up", loan.pk)
    assert signed_in.post(address, {"reason": ""}).status_code == 422
    signed_in.post(address, {"reason": "too little"})
    assert loan_sums(loan).to_pay == 0


def test_a_carrier_is_asked_pays_or_does_not(signed_in):
    loan = shortfall_of("charger").loan
    signed_in.post(reverse("rentals:loan_claim", args=[loan.pk]), {"amount": "50", "memo": "wet"})
    assert "carriers owe us" in page(signed_in, "money", who="carriers")
    assert "Not asked for any more: €50.00." in page(signed_in, "loan_not_compensated", loan.pk)
    signed_in.post(
        reverse("rentals:loan_not_compensated", args=[loan.pk]), {"reason": "they refuse"}
    )
    signed_in.post(reverse("rentals:loan_claim", args=[loan.pk]), {"amount": "40"})
    assert "Asked of the carrier: €40.00." in page(signed_in, "loan_compensated", loan.pk)
    signed_in.post(reverse("rentals:loan_compensated", args=[loan.pk]), {})
    assert "Nothing is owed" in page(signed_in, "money")


def test_the_list_leaves_as_a_file_and_today_names_what_presses(signed_in):
    loan = settle(_whole_return())
    for form in ("csv", "xlsx"):
        answer = signed_in.get(reverse("rentals:money_export", args=[form]))
        assert answer.status_code == 200 and f"owed.{form}" in answer["Content-Disposition"]
    assert signed_in.get(reverse("rentals:money_export", args=["pdf"])).status_code == 404
    today = page(signed_in, "today")
    assert "Refunds due" in today and "to be paid back, since" in today
    assert reverse("rentals:loan_paid", args=[loan.pk]) in today
    assert "No debt fits this filter" in page(signed_in, "money", who="carriers")


def _whole_return():
    short = shortfall_of("charger")
    charge(short, Decimal(1))
    return short.loan

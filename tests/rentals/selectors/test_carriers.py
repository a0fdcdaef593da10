"""Carriers to choose from, and the link of a parcel wherever its number stands."""

import pytest
from django.urls import reverse
from django.utils import timezone

from rentals.actions.dispatch import dispatch
from rentals.models import Carrier, Loan
from rentals.post.values import loan_values
from rentals.selectors.carriers import carriers_offered, tracking_url
from rentals.selectors.letters import loan_facts
from tests.factories import packed_loan

pytestmark = pytest.mark.django_db
LINK = "https://parcels.example/track?id=AB%2F12"


@pytest.fixture
def loan() -> Loan:
    address = "https://parcels.example/track?id={number}"
    Carrier.objects.create(name="Parcel post", address_pattern=address)
    return dispatch(packed_loan().kit, tracking_number="AB/12", carrier="parcel post")


def test_what_was_used_comes_first_and_each_name_once(loan):
    Carrier.objects.create(name="Bicycle courier")
    assert carriers_offered() == ["parcel post", "Bicycle courier"]


def test_the_number_is_a_link_on_the_loan_and_on_the_parcel_and_in_the_mail(signed_in, loan):
    assert tracking_url(loan) == LINK
    link = f'<a href="{LINK}" rel="noopener noreferrer">AB/12</a>'
    code = loan.kit.code
    for page in (
        loan.get_absolute_url(),
        reverse("rentals:receive_kit", args=[code]),
        reverse("rentals:pack_kit", args=[code]),
    ):
        assert link in signed_in.get(page).content.decode(), page
    assert loan_values(loan_facts(loan), today=timezone.localdate())["tracking_link"] == LINK


@pytest.mark.parametrize(
    "facts", [{"carrier": "unknown"}, {"carrier": ""}, {"tracking_number": ""}]
)
def test_without_a_known_carrier_or_a_number_there_is_no_link(signed_in, loan, facts):
    Loan.objects.filter(pk=loan.pk).update(**facts)
    loan.refresh_from_db()
    assert tracking_url(loan) == ""
    assert "parcels.example" not in signed_in.get(loan.get_absolute_url()).content.decode()
    assert loan_values(loan_facts(loan), today=timezone.localdate())["tracking_link"] == ""

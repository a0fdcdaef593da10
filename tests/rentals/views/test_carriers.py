"""The page of a carrier says beside the field what its address lacks."""

import pytest
from django.test import Client
from django.urls import reverse

from rentals.models import Carrier

pytestmark = pytest.mark.django_db
ADDRESS = "https://parcels.example/?q={number}"


@pytest.mark.parametrize(
    ("address", "fault"),
    [
        ("https://parcels.example/", "Put {number} once where the tracking number goes."),
        ("parcels.example/{number}", "The address must begin with https://."),
    ],
)
def test_an_address_that_takes_no_number_is_refused_beside_its_field(
    signed_in: Client, address: str, fault: str
) -> None:
    typed = {"name": "Parcel post", "address_pattern": address}
    answer = signed_in.post(reverse("rentals:carrier_new"), typed)
    form = answer.context["form"]
    assert answer.status_code == 422
    assert form.errors == {"address_pattern": [fault]}
    assert form["address_pattern"].value() == address


def test_a_second_carrier_of_one_name_is_refused_in_plain_words(signed_in: Client) -> None:
    typed = {"name": "Parcel post", "address_pattern": ADDRESS}
    signed_in.post(reverse("rentals:carrier_new"), typed)
    again = signed_in.post(reverse("rentals:carrier_new"), typed | {"name": "PARCEL post"})
    assert "A carrier of this name is here already." in again.content.decode()
    assert Carrier.objects.count() == 1

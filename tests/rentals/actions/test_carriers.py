"""Carriers are kept once by name, with an address that takes a number or with none."""

import pytest
from django.db import IntegrityError, transaction

from rentals.actions.carriers import remove_carrier, save_carrier
from rentals.errors import Refused
from rentals.models import Carrier

pytestmark = pytest.mark.django_db
ADDRESS = "https://parcels.example/{number}"


def test_a_carrier_is_kept_once_whatever_its_case():
    carrier = save_carrier(Carrier(name="  Parcel  post ", address_pattern=f" {ADDRESS} "))
    assert (carrier.name, carrier.address_pattern) == ("Parcel post", ADDRESS)
    with pytest.raises(Refused, match="is here already"):
        save_carrier(Carrier(name="parcel POST"))
    carrier.address_pattern = ""
    save_carrier(carrier)
    remove_carrier(carrier)
    assert not Carrier.objects.exists()


def test_an_address_without_a_place_for_the_number_is_refused_beside_its_field():
    with pytest.raises(Refused, match="once") as refusal:
        save_carrier(Carrier(name="Courier", address_pattern="https://parcels.example/"))
    assert refusal.value.field == "address_pattern"


@pytest.mark.parametrize("pattern", ["http://parcels.example/{number}", "https://parcels.example/"])
def test_the_database_takes_no_other_address_either(pattern):
    with pytest.raises(IntegrityError), transaction.atomic():
        Carrier.objects.create(name="Courier", address_pattern=pattern)
    Carrier.objects.create(name="Courier")
    with pytest.raises(IntegrityError), transaction.atomic():
        Carrier.objects.create(name="COURIER")

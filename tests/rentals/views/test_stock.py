"""Counted stock on screen."""

from datetime import date

import pytest
from django.urls import reverse

from rentals.models import ElectrodeBatch, StockItem
from tests.factories import (
    StockItemFactory,
)

pytestmark = pytest.mark.django_db


def test_stock_is_added_restocked_and_counted(signed_in):
    new = {
        "name": "Gel electrodes",
        "kind": "electrodes",
        "by_batch": "on",
        "unit": "pieces",
        "reorder_point": 100,
    }
    signed_in.post(reverse("rentals:stock_new"), new | {"shelf": "A1"})
    item = StockItem.objects.get(name="Gel electrodes")
    page = signed_in.post(
        item.get_absolute_url(), {"quantity": "200", "batch_number": "", "expires_on": ""}
    )
    assert page.status_code == 422
    signed_in.post(
        item.get_absolute_url(),
        {"quantity": "200", "batch_number": "G7", "expires_on": "2031-05-01"},
    )
    batch = ElectrodeBatch.objects.get()
    assert (batch.on_hand, batch.expires_on) == (200, date(2031, 5, 1))
    other = signed_in.post(
        item.get_absolute_url(), {"quantity": "1", "batch_number": "G7", "expires_on": "2032-05-01"}
    )
    assert "check the date" in other.content.decode()
    form = signed_in.get(reverse("rentals:stock_count", args=[item.pk])).context["form"]
    assert form["counted"].value() is None, "a count that nobody made must not stand in the form"
    assert f"{batch.batch_number}, 200 on file" in str(form["batch"])
    count = {"batch": batch.pk, "counted": "190", "reason": "ten torn pouches"}
    signed_in.post(reverse("rentals:stock_count", args=[item.pk]), count)
    assert (
        "counted: 190 (was 200): ten torn pouches"
        in signed_in.get(item.get_absolute_url()).content.decode()
    )
    assert "in stock" in signed_in.get(reverse("rentals:stock")).content.decode()


def test_stock_kept_by_batch_cannot_change_its_ways_while_pieces_lie_there(signed_in):
    item = StockItemFactory(on_hand=5)
    form = {
        "name": item.name,
        "kind": item.kind,
        "by_batch": "on",
        "unit": "pieces",
        "reorder_point": 3,
    }
    answer = signed_in.post(reverse("rentals:stock_edit", args=[item.pk]), form)
    assert answer.status_code == 422
    assert "Count the pieces on hand down to 0" in answer.content.decode()


def test_a_past_expiry_is_questioned_and_nothing_typed_is_lost(signed_in):
    item = StockItemFactory(by_batch=True, on_hand=0)
    address = item.get_absolute_url()
    assert "expired_already" not in signed_in.get(address).content.decode()
    typed = {"quantity": "20", "batch_number": "OLD-7", "expires_on": "2020-01-31"}
    asked = signed_in.post(address, typed)
    shown = asked.content.decode()
    assert asked.status_code == 422
    assert "This day is past" in shown and 'name="expired_already"' in shown
    assert "OLD-7" in shown and "2020-01-31" in shown
    assert not item.batches.exists()
    signed_in.post(address, typed | {"expired_already": "on"})
    assert item.batches.get().on_hand == 20


def test_a_batch_is_corrected_and_its_history_says_how(signed_in):
    item = StockItemFactory(by_batch=True, on_hand=0)
    batch = ElectrodeBatch.objects.create(
        item=item, batch_number="G7", expires_on=date(2031, 5, 1), on_hand=20
    )
    address = reverse("rentals:stock_batch", args=[batch.pk])
    assert address in signed_in.get(item.get_absolute_url()).content.decode()
    assert "2031-05-01" in signed_in.get(address).content.decode()
    typed = {"batch_number": "G8", "expires_on": "2032-05-01", "on_hand": "18", "reason": "torn"}
    after = signed_in.post(address, typed, follow=True).content.decode()
    assert "batch G7 corrected: number G8, expires 1 May 2032 (was 1 May 2031)" in after

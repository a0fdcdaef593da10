"""A form sent twice does nothing twice; sent again with other words, it does what the words say."""

import uuid

import pytest
from django.test import RequestFactory
from django.urls import reverse

from rentals.models import Event, Practice, StockItem
from rentals.web.acting import next_address
from tests.factories import StockItemFactory, complete_kit

pytestmark = pytest.mark.django_db


def test_the_same_form_twice_does_nothing_twice(signed_in):
    item = StockItemFactory(on_hand=10)
    form = {"quantity": "5", "form_key": str(uuid.uuid4())}
    targets = [signed_in.post(item.get_absolute_url(), form).url for _ in range(3)]
    assert StockItem.objects.get().on_hand == 15
    assert set(targets) == {item.get_absolute_url()}


def test_going_back_and_sending_other_words_is_not_swallowed(signed_in):
    form = {
        "name": "Quiet Bow",
        "currency": "EUR",
        "mains_hz": "50",
        "paper": "A4",
        "form_key": str(uuid.uuid4()),
    }
    signed_in.post(reverse("rentals:practice"), form)
    signed_in.post(reverse("rentals:practice"), form | {"name": "Loud Bow"})
    assert Practice.current().name == "Loud Bow"


def test_one_key_in_two_forms_does_both(signed_in):
    kit, key = complete_kit(), str(uuid.uuid4())
    signed_in.post(reverse("rentals:kit_note", args=[kit.code]), {"note": "dusty", "form_key": key})
    signed_in.post(
        reverse("rentals:kit_hold", args=[kit.code]), {"reason": "dusty", "form_key": key}
    )
    assert list(
        Event.objects.filter(kit=kit).order_by("-number").values_list("text", flat=True)[:2]
    ) == [
        "Held: dusty",
        "dusty",
    ]


def test_a_refused_form_can_be_corrected_under_its_key(signed_in):
    item, key = StockItemFactory(on_hand=10), str(uuid.uuid4())
    assert (
        signed_in.post(item.get_absolute_url(), {"quantity": "0", "form_key": key}).status_code
        == 422
    )
    signed_in.post(item.get_absolute_url(), {"quantity": "2", "form_key": key})
    assert StockItem.objects.get().on_hand == 12


def test_a_form_with_a_broken_key_still_works(signed_in):
    item = StockItemFactory(on_hand=10)
    signed_in.post(item.get_absolute_url(), {"quantity": "1", "form_key": "not-a-key"})
    assert StockItem.objects.get().on_hand == 11


@pytest.mark.any_database
@pytest.mark.parametrize(
    "address",
    [
        "//evil.example",
        "///evil.example",
        "/\\evil.example",
        "\\\\evil.example",
        "https:evil.example",
        "https://evil.example/kits/",
        "javascript:alert(1)",
        "\x00//evil.example",
        " //evil.example",
        "/\t/evil.example",
        "http://testserver@evil.example/",
        "x" * 70_000 + "://",
    ],
)
def test_an_act_leads_to_no_other_site(address):
    for ask in (RequestFactory().post, RequestFactory().get):
        assert next_address(ask("/", {"next": address}), "/kits/") == "/kits/"
    assert next_address(RequestFactory().get("/", {"next": "/loans/?q=1"}), "/") == "/loans/?q=1"

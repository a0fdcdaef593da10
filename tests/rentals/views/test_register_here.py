"""A part that is not on file is registered and fitted where it was scanned, with one press."""

import uuid

import pytest
from django.test import Client
from django.urls import reverse

from rentals.actions.register import register_kit
from rentals.models import Kit, Part
from rentals.verify import verify
from tests.factories import KitTypeFactory, complete_kit, spare

pytestmark = pytest.mark.django_db


def scan(client: Client, kit: Kit, text: str, query: str = ""):
    address = reverse("rentals:kit_fit", args=[kit.code]) + query
    return client.post(address, {"part": text, "form_key": str(uuid.uuid4())}, follow=True)


def press(client: Client, offered, **changed: str):
    """Press the button of the offer, on the address where it stands."""
    form = offered.context["form"]
    data = {name: form[name].value() for name in form.fields}
    data |= {"form_key": str(uuid.uuid4()), "next": offered.context["home"]}
    return client.post(offered.request["PATH_INFO"], data | changed, follow=True)


def test_an_unknown_serial_is_registered_and_fitted_with_one_press(signed_in: Client) -> None:
    kit = register_kit(KitTypeFactory())
    page = signed_in.get(kit.get_absolute_url()).content.decode()
    assert 'id="id_part"' in page and f'action="/kits/{kit.code}/fit/"' in page
    for kind in ("amplifier", "licence_key", "lead_set"):
        offered = scan(signed_in, kit, f" {kind}  17 ")
        assert offered.redirect_chain[-1][0].startswith(f"/kits/{kit.code}/register/")
        assert not Part.objects.filter(serial=f"{kind} 17").exists()
        assert f"Serial number {kind} 17 is not on file yet." in offered.content.decode()
        done = press(signed_in, offered)
        assert done.redirect_chain[-1][0] == kit.get_absolute_url()
        part = Part.objects.get(serial=f"{kind} 17")
        assert (part.kind, part.kit) == (kind, kit)
        assert f"{kind} 17 is P" in done.content.decode()
    assert verify() == []


def test_the_same_press_sent_again_does_nothing_twice(signed_in: Client) -> None:
    kit = register_kit(KitTypeFactory())
    key = str(uuid.uuid4())
    offered = scan(signed_in, kit, "A-1")
    for _ in range(2):
        again = press(signed_in, offered, form_key=key)
        assert again.redirect_chain[-1][0] == kit.get_absolute_url()
    assert kit.parts.get().serial == "A-1"
    assert "amplifier" not in dict(
        scan(signed_in, kit, "A-2").context["form"]["kind"].field.choices
    )


def test_the_kind_of_the_line_that_was_pressed_is_proposed_and_can_be_changed(
    signed_in: Client,
) -> None:
    kit = register_kit(KitTypeFactory())
    assert "/fit/?kind=charger" in signed_in.get(kit.get_absolute_url()).content.decode()
    offered = scan(signed_in, kit, "C-1", "?kind=charger")
    assert offered.context["form"]["kind"].value() == "charger"
    press(signed_in, offered, kind="battery_pack")
    assert kit.parts.get().kind == "battery_pack"


def test_what_is_on_file_and_what_has_no_place_is_not_offered(signed_in: Client) -> None:
    kit, full = register_kit(KitTypeFactory()), complete_kit()
    charger = spare("charger", "C-1")
    scan(signed_in, kit, "c-1")
    charger.refresh_from_db()
    assert charger.kit == kit
    assert 'id="id_part"' not in signed_in.get(full.get_absolute_url()).content.decode()
    unoffered = ((full, "new"), (kit, "K0001X"), (kit, ""), (kit, "https://x/y"), (kit, "n" * 61))
    for where, text in unoffered:
        assert scan(signed_in, where, text).status_code == 422
    assert Part.objects.filter(kit=kit).count() == 1


def test_a_refusal_stands_beside_its_field_and_registers_nothing(signed_in: Client) -> None:
    kit = register_kit(KitTypeFactory())
    offered = scan(signed_in, kit, "C-1")
    spare("charger", "C-1")
    refused = press(signed_in, offered, kind="charger")
    assert refused.status_code == 422 and "Serial C-1 is already P" in refused.content.decode()
    assert refused.context["form"]["kind"].value() == "charger"
    again = press(signed_in, offered, kind="spoon", serial="")
    assert set(again.context["form"].errors) == {"kind", "serial"} and not kit.parts.exists()

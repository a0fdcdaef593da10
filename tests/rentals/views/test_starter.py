"""The page of the ready kit type: adjusted, made with one press, nothing typed lost."""

import re
import uuid
from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone

from rentals.forms.starter import StarterForm
from rentals.models import KitType, StockItem
from rentals.planning.starter import STARTER_LINES
from tests.factories import KitTypeFactory

pytestmark = pytest.mark.django_db

PAGE = "/setup/kit-types/starter/"


def as_proposed(**changed: str | None) -> dict[str, str]:
    """What the browser sends as it stands, but for `changed`; None leaves a field out."""
    form = StarterForm()
    fields = {name: form[name].initial for name in form.fields}
    data = {name: "" if value is None else str(value) for name, value in fields.items()}
    data = {name: value.replace("True", "on") for name, value in data.items()}
    sent = {**data, "form_key": str(uuid.uuid4()), **changed}
    return {name: value for name, value in sent.items() if value is not None}


def test_an_empty_desk_offers_it_and_one_press_makes_it(signed_in: Client) -> None:
    for address in ("/", "/setup/kit-types/", "/kits/new/", "/runs/new/"):
        assert PAGE in signed_in.get(address).content.decode()
    data = as_proposed(gel_here="600", gel_batch="GE-1")
    for _ in range(2):
        made = signed_in.post(PAGE, data, follow=True)
    kit_type = KitType.objects.get()
    assert made.redirect_chain[-1][0] == kit_type.get_absolute_url()
    assert kit_type.lines.count() == len(STARTER_LINES)
    assert StockItem.objects.get().batches.get().on_hand == 600
    assert "never pull the wire" in kit_type.instructions


def test_it_stands_beside_kit_types_that_are_there_under_a_free_name(signed_in: Client) -> None:
    KitTypeFactory(contents=False, name="Two-lead kit")
    assert PAGE in signed_in.get("/setup/kit-types/").content.decode()
    assert 'value="Two-lead kit 2"' in signed_in.get(PAGE).content.decode()
    refused = signed_in.post(PAGE, as_proposed(name="two-lead KIT", cable_name="My cable"))
    assert refused.status_code == 422 and "name" in refused.context["form"].errors
    assert 'value="My cable"' in refused.content.decode()


def test_what_is_wrong_stands_beside_its_field_and_nothing_is_lost(signed_in: Client) -> None:
    past = (timezone.localdate() - timedelta(days=1)).isoformat()
    refused = signed_in.post(
        PAGE,
        as_proposed(
            amplifier_quantity="0",
            cable_name="My cable",
            gel_here="600",
            dry_batch="D1",
            swabs_here="9",
            swabs_batch="S1",
            swabs_expires=past,
        ),
    )
    assert refused.status_code == 422 and not KitType.objects.exists()
    wrong = set(refused.context["form"].errors)
    assert wrong == {"amplifier_quantity", "gel_batch", "dry_here", "swabs_expires"}
    shown = refused.content.decode()
    assert 'value="My cable"' in shown and 'value="S1"' in shown
    assert "Gel electrodes: Give the batch number" in shown


def test_lines_left_out_are_not_in_the_way(signed_in: Client) -> None:
    left_out = {f"{line.key}_take": None for line in STARTER_LINES if line.key != "box"}
    signed_in.post(PAGE, as_proposed(**left_out, cable_quantity="", gel_here="x"))
    assert [line.name for line in KitType.objects.get().lines.all()] == ["Shipping box"]
    nothing = signed_in.post(PAGE, as_proposed(**left_out, box_take=None, name="Other"))
    assert "Every line is left out" in nothing.content.decode()


def test_a_serial_can_be_left_and_stock_of_another_kind_is_named(signed_in: Client) -> None:
    signed_in.post(PAGE, as_proposed(charger_serial=None))
    assert KitType.objects.get().lines.get(part_kind="charger").tracked_by == "count"
    StockItem.objects.create(name="Head band", kind="box")
    refused = signed_in.post(PAGE, as_proposed(head_here="3"))
    page = refused.content.decode()
    assert "is on file as box" in page and re.search(r"<details\s+open", page)

"""Kit types and the practice on screen."""

import html

import pytest
from django.urls import reverse

from rentals.actions.pack import tick
from rentals.actions.packing_list import draw_up
from rentals.codes import grouped
from rentals.models import ContentsLine, KitType, Practice
from tests.factories import (
    KitTypeFactory,
    assigned_loan,
    complete_kit,
    packed_loan,
)

pytestmark = pytest.mark.django_db


def test_kit_types_are_built_line_by_line(signed_in):
    for page in ("kit_type_new", "kit_type_starter"):
        words = signed_in.get(reverse(f"rentals:{page}")).content.decode()
        assert "one resistor of 100" in words and "Leave it out in the test plan" in words
    signed_in.post(reverse("rentals:kit_type_new"), {"name": "Trio kit", "active": "on"})
    kit_type = KitType.objects.get()
    new_line = reverse("rentals:contents_line_new", args=[kit_type.pk])
    line = {
        "part_kind": "amplifier",
        "name": "Amplifier",
        "quantity": "1",
        "tracked_by": "serial",
        "comes_back": "on",
        "replacement_price": "240",
        "mass_g": "180",
    }
    assert signed_in.post(new_line, line).url == kit_type.get_absolute_url()
    electrodes = line | {
        "part_kind": "electrodes",
        "name": "Electrodes",
        "tracked_by": "count",
        "single_use": "on",
    }
    refused = signed_in.post(new_line, electrodes)
    assert refused.status_code == 422
    assert "untick one of the two" in refused.content.decode()
    del electrodes["comes_back"]
    signed_in.post(new_line, electrodes)
    wrong = signed_in.post(new_line, electrodes | {"tracked_by": "serial"})
    assert "have serials" in wrong.content.decode()
    first, second = kit_type.lines.all()
    signed_in.post(reverse("rentals:contents_line_move", args=[second.pk]), {"to": "up"})
    assert [row.name for row in kit_type.lines.all()] == ["Electrodes", "Amplifier"]
    signed_in.post(
        reverse("rentals:contents_line", args=[first.pk]), line | {"name": "Main amplifier"}
    )
    assert "Main amplifier" in signed_in.get(kit_type.get_absolute_url()).content.decode()
    signed_in.post(reverse("rentals:contents_line_remove", args=[first.pk]))
    assert kit_type.lines.count() == 1


def test_removing_a_line_names_the_parcels_first_and_is_undone_from_its_notice(signed_in):
    begun = assigned_loan()
    untouched = assigned_loan(complete_kit(begun.kit.kit_type))
    tick(begun.packing_lines.get(name="Wrist band"))
    line = begun.kit.kit_type.lines.get(name="Wrist band")
    address = reverse("rentals:contents_line_remove", args=[line.pk])
    page = signed_in.get(address)
    shown = html.unescape(page.content.decode())
    for loan in (begun, untouched):
        assert f"{grouped(loan.kit.code)}, {loan.enrolment.student.name}" in shown
    assert "1 parcel that is begun goes on packing Wrist band" in shown
    assert ContentsLine.objects.filter(pk=line.pk).exists()
    assert [pk for pk, _ in page.context["form"].fields["also_from"].choices] == [begun.pk]
    after = signed_in.post(address, {}, follow=True)
    assert begun.packing_lines.filter(name="Wrist band").exists()
    assert not untouched.packing_lines.filter(name="Wrist band").exists()
    (notice,) = after.context["messages"]
    assert f'action="{notice.extra_tags}"' in after.content.decode()
    signed_in.post(notice.extra_tags)
    assert untouched.packing_lines.filter(name="Wrist band").exists()
    again = signed_in.post(notice.extra_tags, follow=True)
    assert "back on its list already" in again.content.decode()


@pytest.mark.parametrize(
    ("currency", "shown"), [("EUR", "240.00"), ("JPY", "240"), ("KWD", "240.000")]
)
def test_a_price_is_shown_with_the_decimals_of_its_currency(signed_in, currency, shown):
    """Two, none and three minor digits: ISO 4217 (digits from memory)."""
    Practice.objects.update_or_create(pk=1, defaults={"currency": currency})
    line = complete_kit().kit_type.lines.first()
    ContentsLine.objects.filter(pk=line.pk).update(replacement_price="240")
    address = reverse("rentals:contents_line", args=[line.pk])
    assert str(signed_in.get(address).context["form"]["replacement_price"].value()) == shown
    ContentsLine.objects.filter(pk=line.pk).update(replacement_price="240.125")
    assert str(signed_in.get(address).context["form"]["replacement_price"].value()) == "240.125"


def test_a_changed_contents_list_leaves_frozen_lists_alone():
    loan = packed_loan()
    ContentsLine.objects.filter(kit_type=loan.kit.kit_type).update(name="Something else")
    draw_up(loan.kit)
    assert "Something else" not in loan.packing_lines.values_list("name", flat=True)


def test_the_practice_is_kept_and_its_currency_checked(signed_in):
    form = {"name": "String Room", "currency": "chf", "mains_hz": "50", "paper": "A4"}
    signed_in.post(reverse("rentals:practice"), form)
    assert Practice.current().currency == "CHF"
    answer = signed_in.post(reverse("rentals:practice"), form | {"currency": "XX1"})
    assert "ISO 4217" in answer.content.decode()


def test_the_kit_type_list_takes_the_same_queries_for_2_and_40(
    signed_in, django_assert_max_num_queries
):
    KitTypeFactory.create_batch(2)
    with django_assert_max_num_queries(15) as few:
        signed_in.get(reverse("rentals:kit_types"))
    KitTypeFactory.create_batch(38)
    with django_assert_max_num_queries(len(few.captured_queries)):
        signed_in.get(reverse("rentals:kit_types"))

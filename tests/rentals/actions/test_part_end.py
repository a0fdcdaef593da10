"""When and why a part goes out of use."""

import pytest
from django.urls import reverse
from django.utils import timezone

from rentals.actions.dispatch import dispatch
from rentals.actions.receive import write_off
from rentals.actions.register import mark_damaged, place_part, remove_part, swap_part
from rentals.models import Event, Part
from tests.factories import complete_kit, packed_loan, spare
from tests.rentals.actions.acts import events_after

pytestmark = pytest.mark.django_db


def ended(part):
    part = Part.objects.get(pk=part.pk)
    return part.ended_as, part.ended_on


def test_a_retired_part_keeps_its_cause_and_its_day_until_it_is_a_spare_again():
    today, kit = timezone.localdate(), complete_kit()
    leads = kit.parts.get(kind="lead_set")
    swap_part(kit, leads, spare("lead_set"), to="retired", cause="worn")
    assert ended(leads) == ("worn", today)
    assert Event.objects.filter(part=leads, text__contains="now retired (worn out)").exists()
    place_part(leads.code, "spare")
    assert ended(leads) == ("", None)
    place_part(leads.code, "repair", cause="worn")
    assert ended(leads) == ("", None)


def test_what_is_not_said_follows_from_the_part():
    today, kit = timezone.localdate(), complete_kit()
    leads = kit.parts.get(kind="lead_set")
    mark_damaged(leads, "torn")
    remove_part(kit, leads, to="retired")
    assert ended(leads) == ("damaged", today)
    place_part(leads.code, "lost", cause="worn")
    assert ended(leads) == ("lost", today)
    other = spare("lead_set")
    place_part(other.code, "retired")
    assert ended(other) == ("", today)
    assert events_after(lambda: place_part(other, "retired", cause="?"), "Choose why") == 0


def test_the_parts_of_a_kit_that_is_written_off_are_lost():
    loan = packed_loan()
    leads = loan.kit.parts.get(kind="lead_set")
    write_off(dispatch(loan.kit).kit, reason="not heard of")
    assert ended(leads) == ("lost", timezone.localdate())


def test_the_page_that_moves_a_part_asks_for_the_cause(signed_in):
    leads = spare("lead_set")
    address = reverse("rentals:part_move", args=[leads.code])
    assert "what ended it" in signed_in.get(address).content.decode()
    signed_in.post(address, {"to": "retired", "cause": "other", "reason": "another model"})
    assert ended(leads)[0] == "other"

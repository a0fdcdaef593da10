"""When and why a part goes out of use."""

from datetime import timedelta

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
    page = signed_in.get(address).content.decode()
    assert "what ended it" in page and "Move or retire lead set" in page
    assert 'value="spare"' not in page and 'value="retired"' in page
    for sent, field in (({"to": "spare", "cause": "worn"}, "to"), ({"to": "repair"}, "cause")):
        answer = signed_in.post(address, {"cause": "worn"} | sent)
        assert (answer.status_code, list(answer.context["form"].errors)) == (422, [field])
    form = {"to": "retired", "cause": "other", "reason": "another model"}
    answer = signed_in.post(address, form, follow=True)
    assert f"Lead set {leads.code}: now retired (another reason)." in answer.content.decode()
    assert ended(leads)[0] == "other"


def test_a_move_that_changes_nothing_is_refused_and_another_cause_keeps_the_day():
    leads = spare("lead_set")
    assert events_after(lambda: place_part(leads, "spare"), "is spare already") == 0
    mark_damaged(leads, "torn")
    assert not place_part(leads, "spare").damaged
    place_part(leads, "retired", cause="worn")
    day = timezone.localdate() - timedelta(days=30)
    Part.objects.filter(pk=leads.pk).update(ended_on=day)
    assert events_after(lambda: place_part(leads, "retired", cause="worn"), "already") == 0
    place_part(leads, "retired", cause="other")
    assert ended(leads) == ("other", day)

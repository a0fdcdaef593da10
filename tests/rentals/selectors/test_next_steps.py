"""Rows become the facts that the table of next acts asks for, and its answers addresses."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from rentals.actions.discard import discard_many
from rentals.actions.dispatch import dispatch
from rentals.actions.issue import hold
from rentals.actions.receive import arrive, finish_check, note_line
from rentals.actions.settle import chase, waive
from rentals.models import Kit, Message
from rentals.selectors.next_steps import (
    kit_situation,
    loan_page_button,
    part_page_button,
    scan_address,
    shortfall_page_button,
)
from tests.factories import assigned_loan, complete_kit, packed_loan, spare
from tests.rentals.actions.acts import all_back, shortfall_of

pytestmark = pytest.mark.django_db


def test_a_scan_leads_to_where_the_kit_is_worked_on_next():
    packing, back, shelf = assigned_loan().kit, packed_loan().kit, complete_kit()
    assert scan_address(packing) == reverse("rentals:pack_kit", args=[packing.code])
    arrive(dispatch(back).kit)
    back.refresh_from_db()
    assert scan_address(back) == reverse("rentals:receive_kit", args=[back.code])
    assert scan_address(shelf) == shelf.get_absolute_url()


def test_a_kits_situation_names_for_whom_it_is_only_with_its_loan():
    loan = assigned_loan()
    alone = kit_situation(loan.kit)
    assert (alone.student, alone.due) == ("", "")
    told = kit_situation(loan.kit, loan, loan.due_on)
    assert (told.student, told.due) == (loan.enrolment.student.name, "due today")
    assert told.run == loan.enrolment.run.name


def test_an_overdue_loan_leads_to_the_newest_draft_that_asks_for_the_kit():
    loan = dispatch(packed_loan().kit)
    overdue = loan.due_on + timedelta(days=1)
    Message.objects.all().delete()
    assert loan_page_button(loan, [], overdue).url.endswith(f"={Message.Occasion.OVERDUE}")
    draft = Message.objects.create(
        loan=loan, occasion=Message.Occasion.OVERDUE, state="draft", drafted_at=timezone.now()
    )
    assert loan_page_button(loan, [], overdue).url == draft.get_absolute_url()


def test_a_shortfall_is_named_on_its_loan_and_ends_with_its_button():
    check = arrive(dispatch(packed_loan().kit).kit)
    all_back(check)
    note_line(check.lines.get(packing_line__part_kind="charger"), "missing")
    finish_check(check)
    loan = check.loan
    loan.refresh_from_db()
    (short,) = loan.shortfalls.all()
    mail = loan.messages.get(occasion="shortfall")
    shown = loan_page_button(loan, [short], timezone.localdate())
    assert (shown.act, shown.url) == ("Read the mail that waits", mail.get_absolute_url())
    discard_many(loan.messages.values_list("pk", flat=True))
    assert loan_page_button(loan, [short], timezone.localdate()).act == "Go to the bench"
    Kit.objects.filter(pk=loan.kit_id).update(state="shelf")
    loan.kit.refresh_from_db()
    shown = loan_page_button(loan, [short], timezone.localdate())
    assert shown.act.endswith(" Charger")
    assert shortfall_page_button(short) is not None
    short = waive(short, reason="worn out")
    assert shortfall_page_button(short) is None


def test_what_came_back_damaged_is_never_offered_as_coming_back(signed_in):
    short = chase(shortfall_of("lead_set", "damaged", damaged_lead="A"))
    assert shortfall_page_button(short).act == "Charge"
    page = signed_in.get(reverse("rentals:shortfall", args=[short.pk])).content.decode()
    assert "Charge" in page and "come back" not in page
    short.kind = "missing"
    assert shortfall_page_button(short).act == "It has come back"


def test_a_part_in_a_kit_leads_to_the_kit_and_a_sound_spare_nowhere():
    kit = complete_kit()
    fitted = part_page_button(kit.parts.first())
    assert fitted.act.endswith(kit.code)
    assert fitted.url == kit.get_absolute_url()
    assert part_page_button(spare("charger")) is None


def test_a_held_kit_is_not_packed_from_its_loans_page():
    loan = assigned_loan()
    today = timezone.localdate()
    open_page = loan_page_button(loan, [], today)
    hold(loan.kit, reason="cracked")
    loan.refresh_from_db()
    assert loan_page_button(loan, [], today) != open_page

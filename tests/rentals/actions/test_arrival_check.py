"""What a student says of the parcel, and what follows from it at the return."""

from datetime import timedelta

import pytest
from django.utils import timezone

from rentals.actions.arrival_check import answer_arrival, send_arrival_check
from rentals.actions.dispatch import note_sent_back
from rentals.actions.draft import draft, draft_on_request
from rentals.actions.receive import arrive, finish_check, note_line, write_off
from rentals.actions.remind import remind
from rentals.errors import Refused
from rentals.models import ArrivalLine, Message, ReminderRule, Shortfall
from rentals.planning.arrival import Arrived
from rentals.selectors.losses import owed_of
from rentals.states import ReturnOutcome
from rentals.verify import verify
from tests.rentals.arrivals import all_here, loan_away, loan_with_arrival

pytestmark = pytest.mark.django_db
MISSING = Arrived(missing=1, note="It was not in its bag.")


def checked(loan, outcome_of):
    """The loan with a finished return check; every other line is back, clean and charged."""
    check = arrive(loan.kit)
    for line in check.lines.exclude(outcome=ReturnOutcome.USED_UP):
        outcome = outcome_of.get(line.packing_line.part_kind, ReturnOutcome.BACK)
        note_line(line, outcome, cleaned=True, charged=True)
    return finish_check(check)


def test_it_is_kept_line_by_line_and_written_into_the_history():
    loan = loan_with_arrival(charger=MISSING)
    assert loan.arrival_check.times_sent == 1
    assert ArrivalLine.objects.count() == loan.packing_lines.count()
    event = loan.events.order_by("pk").last()
    assert event.actor is None and event.text.startswith("The student, on their page: missing")
    assert "Charger" in event.text and verify() == []
    ArrivalLine.objects.filter(missing=1).update(missing=0)
    assert any("arrival" in sentence for sentence in verify())


def test_what_was_missing_on_arrival_is_never_asked_of_the_student():
    loan = loan_with_arrival(charger=MISSING, amplifier=Arrived(damaged=1))
    outcomes = {"charger": ReturnOutcome.MISSING, "amplifier": ReturnOutcome.DAMAGED}
    checked(loan, {**outcomes, "lead_set": ReturnOutcome.MISSING})
    assert [short.packing_line.part_kind for short in loan.shortfalls.all()] == ["lead_set"]
    assert loan.events.filter(text__contains="never asked of the student").count() == 2


def test_a_kit_that_never_comes_back_is_not_asked_for_with_what_never_came():
    loan = loan_with_arrival(charger=MISSING)
    assert not any("Charger" in line for line in owed_of(loan).lines)
    write_off(loan.kit, reason="Stolen.")
    kinds = {short.packing_line.part_kind for short in loan.shortfalls.all()}
    assert "amplifier" in kinds and "charger" not in kinds


def test_damaged_on_arrival_and_lost_later_can_be_asked_for():
    loan = loan_with_arrival(charger=Arrived(damaged=1))
    checked(loan, {"charger": ReturnOutcome.MISSING})
    assert loan.shortfalls.get().kind == Shortfall.Kind.MISSING


def test_it_is_put_right_once_and_then_closed():
    loan = loan_with_arrival(charger=MISSING)
    answer_arrival(loan, "Posted another one.")
    check = send_arrival_check(loan, all_here(loan), note="Found it.")
    assert check.times_sent == 2 and check.answer == "" and check.answered_at is None
    assert not check.lines.filter(missing__gt=0).exists()
    with pytest.raises(Refused, match="closed"):
        send_arrival_check(loan, all_here(loan))


def test_it_is_refused_too_late_and_once_the_kit_is_on_its_way_back():
    loan = loan_away()
    late = timezone.now() + timedelta(days=29)
    with pytest.raises(Refused, match="closed"):
        send_arrival_check(loan, all_here(loan), at=late)
    note_sent_back(loan, timezone.localdate())
    with pytest.raises(Refused, match="closed"):
        send_arrival_check(loan, all_here(loan))


def test_every_line_is_asked_and_no_more_can_lack_than_was_sent():
    loan = loan_away()
    with pytest.raises(Refused, match="whether it is here"):
        send_arrival_check(loan, {})
    with pytest.raises(Refused, match="no more can lack"):
        send_arrival_check(loan, all_here(loan, charger=Arrived(missing=2)))
    assert not ArrivalLine.objects.exists()


def test_the_mail_that_asks_whether_it_arrived_is_not_needed_any_more():
    loan = loan_away()
    mail = draft(Message.Occasion.ARRIVED, loan)
    send_arrival_check(loan, all_here(loan))
    mail.refresh_from_db()
    assert mail.state == Message.State.DISCARDED


def test_the_answer_says_what_was_done():
    loan = loan_away()
    with pytest.raises(Refused, match="not said anything"):
        answer_arrival(loan, "Done.")
    send_arrival_check(loan, all_here(loan, charger=MISSING))
    with pytest.raises(Refused, match="what was done"):
        answer_arrival(loan, " ")
    assert answer_arrival(loan, " Posted another one. ").answer == "Posted another one."


def test_no_reminder_asks_for_what_the_student_has_told_already():
    ReminderRule.objects.create(days=5, moment=ReminderRule.Moment.AFTER_DISPATCH)
    told, silent = loan_with_arrival(), loan_away()
    assert remind(now=timezone.now() + timedelta(days=5)) == 1
    assert not told.messages.filter(occasion=Message.Occasion.ARRIVED).exists()
    assert silent.messages.filter(occasion=Message.Occasion.ARRIVED).exists()
    with pytest.raises(Refused, match="has said what arrived"):
        draft_on_request(Message.Occasion.ARRIVED, told)

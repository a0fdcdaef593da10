"""Own rows are emptied as the list says, others only lose the person's words."""

from decimal import Decimal

import pytest
from django.contrib.sessions.backends.db import SessionStore
from django.utils import timezone

from rentals.actions.erase_rows import empty_rows, may_hold, sweep_rows, sweep_sessions
from rentals.actions.settle import charge
from rentals.models import Entry, Kit, Message, ReturnLine, RosterDraft, Student
from rentals.privacy.sweeping import Person
from tests.factories import CourseRunFactory, StudentFactory, assigned_loan, complete_kit
from tests.rentals.actions.acts import shortfall_of
from tests.rentals.letters import mail_to

pytestmark = pytest.mark.django_db


def test_own_rows_are_emptied_and_counted():
    loan = assigned_loan()
    mail = mail_to("viola@strings.example", loan=loan, facts={"name": "Viola"})
    student = loan.enrolment.student
    counts = empty_rows(student, Person([student.name]))
    mail.refresh_from_db()
    student.refresh_from_db()
    assert (mail.body_text, mail.facts, mail.to_address, mail.state) == ("", {}, "", "draft")
    assert (student.email, student.street) == (f"student-{student.pk}@erased.invalid", "")
    assert (counts["Student"], counts["Message"]) == (1, Message.objects.count())


def test_other_rows_lose_the_words_and_drafts_that_hold_them_go():
    kit, twin = complete_kit(), StudentFactory(note="friend of Mia Lund")
    Kit.objects.filter(pk=kit.pk).update(note="with Mia Lund")
    for words in ("Mia Lund", "Ben Field"):
        RosterDraft.objects.create(
            run=CourseRunFactory(), file_name="a.csv", content=[[words]], at=timezone.now()
        )
    sweep_rows(Person(["Mia Lund"]))
    assert Kit.objects.get(pk=kit.pk).note == "with a student who left"
    assert Student.objects.get(pk=twin.pk).note == "friend of a student who left"
    assert [draft.content for draft in RosterDraft.objects.all()] == [[["Ben Field"]]]


def test_words_about_somebody_also_go_from_what_belongs_to_another_student():
    short = shortfall_of("charger")
    loan = short.loan
    charge(short, Decimal(5), reason="Mia Lund broke it")
    assert Entry.objects.filter(memo__contains="Mia Lund").exists()
    ReturnLine.objects.update(note="Mia Lund had it")
    sweep_rows(Person(["Mia Lund"]))
    short.refresh_from_db()
    assert short.reason == "a student who left broke it"
    assert set(ReturnLine.objects.values_list("note", flat=True)) == {"a student who left had it"}
    assert not Entry.objects.filter(memo__contains="Mia").exists()
    assert loan.enrolment.student.name == Student.objects.get().name


def test_a_word_without_plain_letters_is_looked_for_in_all_rows():
    kit = complete_kit()
    Kit.objects.filter(pk=kit.pk).update(note="für Zoë Müller")
    found = Kit.objects.filter(may_hold(Person(["Zoë Müller"]), Kit, ["note"]))
    assert list(found) == [kit]
    assert not may_hold(Person(["李明"]), Kit, ["note"])


def test_notices_in_sessions_lose_the_words_and_nobody_is_signed_out():
    session = SessionStore()
    session.update({"_auth_user_id": "1", "notice": ["Mia Lund saved."]})
    session.save()
    sweep_sessions(Person(["Mia Lund"]))
    data = SessionStore(session.session_key).load()
    assert data == {"_auth_user_id": "1", "notice": ["a student who left saved."]}

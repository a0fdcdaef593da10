"""A history that was tampered with says so."""

import io

import pytest
from django.core.management import CommandError, call_command

from rentals.actions.record import record_erasure, words_hash
from rentals.models import Event, Kit, Loan, PackingLine
from rentals.verify import verify
from tests.factories import packed_loan

pytestmark = pytest.mark.django_db


@pytest.fixture
def loan() -> Loan:
    loan = packed_loan()
    assert verify() == []
    return loan


@pytest.mark.parametrize("zone", ["Pacific/Auckland", "America/St_Johns"])
def test_the_zone_of_the_practice_changes_nothing(loan, zone, settings):
    settings.TIME_ZONE = zone
    assert verify() == []


def test_an_edited_line_shows(loan):
    event = Event.objects.filter(kit=loan.kit)[3]
    Event.objects.filter(pk=event.pk).update(text="Nothing happened.")
    assert verify() == [f"{loan.kit.code}: event {event.number} was changed after it was written."]


def test_words_without_their_salt_hold_only_beside_their_erasure(loan):
    event = Event.objects.filter(kit=loan.kit)[3]
    plain = "Packed for a student who left."
    Event.objects.filter(pk=event.pk).update(text=plain, words_salt="")
    assert len(verify()) == 1
    record_erasure(1, "Erased.", words={str(event.pk): words_hash("", "Others.")})
    assert len(verify()) == 1
    record_erasure(1, "Erased.", words={str(event.pk): words_hash("", plain)})
    assert verify() == []


def test_a_removed_line_shows(loan):
    event = Event.objects.filter(kit=loan.kit)[3]
    event.delete()
    assert any(f"event {event.number} is missing" in fault for fault in verify())


def test_a_removed_last_line_shows(loan):
    Event.objects.filter(kit=loan.kit).last().delete()
    assert any("its chain ends at" in fault for fault in verify())


def test_a_state_that_no_event_made_shows(loan):
    Kit.objects.filter(pk=loan.kit_id).update(state="shelf")
    assert verify() == [f"{loan.kit.code}: on file as shelf, its events say packed."]


def test_a_frozen_packing_list_that_changed_shows(loan):
    PackingLine.objects.filter(loan=loan, part_kind="amplifier").update(serial="another")
    assert any("was changed after it was frozen" in fault for fault in verify())


def test_the_command_says_so_and_fails(loan):
    out = io.StringIO()
    call_command("verify", stdout=out)
    assert "All in order: 1 kit," in out.getvalue()
    Kit.objects.filter(pk=loan.kit_id).update(state="shelf")
    with pytest.raises(CommandError, match="1 fault in 1 kit, "):
        call_command("verify", stdout=out)

"""The same samples offered again in another file."""

import pytest
from django.utils import timezone

from readiness.actions.answer import score_again, set_aside
from readiness.actions.upload import store_upload
from readiness.models import Capture, CaptureMark
from rentals.models import Kit
from tests.factories import complete_kit
from tests.readiness.captures import capture_bytes, capture_file

pytestmark = pytest.mark.django_db


def offered(kit, test="still", *, edf=True, **facts):
    """The still of seed 1 as another file."""
    data = capture_bytes("still", kit=kit.code, edf=edf, **facts)
    data = data.replace(b"test=still", b"test=" + test.encode().ljust(5)) if edf else data
    return store_upload([capture_file(f"other {test}.edf", data)]).captures.get()


def test_for_another_kit_they_are_not_scored_and_name_the_first(capture):
    again = offered(complete_kit(cleared=False))
    assert again.status == Capture.Status.UNREADABLE
    assert "another file, but its samples are those of a.csv" in again.refusal
    assert "One capture proves one kit once" in again.refusal
    assert not again.verdicts.exists() and CaptureMark.objects.count() == 1


def test_the_same_test_of_the_same_round_may_come_in_another_form(capture):
    assert offered(capture.kit).status == Capture.Status.SCORED


def test_in_a_later_round_they_are_refused(capture):
    Kit.objects.filter(pk=capture.kit_id).update(returned_at=timezone.now())
    assert offered(capture.kit).status == Capture.Status.UNREADABLE


def test_what_a_capture_set_aside_held_may_be_offered_to_the_right_kit(capture):
    again = offered(complete_kit(cleared=False))
    set_aside(capture, "It was recorded with the other kit.")
    score_again(again)
    again.refresh_from_db()
    assert again.status == Capture.Status.SCORED

"""The history is verified once a week by a worker, and what that found is noted."""

from datetime import timedelta
from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.utils import timezone

from kitdesk.lasting_worker import beat
from kitdesk.watching import weekly
from rentals.models import Kit, Verification
from tests.factories import complete_kit

pytestmark = pytest.mark.django_db


def _counts() -> list[int]:
    return list(Verification.objects.order_by("at").values_list("faults", flat=True))


def test_it_is_asked_for_once_a_week_and_only_of_a_living_worker():
    weekly.verify_weekly()
    assert _counts() == []
    beat("1")
    weekly.verify_weekly()
    weekly.verify_weekly()
    assert _counts() == [0]
    Verification.objects.update(at=timezone.now() - timedelta(days=8))
    weekly.verify_weekly()
    assert _counts() == [0, 0]


def test_what_a_second_look_does_not_find_was_somebody_at_work(monkeypatch):
    looks = [["K1: moved meanwhile.", "K2: changed."], ["K2: changed."]]
    monkeypatch.setattr(weekly, "verify", lambda heads, **_: looks.pop(0))
    assert weekly.verify_by_itself.call() == 1
    assert _counts() == [1]


def test_the_command_notes_what_it_found():
    kit = complete_kit()
    call_command("verify", stdout=StringIO())
    Kit.objects.filter(pk=kit.pk).update(state="retired")
    with pytest.raises(CommandError):
        call_command("verify", stdout=StringIO())
    clean, faulty = _counts()
    assert clean == 0 and faulty > 0

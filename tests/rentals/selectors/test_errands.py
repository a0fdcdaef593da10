"""Which work in the background a page shows, and what it says where nothing moves."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.utils import timezone

from rentals.models import Errand
from rentals.selectors.errands import delay_words, errands_about, errands_of
from rentals.states import ErrandState
from tests.factories import UserFactory

pytestmark = pytest.mark.django_db


def _errand(**facts: object) -> Errand:
    usual = {"kind": "verify", "title": "Check", "about": "/a/", "seen_by": "/a/"}
    return Errand.objects.create(**{"asked_at": timezone.now(), **usual, **facts})


def test_a_page_shows_what_is_open_and_what_has_just_ended(owner):
    now = timezone.now()
    person = UserFactory()
    long_ago, just_now = now - timedelta(days=1), now - timedelta(hours=1)
    _errand(asked_by=person, state=ErrandState.DONE, ended_at=long_ago)
    ended = _errand(asked_by=person, state=ErrandState.DONE, ended_at=just_now)
    waiting = _errand(asked_by=person, asked_at=long_ago)
    others = _errand(asked_by=owner)
    _errand(asked_by=person, about="/b/")
    assert errands_about("/a/", person) == [waiting, ended]
    assert errands_about("/a/", owner) == [others, waiting, ended]
    assert errands_of(person).count() == 4 and errands_of(owner).count() == 5


def test_what_does_not_move_says_why():
    now = timezone.now()
    ago = now - timedelta(minutes=2)
    assert delay_words(_errand(), now) == ""
    assert "waits for a worker" in delay_words(_errand(asked_at=ago), now)
    at_work = {"state": ErrandState.WORKING, "asked_at": ago}
    assert delay_words(_errand(claimed_at=now, **at_work), now) == ""
    assert "Nothing was heard of it" in delay_words(_errand(claimed_at=ago, **at_work), now)
    assert delay_words(_errand(state=ErrandState.DONE, asked_at=ago), now) == ""

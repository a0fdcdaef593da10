"""A process that answers has read the day's facts before somebody asks."""

from __future__ import annotations

import threading
from collections.abc import Callable
from datetime import timedelta

import pytest
import time_machine
from django.db import DatabaseError, connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from kitdesk import warming
from rentals.selectors import today
from rentals.selectors.today import work_today
from tests.factories import packed_loan


class Rounds:
    """Stands for the event that stops the warming: it waits by doing something, and stops after so
    many rounds.
    """

    def __init__(self, *acts: Callable[[], object]) -> None:
        self._acts = list(acts)

    def is_set(self) -> bool:
        return not self._acts

    def wait(self, seconds: float) -> None:
        assert seconds == warming.LOOK_EVERY_S
        self._acts.pop(0)()


@pytest.fixture
def read(monkeypatch: pytest.MonkeyPatch) -> list[object]:
    """The days whose work was read."""
    days: list[object] = []

    def noted(day) -> object:
        days.append(day)
        return work_today(day)

    monkeypatch.setattr(today, "work_today", noted)
    return days


@pytest.mark.django_db(transaction=True)
def test_the_days_work_is_there_when_somebody_asks():
    packed_loan()
    warmed, stopped = threading.Event(), threading.Event()
    thread = threading.Thread(target=_until_warm, args=[stopped, warmed])
    thread.start()
    assert warmed.wait(60)
    stopped.set()
    thread.join(60)
    with CaptureQueriesContext(connection) as seen:
        assert work_today(timezone.localdate())
    assert len(seen) == 1


def _until_warm(stopped: threading.Event, warmed: threading.Event) -> None:
    warming.keep_warm(Rounds(warmed.set))
    stopped.wait(60)


@pytest.mark.django_db(transaction=True)
def test_each_day_is_read_once(read):
    with time_machine.travel("2027-03-30 21:00:00+00:00", tick=False) as clock:
        first = timezone.localdate()
        stay, on = lambda: None, lambda: clock.shift(timedelta(days=1))
        warming.keep_warm(Rounds(stay, stay, on, stay, on))
    assert read == [first, first + timedelta(days=1)]


@pytest.mark.django_db(transaction=True)
@pytest.mark.any_database
def test_a_database_that_is_away_is_asked_again(monkeypatch, caplog):
    answers = [DatabaseError("away"), None, None]
    asked: list[object] = []

    def away_at_first(day) -> None:
        asked.append(day)
        if problem := answers.pop(0):
            raise problem

    monkeypatch.setattr(today, "work_today", away_at_first)
    warming.keep_warm(Rounds(lambda: None, lambda: None, lambda: None))
    assert len(asked) == 2
    assert "could not be read yet: away" in caplog.text


@pytest.mark.any_database
def test_it_runs_beside_the_answering_where_it_is_wanted(monkeypatch, settings):
    began = threading.Event()
    monkeypatch.setattr(warming, "keep_warm", lambda stopped: began.set())
    before = threading.active_count()
    warming.start_warming()
    assert threading.active_count() == before and not began.is_set()
    settings.KITDESK_WARMING = True
    warming.start_warming()
    assert began.wait(60)

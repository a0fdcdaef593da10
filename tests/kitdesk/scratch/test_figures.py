"""Figures of workers and drops: what counts in a rate, when a goal is judged, what holds a lock."""

from datetime import UTC, datetime, timedelta

import pytest
from django.db import transaction

from kitdesk.scratch import load
from kitdesk.scratch.drop import DropSpeed
from kitdesk.scratch.lines import drop_lines, rescore_line, workers_lines
from kitdesk.scratch.load import LoadWatch
from kitdesk.scratch.lock_watch import LockWatch
from kitdesk.scratch.workers import WorkersSpeed, rate_of
from readiness.signal.study.speed import Ratio
from rentals.models import Practice

BEGAN = datetime(2026, 11, 2, 9, tzinfo=UTC)


def task(who: str, begin_s: float, end_s: float, captures: int = 12):
    return who, BEGAN + timedelta(seconds=begin_s), BEGAN + timedelta(seconds=end_s), captures


def test_a_rate_counts_only_while_all_are_at_work():
    one = [task("a", 0, 2), task("a", 2, 4)]
    assert rate_of(one, 1) == pytest.approx(6.0)
    # The second comes a second late and has work for two seconds more.
    assert rate_of([*one, task("b", 1, 3), task("b", 3, 6)], 2) == pytest.approx(
        (6 + 12 + 12 + 4) / 3
    )


@pytest.mark.parametrize("tasks", [[task("a", 0, 2)], [task("a", 0, 2), task("b", 3, 4)], []])
def test_a_drop_that_one_worker_has_done_alone_gives_no_rate_of_two(tasks):
    with pytest.raises(RuntimeError, match="ask for more captures"):
        rate_of(tasks, 2)


def speed(two: float, was_busy: bool) -> WorkersSpeed:
    load_words = "load 0.1 before, 2.0 at most, 2 cores"
    turns = [[19.0, 21.0], [two]]
    return WorkersSpeed(20.0, two, turns, 180, 50.0, 15.0, load_words, was_busy, "SQLite")


@pytest.mark.parametrize(
    ("two", "was_busy", "verdict"),
    [
        (37.0, False, "met"),
        (30.0, False, "MISSED"),
        (30.0, True, "not judged"),
        (37.0, True, "met"),
    ],
)
def test_a_ratio_is_judged_unless_others_kept_the_machine_busy(two, was_busy, verdict):
    lines = list(workers_lines(speed(two, was_busy)))
    assert "20.0 captures a second  (turns 19.0, 21.0)" in lines[0]
    assert f"{two / 20:.2f} x  goal >= 1.8 x: {verdict}  (180 captures a turn on SQLite" in lines[2]
    # Two that meet in three tenths of their time: 2 / (1 + 0.09).
    assert "1.83 x  (a capture takes 50.0 ms, of these 15.0 in transactions)" in lines[3]
    again = Ratio("rescore", two / 20, 1.8, "x", "made up", at_least=True)
    assert f": {verdict}  (made up)" in rescore_line(again, was_busy=was_busy)


@pytest.mark.parametrize(
    ("waited_s", "was_busy", "verdict"),
    [(0.2, False, "met"), (0.6, False, "MISSED"), (0.6, True, "not judged")],
)
def test_what_a_drop_makes_others_wait_is_said_beside_its_goal(waited_s, was_busy, verdict):
    said = DropSpeed(400, waited_s, 90, 0.15, 0.12, 1, "load 0.1", was_busy, "SQLite")
    first, second = drop_lines(said)
    assert f"{waited_s:.2f} s  goal <= 0.5 s: {verdict}  (90 notes by another process" in first
    assert "0.15 s  (of 1; 0.12 s of processor time)" in second


@pytest.mark.parametrize(
    ("before", "most", "busy"), [(0.1, 2.3, False), (3, 3, True), (0, 5, True)]
)
def test_a_machine_is_busy_before_or_meanwhile(monkeypatch, before, most, busy):
    monkeypatch.setattr(load.os, "getloadavg", lambda: (before, 0, 0))
    with LoadWatch(own=2) as watch:
        watch.most = most
    assert watch.busy is busy
    assert watch.words.endswith("the machine was busy") is busy


@pytest.mark.django_db(transaction=True)
def test_each_outermost_transaction_is_timed_and_nothing_after():
    with LockWatch() as watch:
        Practice.objects.count()
        with transaction.atomic(), transaction.atomic():
            Practice.objects.count()
        with pytest.raises(ZeroDivisionError), transaction.atomic():
            raise ZeroDivisionError
    with transaction.atomic():
        pass
    assert len(watch.held) == len(watch.processor) == 2
    assert all(seconds > 0 for seconds in watch.held)

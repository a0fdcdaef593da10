"""What `manage.py speed --workers` and `--drop` say, and whether their goals are met."""

from __future__ import annotations

from collections.abc import Iterator

from kitdesk.scratch.drop import DropSpeed
from kitdesk.scratch.workers import WorkersSpeed
from readiness.signal.study.speed import Ratio

#: How many times the rate of one worker two have on two free cores.
TWICE = 1.8
#: Seconds that nobody waits longer for a drop.
WAIT_S = 0.5


def judged(met: bool, *, was_busy: bool) -> str:
    """Whether a goal is met; of a machine that others kept busy that cannot be told."""
    if met:
        return "met"
    return "not judged" if was_busy else "MISSED"


def workers_lines(speed: WorkersSpeed) -> Iterator[str]:
    """The rates of one worker and of two, their ratio, and what it would be by processor time."""
    for words, rate, turns in (
        ("One worker", speed.one, speed.turns[0]),
        ("Two workers", speed.two, speed.turns[1]),
    ):
        each = ", ".join(f"{turn:.1f}" for turn in turns)
        yield f"{words:<40} {rate:6.1f} captures a second  (turns {each})"
    verdict = judged(speed.ratio >= TWICE, was_busy=speed.was_busy)
    yield (
        f"{'Two workers / one':<40} {speed.ratio:6.2f} x  goal >= {TWICE:g} x: {verdict}"
        f"  ({speed.captures} captures a turn on {speed.database}; {speed.load})"
    )
    yield (
        f"{'The same by processor time':<40} {speed.reckoned:6.2f} x  (a capture takes"
        f" {speed.ms:.1f} ms, of these {speed.in_transactions_ms:.1f} in transactions)"
    )


def rescore_line(again: Ratio, *, was_busy: bool) -> str:
    """The same of stored captures that are scored again."""
    verdict = judged(again.met, was_busy=was_busy)
    return (
        f"{again.words:<40} {again.value:6.2f} x  goal >= {again.goal:g} x: {verdict}"
        f"  ({again.detail})"
    )


def drop_lines(speed: DropSpeed) -> Iterator[str]:
    """How long others waited for a drop, and how long it held the database."""
    verdict = judged(speed.waited_s <= WAIT_S, was_busy=speed.was_busy)
    yield (
        f"{f'Longest wait during a drop of {speed.files} files':<40} {speed.waited_s:6.2f} s"
        f"  goal <= {WAIT_S:g} s: {verdict}  ({speed.notes} notes by another process on"
        f" {speed.database}; {speed.load})"
    )
    yield (
        f"{'Longest transaction of the drop':<40} {speed.held_s:6.2f} s  (of"
        f" {speed.transactions}; {speed.held_processor_s:.2f} s of processor time)"
    )

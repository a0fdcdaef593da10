"""When a round began, and why a capture does not count in it."""

from datetime import UTC, datetime, timedelta
from types import SimpleNamespace

import pytest

from readiness.judgement.rounds import Since, at_the_bench, not_counted, since_of

RETURNED = datetime(2026, 11, 2, tzinfo=UTC)
DAY = timedelta(days=1)


def capture(taken, set_aside=""):
    return SimpleNamespace(taken=taken, set_aside=set_aside)


def kit(state="shelf"):
    return SimpleNamespace(state=state, get_state_display=lambda: "away")


@pytest.mark.parametrize(
    ("returned", "fitted", "since"),
    [
        (None, None, Since(None, "it was registered")),
        (RETURNED, None, Since(RETURNED, "its last return")),
        (None, RETURNED, Since(RETURNED, "the last part was fitted")),
        (RETURNED, RETURNED + DAY, Since(RETURNED + DAY, "the last part was fitted")),
        (RETURNED, RETURNED - DAY, Since(RETURNED, "its last return")),
        (RETURNED, RETURNED, Since(RETURNED, "its last return")),
    ],
)
def test_a_round_begins_with_the_later_of_return_and_fitting(returned, fitted, since):
    assert since_of(returned, fitted) == since


def test_a_kit_that_is_away_is_not_at_the_bench():
    assert at_the_bench(kit("bench"))
    assert not at_the_bench(kit("away"))


@pytest.mark.parametrize(
    ("taken", "aside", "state", "words"),
    [
        (RETURNED, "", "shelf", ""),
        (RETURNED + DAY, "", "shelf", ""),
        (RETURNED - DAY, "", "shelf", "Taken before its last return"),
        (RETURNED, "Bar was dirty.", "shelf", "Set aside: Bar was dirty."),
        (RETURNED, "", "away", "captures count when it is at the bench"),
    ],
)
def test_why_a_capture_does_not_count(taken, aside, state, words):
    since = Since(RETURNED, "its last return")
    sentence = not_counted(capture(taken, aside), kit(state), since)
    assert words in sentence
    assert bool(sentence) == bool(words)

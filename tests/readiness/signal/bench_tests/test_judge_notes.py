"""What readers noticed, as findings of the test that is judged."""

import numpy as np
import pytest

from readiness.signal.bench_tests.judge_notes import note_findings
from readiness.signal.bench_tests.view import View
from readiness.signal.capture import Note
from readiness.signal.limits import Limits
from tests.readiness.signal.made import capture_of, quiet

T = np.arange(10240) / 1024
QUIET = quiet(np.random.default_rng(1))
RANGE = (-500.0, 500.0)


def findings(test: str, *notes: Note, x: np.ndarray = QUIET, rate: float = 1024.0):
    view = View(capture_of(x, test, rate=rate, full_scale=RANGE), Limits(), test)
    found, blocked = note_findings(notes, view)
    return {(item.code, item.verdict) for item in found}, blocked


def note(code: str, start_s: float | None = None) -> Note:
    return Note(code, "Seen.", start_s)


def test_a_note_that_is_no_finding_is_left_alone():
    assert findings("still", note("trailing_bytes")) == (set(), False)


@pytest.mark.parametrize("code", ["dead_channel", "wrong_scale", "missing_samples", "time_base"])
def test_after_some_there_is_nothing_to_measure(code):
    found, blocked = findings("still", note(code))
    assert blocked and {seen for seen, _ in found} == {code}


@pytest.mark.parametrize("code", ["saturated", "clipped"])
def test_a_rail_is_the_kit_s_where_nothing_moves(code):
    assert findings("still", note(code)) == ({(code, "not fit")}, True)
    for test in ("flex", "lift"):
        assert findings(test, note(code)) == (set(), False)


def test_a_rail_of_the_room_or_of_an_open_lead_is_tested_again():
    swinging = np.clip(900 * np.sin(2 * np.pi * 50 * T), *RANGE)
    assert findings("still", note("clipped"), x=swinging) == ({("open_lead", "retest")}, True)
    humming = QUIET + np.minimum(900 * np.sin(2 * np.pi * 50 * T) + 400, 500) - 450
    expected = ({("bench_interference", "retest")}, True)
    assert findings("still", note("saturated"), x=humming * 0.9) == expected


def test_a_trace_that_stands_still_while_a_lead_is_lifted_is_that_lead():
    assert findings("lift", note("dead_channel", 3.0)) == (set(), False)
    assert findings("lift", note("dead_channel", 0.5))[1]
    assert findings("flex", note("dead_channel", 3.0))[1]


def test_a_rate_that_leaves_no_band_is_said_first():
    slow = quiet(np.random.default_rng(1), rate=128.0)
    expected = ({("time_base", "retest")}, True)
    assert findings("still", note("dead_channel"), x=slow, rate=128.0) == expected

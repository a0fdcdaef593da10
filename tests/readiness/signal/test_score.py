"""Whole captures and kits through the engine: verdicts and their reasons."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from readiness.signal.capture import Declared
from readiness.signal.errors import CaptureRefused
from readiness.signal.readers import read_capture
from readiness.signal.score import score_capture
from tests.readiness.captures import capture_bytes

from .made import capture_of, codes, model_capture


def test_a_trace_that_stands_still_while_a_lead_is_lifted_is_no_dead_channel():
    """A coarse converter behind a stage at its stop gives one code for as long as the lead is
    up.
    """
    capture = model_capture("lift", seed=6)
    x = np.rint(capture.emg.samples)
    x[round(3.0 * 1024) : round(4.3 * 1024)] = 700.0
    held = score_capture(capture_of(x, "lift"))
    assert not any(code == "dead_channel" for code, _ in codes(held))
    still = np.rint(model_capture("still", seed=6).emg.samples)
    still[3000:4500] = 0.0
    assert ("dead_channel", None) in codes(score_capture(capture_of(still, "still")))


def test_a_test_that_the_operator_names_counts_like_one_the_file_names():
    made = model_capture("worn", seed=5)
    far_off = replace(made.emg, samples=made.emg.samples + 200e3, full_scale=None)
    named = replace(made, channels=(far_off,), emg=far_off)
    by_operator = score_capture(replace(named, test=None), test="worn")
    assert codes(by_operator) == codes(score_capture(named))
    assert ("saturated", None) not in codes(by_operator)


def test_a_capture_of_no_test_is_refused_in_the_words_of_the_readers():
    nameless = model_capture("still", seed=5)
    data = capture_bytes("still", drop=("test",))
    for test in (None, "stll"):
        with pytest.raises(CaptureRefused) as when_scored:
            score_capture(replace(nameless, test=None), test=test)
        with pytest.raises(CaptureRefused) as when_read:
            read_capture("a.csv", data)
        assert when_scored.value.missing == when_read.value.missing == "test"
        assert when_scored.value.sentence == when_read.value.sentence
    followed = read_capture("a.csv", data, Declared(test_follows=True))
    assert followed.test is None
    assert score_capture(followed, test="still").test == "still"

"""Whole captures and kits through the engine: verdicts and their reasons."""

from __future__ import annotations

import numpy as np

from readiness.signal.score import score_capture

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

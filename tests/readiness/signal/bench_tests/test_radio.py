"""What a phone near the bench sends is the room's, in each test and for the kit."""

from dataclasses import replace

import numpy as np
import pytest

from readiness.signal.kit import kit_verdict
from readiness.signal.score import score_capture
from tests.readiness.signal.made import capture_of, codes, model_capture, quiet

pytestmark = pytest.mark.any_database


def with_phone(capture, start_s=6.0, end_s=7.0, uv=80.0):
    """The same with a pulse in each frame of 4.615 ms."""
    times = np.arange(len(capture.emg.samples)) / capture.rate_hz
    pulses = ((times % 0.0046154) < 0.0012) & (times > start_s) & (times < end_s)
    emg = replace(capture.emg, samples=capture.emg.samples + uv * pulses)
    return replace(capture, emg=emg, channels=(emg,), moved=True)


@pytest.mark.parametrize("test", ["still", "flex"])
def test_a_phone_is_the_room_and_no_fault(test):
    result = score_capture(with_phone(model_capture(test, seed=4)))
    assert result.verdict == "retest"
    assert ("bench_interference", None) in codes(result)
    assert not any(code == "intermittent_lead" for code, _ in codes(result))
    assert result.value_of("radio_bursts") == 1


def test_a_lead_that_opens_beside_a_phone_is_still_sent_back():
    capture = with_phone(model_capture("flex", seed=4), 8.3, 9.3)
    x = capture.emg.samples.copy()
    x[round(3.4 * capture.rate_hz) :][:9] += 2500.0
    emg = replace(capture.emg, samples=x)
    found = score_capture(replace(capture, emg=emg, channels=(emg,)))
    assert found.verdict == "retest"
    assert ("intermittent_lead", "A") in codes(found)


def test_bursts_that_come_in_still_too_do_not_blame_a_lead():
    still = quiet(np.random.default_rng(1))
    still[4000:4008] += 60.0
    x = model_capture("flex", seed=4)
    jumps = x.emg.samples.copy()
    jumps[round(3.5 * x.rate_hz) :][:6] += 2500.0
    emg = replace(x.emg, samples=jumps)
    flex = score_capture(replace(x, emg=emg, channels=(emg,), moved=True))
    assert flex.verdict == "not fit"
    alone = kit_verdict({"flex": flex}, ("flex",))
    assert alone.verdict == "not fit"
    both = {"still": score_capture(capture_of(still, "still")), "flex": flex}
    verdict = kit_verdict(both, ("still", "flex"))
    assert verdict.verdict == "retest"

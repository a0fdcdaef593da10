"""A phone keeps time; contacts, noise and what rings after a jump do not."""

import numpy as np
import pytest

from readiness.signal.bench_tests.view import View
from readiness.signal.limits import Limits
from tests.readiness.signal.made import capture_of, quiet
from tests.readiness.signal.second_bench.hands import bounce, mask
from tests.readiness.signal.second_bench.sources import phone_bursts

pytestmark = pytest.mark.any_database


def spans(x, rate):
    return View(capture_of(x, "flex", rate=rate, mains_hz=50.0), Limits(), "flex").trace.clocked


@pytest.mark.parametrize("rate", [1000.0, 2000.0, 4000.0])
def test_a_phone_is_found_where_it_sends(rate):
    rng = np.random.default_rng(8)
    times = np.arange(round(10 * rate)) / rate
    x = quiet(rng, rate=rate)
    x += 60 * (phone_bursts(times, rng) != 0) * ((times > 3) & (times < 9))
    sent = np.flatnonzero(np.abs(x) > 20) / rate
    found = spans(x, rate)
    assert found
    covered = sum(((sent >= low) & (sent <= high)).sum() for low, high in found)
    assert covered > 0.5 * len(sent)


@pytest.mark.parametrize("seed", range(4))
def test_noise_chatter_and_jumps_do_not_keep_time(seed):
    rate, rng = 2000.0, np.random.default_rng(seed)
    times = np.arange(round(10 * rate)) / rate
    x = quiet(rng, rate=rate)
    assert spans(x, rate) == ()
    opens = [span for at in rng.uniform(2.5, 9, 6) for span in (*bounce(at, rng), (at, at + 0.2))]
    assert spans(x + 150.0 * mask(sorted(opens), times), rate) == ()

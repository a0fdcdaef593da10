"""Kits of a bench made apart from the simulator: what must never pass does not."""

import numpy as np
import pytest

from readiness.signal.statistics.decision import FIT
from tests.readiness.signal.second_bench.ailments import NEVER_PASSED
from tests.readiness.signal.second_bench.capturing import draw_kit, trace_of
from tests.readiness.signal.second_bench.figures import exact, never_passed, table
from tests.readiness.signal.second_bench.judging import judge, judge_kits
from tests.readiness.signal.second_bench.noise import judged_band

pytestmark = pytest.mark.any_database


@pytest.mark.parametrize("kind", NEVER_PASSED)
def test_two_kits_with_a_fault_that_must_never_pass(kind):
    seen = [judge(number, 20, case=kind) for number in (0, 1)]
    assert not never_passed(seen), [(kit.number, kit.label) for kit in never_passed(seen)]


@pytest.mark.slow
def test_a_round_of_kits_passes_none_that_must_never_pass_and_some_sound_ones():
    kits = list(judge_kits(42, 11))
    assert not never_passed(kits), table(kits)
    assert any(kit.verdict == FIT for kit in kits if kit.label == "sound")


def test_the_noise_of_a_still_is_what_the_kit_was_drawn_with():
    for number in range(3):
        rng = np.random.default_rng((5, number))
        kit = draw_kit("noisy", rng)
        trace, _ = trace_of(kit, "still", rng)
        low, high = judged_band(kit.front.rate_hz)
        at_hz = np.fft.rfftfreq(len(trace), 1 / kit.front.rate_hz)
        density = np.abs(np.fft.rfft(trace * np.hanning(len(trace)))) ** 2
        density *= 2 / (kit.front.rate_hz * 0.375 * len(trace))
        quiet = (at_hz > low) & (at_hz < high)
        for line in range(10, 500, 10):
            quiet &= np.abs(at_hz - line) > 1.5
        floor = np.sqrt(density[quiet].mean() * (high - low))
        assert floor == pytest.approx(kit.noise_uv, rel=0.25)


def test_exact_intervals_are_those_of_the_tables():
    assert exact(0, 29).startswith("  0.0 % (0.0 to 11.9")
    assert exact(1, 1).endswith("1 of 1)")
    assert exact(0, 0) == "-"

"""Spikes of a drawn trace: what the eye sees, at any rate, and nothing in plain noise."""

from __future__ import annotations

import numpy as np
import pytest

from readiness.signal.leads.spikes import spikes_of
from tests.readiness.signal.made import quiet


@pytest.mark.parametrize("rate", [256.0, 1024.0, 4096.0])
def test_noise_has_no_spike_and_a_spike_is_found_where_it_stands(rate):
    x = quiet(np.random.default_rng(2), 1.0, rate)
    assert spikes_of(x, rate) == []
    assert spikes_of(np.rint(x), rate) == []  # a converter as coarse as its noise
    x = x + 20 * np.sin(2 * np.pi * 50 * np.arange(len(x)) / rate)
    assert spikes_of(x, rate) == []
    at = round(3.2 * rate)
    x[at : at + max(1, round(0.004 * rate))] -= 90.0
    (spike,) = spikes_of(x, rate)
    assert spike.start_s <= 3.2 < spike.end_s and spike.start_s > 3.15
    assert 60 < spike.size_uv < 110


def test_a_swell_or_a_step_is_no_spike_and_gaps_show_nothing():
    t = np.arange(10240) / 1024
    x = quiet(np.random.default_rng(3)) + 40 * np.sin(2 * np.pi * 1.5 * t)
    x[5000:5100] = np.nan
    assert spikes_of(x, 1024.0) == []
    assert spikes_of(np.full(10240, np.nan), 1024.0) == []
    assert spikes_of(np.zeros(20), 1024.0) == []

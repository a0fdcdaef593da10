"""A capture as every reader hands it over."""

import numpy as np
import pytest

from readiness.signal.capture import Channel, Recording


def channel(samples: np.ndarray, role: str = "emg") -> Channel:
    return Channel("emg", role, "uV", 500.0, samples)


def test_samples_are_shared_and_cannot_be_written_over():
    emg = channel(np.arange(5000, dtype=np.int16))
    assert emg.samples.dtype == np.float64
    with pytest.raises(ValueError, match="read-only"):
        emg.samples[0] = 1.0
    assert Recording("a.csv", (emg,), emg, 500.0).duration_s == 10.0


def test_a_channel_is_one_row_of_a_known_role():
    with pytest.raises(ValueError, match="role 'eeg' is none of emg, battery"):
        channel(np.zeros(3), role="eeg")
    with pytest.raises(ValueError, match=r"shape \(2, 3\)"):
        channel(np.zeros((2, 3)))

"""How big, how many and how fast a file may be."""

from __future__ import annotations

import pytest

from readiness.signal.errors import CaptureRefused
from readiness.signal.readers import limits


@pytest.mark.parametrize(
    ("check", "most"),
    [
        (limits.check_size, limits.MAX_BYTES),
        (limits.check_channels, limits.MAX_CHANNELS),
        (limits.check_values, limits.MAX_VALUES),
        (limits.check_rate, limits.MAX_RATE_HZ),
    ],
)
def test_the_limit_itself_is_taken_and_one_more_is_not(check, most):
    check(most)
    with pytest.raises(CaptureRefused):
        check(most + 1)


def test_an_empty_file_is_refused():
    with pytest.raises(CaptureRefused, match="empty"):
        limits.check_size(0)


@pytest.mark.parametrize("rate", [0.0, -500.0, float("inf"), float("nan")])
def test_a_rate_that_cannot_be_is_asked_for(rate):
    with pytest.raises(CaptureRefused) as caught:
        limits.check_rate(rate)
    assert caught.value.missing == "rate"


def test_the_judged_channel_must_hold_the_training_band():
    limits.check_rate_can_be_judged(limits.LOWEST_RATE_HZ + 1)
    with pytest.raises(CaptureRefused, match="holds nothing of the band"):
        limits.check_rate_can_be_judged(limits.LOWEST_RATE_HZ)


def test_a_file_is_read_whole_and_one_that_is_gone_is_named(tmp_path):
    path = tmp_path / "a.csv"
    path.write_bytes(b"emg\n1")
    assert limits.read_bytes(str(path)) == b"emg\n1"
    with pytest.raises(CaptureRefused, match=r"b\.csv is not a file"):
        limits.read_bytes(str(tmp_path / "b.csv"))

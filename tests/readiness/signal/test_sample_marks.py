"""The same samples known again whatever file they stand in, and other recordings never."""

from dataclasses import replace

import numpy as np
import pytest

from readiness.signal.readers import read_capture, write_csv, write_edf
from readiness.signal.sample_marks import is_whole, mark_from, mark_of, may_share, same_samples
from readiness.signal.simulator.captures import Fault
from tests.readiness.signal.made import RATE, SETUP, model_capture

pytestmark = pytest.mark.any_database

RECORDINGS = ("still", "flex", "lift")


@pytest.fixture(scope="module", params=RECORDINGS)
def samples(request):
    return model_capture(request.param, seed=5).emg.samples


def later(changed, samples, rate=RATE):
    mark, earlier = mark_of(changed, rate), mark_of(samples, RATE)
    assert mark and earlier
    return same_samples(mark, earlier)


def test_scaled_turned_over_offset_and_rounded_they_are_the_same(samples):
    for changed in (1e-3 * samples, 7.0 - 3.3 * samples, np.round(samples, 1), np.round(samples)):
        assert later(changed, samples) == 0.0


def test_a_shifted_or_cut_piece_says_where_it_begins(samples):
    assert later(samples[137:], samples) == pytest.approx(137 / RATE, abs=1e-3)
    assert later(samples[1024:], samples) == pytest.approx(1.0, abs=1e-3)
    assert later(samples, samples[1024:]) == pytest.approx(-1.0, abs=1e-3)


def test_as_csv_and_as_edf_they_are_the_same(samples):
    x = np.clip(samples, -4999, 4999)
    files = {
        "a.csv": write_csv(x / 1e3, RATE, unit="mV", test="still"),
        "a.edf": write_edf(x, RATE, test="still"),
    }
    read = [read_capture(name, data) for name, data in files.items()]
    assert later(read[0].emg.samples, read[1].emg.samples, read[0].rate_hz) == 0.0


def test_a_gap_leaves_the_rest_known(samples):
    with_gap = samples.copy()
    with_gap[3000:3500] = np.nan
    assert later(with_gap, samples) == 0.0


def test_a_mark_is_stored_and_read_back(samples):
    mark = mark_of(samples, RATE)
    assert mark is not None
    stored = mark.to_bytes()
    again = mark_from(stored)
    assert np.array_equal(again.states, mark.states) and again.words == mark.words
    assert may_share(mark, stored) and len(stored) < 12_000
    assert is_whole(stored)
    assert not any(is_whole(stored[:end]) for end in (0, 3, 4, 90, len(stored) - 1))
    assert not is_whole(stored + b"\0") and not is_whole(b"\xff" * len(stored))


def test_other_recordings_are_never_the_same_not_even_in_loud_hum_or_coarse_steps():
    loud = replace(SETUP, bits=10)
    marks = []
    for n, test in enumerate(4 * RECORDINGS):
        fault = (Fault("open_lead", 1.0, "A"),) if n % 4 == 3 else ()
        capture = model_capture(test, *fault, seed=40 + n, bits=loud.bits if n % 2 else 16)
        hum = 100 * np.sin(2 * np.pi * 50 * np.arange(len(capture.emg.samples)) / RATE)
        marks.append(mark_of(capture.emg.samples + hum * (n % 3), RATE))
    known = [mark for mark in marks if mark]
    assert len(known) > 8
    pairs = [(a, b) for k, a in enumerate(known) for b in known[:k]]
    assert not [pair for pair in pairs if same_samples(*pair) is not None]


@pytest.mark.parametrize("x", [np.zeros(10_000), np.repeat([0.0, 1.0], 5000), np.zeros(3)])
def test_what_stands_still_has_no_mark(x):
    assert mark_of(x, 1000.0) is None

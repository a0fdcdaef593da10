"""One assembler for every format: the same signal becomes the same capture."""

from __future__ import annotations

import numpy as np
import pytest

from readiness.signal.capture import Declared
from readiness.signal.errors import CaptureRefused
from readiness.signal.readers import read_capture
from readiness.signal.readers.assemble import assemble
from readiness.signal.readers.raw_table import Gaps, RawColumn, RawTable, Readings

from .capture_files import COUNT, RATE, own_form, rows, sound, trace

FACTS = {"test": "still", "rate_hz": "500", "unit": "uV"}


def table(*columns: RawColumn, samples=None, words=FACTS, gaps=None, **more) -> RawTable:
    numbers = samples or tuple(trace(seed=seed) for seed in range(len(columns)))
    readings = Readings(numbers, gaps or Gaps())
    return RawTable("made", columns, words, lambda: readings, **more)


@pytest.mark.parametrize("own_rate", [None, RATE])
def test_a_rate_of_the_format_or_of_the_header_gives_the_same(own_rate):
    words = {**FACTS} if own_rate is None else {"test": "still"}
    column = RawColumn("emg", "emg", "uV", rate_hz=own_rate)
    capture = assemble("a", table(column, words=words), Declared())
    assert (capture.rate_hz, capture.emg.unit, capture.test) == (RATE, "uV", "still")
    np.testing.assert_array_equal(capture.emg.samples, trace(seed=0))


def test_resolution_and_range_come_from_the_format_before_the_header():
    words = {**FACTS, "resolution": "1", "range": "100", "unit": "mV"}
    silent = assemble("a", table(RawColumn("emg", "emg", "mV"), words=words), Declared()).emg
    assert (silent.resolution, silent.full_scale) == (1e3, (-1e5, 1e5))
    column = RawColumn("emg", "emg", "mV", resolution=0.5, full_scale=(-9.0, 8.0))
    stated = assemble("a", table(column, words=words), Declared()).emg
    assert (stated.resolution, stated.full_scale) == (500.0, (-9e3, 8e3))


def test_a_gap_of_the_format_is_left_open_on_every_channel_at_its_rate():
    columns = (RawColumn("emg", "emg", "uV", rate_hz=RATE), RawColumn("b", "b", "x", rate_hz=10.0))
    samples = (trace(4500), np.arange(90.0))
    gaps = Gaps(np.array([4.0]), np.array([1.0]))
    capture = assemble("a", table(*columns, samples=samples, gaps=gaps), Declared())
    lacking = [np.flatnonzero(np.isnan(channel.samples)) for channel in capture.channels]
    assert (lacking[0][0], len(lacking[0])) == (2000, 500)
    assert (lacking[1][0], len(lacking[1])) == (40, 10)
    assert [(note.start_s, note.end_s) for note in capture.notes] == [(4.0, 5.0)]


def test_a_second_candidate_is_another_channel():
    columns = (RawColumn("emg", "emg", "uV"), RawColumn("emg 2", "emg 2", ""))
    capture = assemble("a", table(*columns), Declared())
    assert [channel.role for channel in capture.channels] == ["emg", "other"]


def test_a_column_without_name_and_numbers_is_none():
    samples = (trace(), np.full(COUNT, np.nan))
    columns = (RawColumn("emg", "emg", "uV"), RawColumn("", "", ""))
    capture = assemble("a", table(*columns, samples=samples), Declared())
    assert [channel.label for channel in capture.channels] == ["emg"]


def test_an_emg_without_a_number_is_refused():
    with pytest.raises(CaptureRefused, match="holds no number in the ten seconds"):
        assemble("a", table(RawColumn("emg", "emg", "uV"), samples=(trace() * np.nan,)), Declared())


def test_the_numbers_are_not_read_while_a_question_is_open():
    def refuse() -> Readings:
        raise AssertionError("read too early")

    open_question = RawTable("made", (RawColumn("a", "a", ""),) * 2, FACTS, refuse, has_names=False)
    with pytest.raises(CaptureRefused) as caught:
        assemble("a", open_question, Declared())
    assert caught.value.missing == "column"


def test_a_range_that_is_only_the_trace_s_own_says_nothing_of_the_converter():
    x = trace()
    own = f"{x.min():.4f}..{x.max():.4f}"
    assert read_capture("a.csv", sound(range=own)).emg.full_scale is None
    assert read_capture("a.csv", sound(range="5000")).emg.full_scale == (-5000.0, 5000.0)
    # A trace that stays at both ends was driven there.
    driven = own_form("emg\n" + rows(np.clip(x, -4.0, 4.0)), range=4)
    assert read_capture("a.csv", driven).emg.full_scale == (-4.0, 4.0)

"""What a table leaves open: who decides it, and what is asked."""

from __future__ import annotations

import numpy as np
import pytest

from readiness.signal.capture import Declared
from readiness.signal.errors import CaptureRefused
from readiness.signal.readers.column_map import ColumnMap, MappedColumn
from readiness.signal.readers.decide import decide
from readiness.signal.readers.raw_table import RawColumn, RawTable, Readings

from .capture_files import COUNT, RATE, trace

EMG = RawColumn("emg", "emg", "uV")
TIME = RawColumn("time", "time", "")
SECONDS = np.arange(COUNT) / RATE


def table(columns, samples=None, **words) -> RawTable:
    readings = Readings(samples or tuple(trace() for _ in columns))
    return RawTable("made", tuple(columns), {"test": "still", **words}, lambda: readings)


def refusal(made: RawTable, declared: Declared | None = None) -> CaptureRefused:
    with pytest.raises(CaptureRefused) as caught:
        decide(made, declared or Declared())
    return caught.value


def test_a_unit_in_the_name_and_another_below_it_are_both_named():
    sentence = refusal(table([RawColumn("emg (uV)", "emg", "uV", "mV")], rate_hz="500")).sentence
    assert "'uV' in its name and 'mV' below" in sentence


def test_a_unit_below_the_name_may_be_spelled_otherwise():
    column = RawColumn("emg (uV)", "emg", "uV", "\u00b5V")
    assert decide(table([column], rate_hz="500"), Declared()).unit.text == "uV"


def test_a_row_without_a_time_is_refused():
    times = SECONDS.copy()
    times[7] = np.nan
    assert "row 8 of numbers" in refusal(table([TIME, EMG], (times, trace()))).sentence


@pytest.mark.parametrize(("factor", "scale"), [(1.0, 1.0), (1e-3, 1e3), (1e-6, 1e6)])
def test_a_time_column_without_a_unit_counts_in_what_gives_the_stated_rate(factor, scale):
    made = table([TIME, EMG], (SECONDS * scale, trace()), rate_hz="500")
    assert decide(made, Declared()).times.factor == factor


def test_a_time_column_that_fits_no_stated_rate_is_asked_about():
    refused = refusal(table([TIME, EMG], (SECONDS * 7.0, trace()), rate_hz="500"))
    assert refused.missing == "rate" and "s or ms" in refused.sentence


@pytest.mark.parametrize(
    ("columns", "samples", "words"),
    [
        ([EMG], (trace(),), "neither a rate nor a time column"),
        (
            [RawColumn("t_s", "t", "s"), EMG],
            (np.sort(np.random.default_rng(3).uniform(0, 10, COUNT)), trace()),
            "no steady step",
        ),
    ],
)
def test_a_rate_that_nothing_says_is_asked_for(columns, samples, words):
    refused = refusal(table(columns, samples))
    assert refused.missing == "rate" and words in refused.sentence


def test_the_rate_of_the_map_must_be_that_of_the_file():
    made = table([EMG], rate_hz="500")
    columns = ColumnMap((MappedColumn(0, "emg", "uV"),), made.signature, rate_hz=512.0)
    sentence = refusal(made, Declared(columns=columns)).sentence
    assert "500" in sentence and "512" in sentence


def test_a_stated_rate_goes_before_the_times():
    made = table([RawColumn("t_s", "t", "s"), EMG], (SECONDS, trace()), rate_hz="501")
    decisions = decide(made, Declared())
    assert decisions.rate_hz == 501.0 and decisions.times.steps.rate_hz == RATE

"""Columns that the operator names, by label, by place, with a unit."""

from __future__ import annotations

import numpy as np
import pytest

from readiness.signal.capture import Declared
from readiness.signal.errors import CaptureRefused
from readiness.signal.readers import read_capture

from .capture_files import COUNT, RATE, rows, trace

pytestmark = pytest.mark.any_database

T, X, Y = np.arange(COUNT) / RATE, trace(), trace(seed=2)
VOLTS = np.full(COUNT, 2.75)


def read(head: str, *columns: np.ndarray, **said):
    data = (head + rows(*columns)).encode()
    return read_capture("a.csv", data, Declared(test="still", **said))


def refused(head: str, *columns: np.ndarray, **said) -> CaptureRefused:
    with pytest.raises(CaptureRefused) as caught:
        read(head, *columns, **said)
    return caught.value


def test_every_role_is_taken_by_its_name():
    head = "Elapsed,Left (uV),Right (uV),Supply\n"
    said = {"emg_column": "right", "time_column": "Elapsed (s)", "battery_column": "Supply (V)"}
    capture = read(head, T, X, Y, VOLTS, **said)
    assert np.array_equal(capture.emg.samples, Y)
    assert capture.rate_hz == RATE
    assert np.array_equal(capture.battery_v, VOLTS)
    assert [channel.role for channel in capture.channels] == ["time", "other", "emg", "battery"]


@pytest.mark.parametrize("name", ["2", "column 2"])
def test_a_column_without_a_name_is_named_by_its_place(name):
    capture = read("", T, X, time_column="1 (s)", emg_column=name, unit="uV")
    assert np.array_equal(capture.emg.samples, X)
    assert capture.rate_hz == RATE


def test_a_label_goes_before_a_place():
    capture = read("t_s,2,1\n", T, X, Y, emg_column="1", unit="uV")
    assert np.array_equal(capture.emg.samples, Y)


def test_the_unit_of_a_named_column_is_taken():
    capture = read("a,b\n", X / 10, Y, emg_column="a (mV)", rate_hz=RATE)
    assert np.allclose(capture.emg.samples, X * 100, atol=1e-9)


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ({"emg_column": "c"}, "No column is called 'c'; the file has 'a', 'b', 'a'"),
        ({"emg_column": "a"}, "More than one column is called 'a'"),
        ({"emg_column": "b", "time_column": "b"}, "'b' is named as emg and as time"),
        ({"emg_column": "b", "battery_column": "3"}, "does not say if it counts V or mV"),
        ({"emg_column": "0"}, "--emg-column"),
    ],
)
def test_a_name_that_cannot_be_is_refused_with_what_there_is(said, words):
    refusal = refused("a,b,a\n", X, Y, VOLTS, unit="uV", rate_hz=RATE, **said)
    assert words in refusal.sentence and refusal.missing == "column"
    assert "--" not in refusal.on_screen

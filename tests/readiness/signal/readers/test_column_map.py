"""The column map and the preview it is made from."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from readiness.signal.capture import Declared
from readiness.signal.errors import CaptureRefused
from readiness.signal.readers import ColumnMap, MappedColumn, preview, read_capture, write_edf

from .capture_files import COUNT, RATE, own_form, rows, trace


def test_a_map_made_from_the_preview_reads_the_file():
    t = np.arange(COUNT) / RATE
    data = (
        "clock,left,right,cell\n"
        + rows(t * 1e3, trace(seed=1) / 1e3, trace(seed=2) / 1e3, t * 0 + 2.9, form="%.6f")
    ).encode()
    seen = preview("a.csv", data)
    columns = (
        MappedColumn(0, "time", "ms"),
        MappedColumn(2, "emg", "mV"),
        MappedColumn(3, "battery", "V"),
    )
    made = ColumnMap.from_json(ColumnMap(columns, seen.signature).to_json())
    capture = read_capture("a.csv", data, Declared(columns=made, test="still"))
    assert capture.rate_hz == RATE
    np.testing.assert_allclose(capture.emg.samples, trace(seed=2), atol=1e-9)
    assert [c.role for c in capture.channels] == ["time", "other", "emg", "battery"]
    assert capture.battery_v is not None and capture.battery_v[0] == 2.9


def test_a_map_for_another_header_is_left_aside():
    made = ColumnMap((MappedColumn(1, "emg", "mV"),), "left|right")
    capture = read_capture("a.csv", own_form("emg\n" + rows(trace())), Declared(columns=made))
    np.testing.assert_array_equal(capture.emg.samples, trace())


def test_a_map_that_contradicts_the_file_is_refused_with_both():
    data = own_form("emg_uV,x\n" + rows(trace(), trace()), unit=None)
    made = ColumnMap((MappedColumn(0, "emg", "mV"),), preview("a.csv", data).signature)
    with pytest.raises(CaptureRefused, match=r"uV.*mV"):
        read_capture("a.csv", data, Declared(columns=made))


def test_a_map_picks_the_signal_of_an_edf():
    data = write_edf(trace(), RATE, test="still", label="trace 1", battery_v=np.full(10, 2.9))
    seen = preview("a.edf", data)
    assert [(c.label, c.role, c.rate_hz) for c in seen.columns] == [
        ("trace 1", "emg", 500.0),
        ("battery", "battery", 1.0),
    ]
    made = ColumnMap(
        (MappedColumn(0, "emg", "uV"), MappedColumn(1, "battery", "V")), seen.signature
    )
    assert read_capture("a.edf", data, Declared(columns=made)).emg.label == "trace 1"


@pytest.mark.parametrize(
    ("columns", "message"),
    [
        ((), "one EMG column"),
        ((MappedColumn(0, "emg", "uV"), MappedColumn(1, "emg", "uV")), "one EMG column"),
        ((MappedColumn(0, "emg", "uV"), MappedColumn(0, "time", "s")), "must differ"),
        ((MappedColumn(0, "emg", "s"),), "takes V, mV, uV or nV"),
        ((MappedColumn(0, "emg", "uV"), MappedColumn(1, "battery", "")), "takes V or mV"),
        ((MappedColumn(0, "emg", "uV"), MappedColumn(1, "ecg", "")), "roles are"),
        ((MappedColumn(-1, "emg", "uV"),), "count from 0"),
    ],
)
def test_a_map_no_file_could_be_read_with_is_refused(columns, message):
    with pytest.raises(ValueError, match=message):
        ColumnMap(columns, "a|b")


@given(
    st.text()
    | st.sampled_from(
        ["{}", "[]", "null", '{"columns": 3}', '{"columns": [], "signature": ""}', "[" * 5000]
    )
)
def test_any_other_json_is_a_value_error(text):
    with pytest.raises(ValueError):
        ColumnMap.from_json(text)


@pytest.mark.parametrize("sign", ["u", "\u00b5", "\u03bc"])
def test_a_map_says_microvolts_with_any_sign(sign):
    data = own_form("emg (\u00b5V),x\n" + rows(trace(), trace()), unit="uV")
    made = ColumnMap((MappedColumn(0, "emg", f"{sign}V"),), preview("a.csv", data).signature)
    assert read_capture("a.csv", data, Declared(columns=made)).emg.unit == "uV"


def test_a_map_answers_what_megavolts_are():
    data = own_form("emg (MV)\n" + rows(trace() / 1e3, form="%.9g"), unit=None)
    made = ColumnMap((MappedColumn(0, "emg", "mV"),), preview("a.csv", data).signature)
    capture = read_capture("a.csv", data, Declared(columns=made))
    np.testing.assert_allclose(capture.emg.samples, trace(), rtol=1e-8)


def test_a_map_gives_the_unit_of_a_battery_signal():
    data = write_edf(trace(), RATE, test="still", battery_v=np.full(10, 2.9))
    unit = data.index(b"V       ", 256)
    data = data[:unit] + b"        " + data[unit + 8 :]
    made = ColumnMap(
        (MappedColumn(0, "emg", "uV"), MappedColumn(1, "battery", "mV")),
        preview("a.edf", data).signature,
    )
    capture = read_capture("a.edf", data, Declared(columns=made))
    np.testing.assert_allclose(capture.battery_v, 0.0029, rtol=1e-3)


@pytest.mark.parametrize("head", ["t_s,1,2\n", "time,1,2\ns,uV,uV\n"])
def test_a_column_called_1_can_be_chosen(head):
    t = np.arange(COUNT) / RATE
    data = (head + rows(t, trace(seed=1), trace(seed=2))).encode()
    seen = preview("a.csv", data)
    assert [(column.label, column.role) for column in seen.columns[1:]] == [
        ("1", "emg"),
        ("2", "emg"),
    ]
    assert "column" in seen.missing and "'1', '2'" in seen.refusals[0].sentence
    made = ColumnMap((MappedColumn(0, "time", "s"), MappedColumn(1, "emg", "uV")), seen.signature)
    capture = read_capture("a.csv", data, Declared(columns=made, test="still"))
    assert capture.emg.label == "1"
    np.testing.assert_array_equal(capture.emg.samples, trace(seed=1))


def test_a_number_beside_an_unknown_word_is_no_row_of_names():
    data = own_form("0,x\n" + rows(trace(), trace()))
    made = ColumnMap((MappedColumn(0, "emg", "uV"),), preview("a.csv", data).signature)
    with pytest.raises(CaptureRefused, match="holds the text 'x'"):
        read_capture("a.csv", data, Declared(columns=made))

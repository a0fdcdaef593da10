"""A cell that is no number is refused with its place; one without any is a missing sample."""

from __future__ import annotations

import numpy as np
import pytest

from readiness.signal.capture import Declared
from readiness.signal.errors import CaptureRefused
from readiness.signal.readers import read_capture

from .capture_files import COUNT, own_form, rows, sound, trace


def refusal(data: bytes, name: str = "a.csv", declared: Declared | None = None) -> CaptureRefused:
    with pytest.raises(CaptureRefused) as caught:
        read_capture(name, data, declared or Declared())
    return caught.value


@pytest.mark.parametrize(
    ("cell", "words"),
    [
        ("abc", ("line 7", "column 1 (emg)", "'abc'")),
        ("1,234.5", ("line 7",)),
        ("1 234", ("line 7",)),
        ("0x1F", ("line 7", "0x1F")),
        ("1_0", ("line 7",)),
        ("# note", ("line 7",)),
    ],
)
def test_a_text_cell_is_refused_with_its_place(cell, words):
    lines = sound().decode().splitlines()
    assert lines[4] == "emg"
    lines[6] = cell
    sentence = refusal("\n".join(lines).encode()).sentence.lower()
    for word in words:
        assert word.lower() in sentence


def test_ragged_rows_are_refused_with_their_line():
    lines = own_form("emg,battery_v\n" + rows(trace(), np.full(COUNT, 3.0))).decode().splitlines()
    lines[99] = "1.0,2.0,3.0"
    assert "Line 100 has 3 columns" in refusal("\n".join(lines).encode()).sentence
    lines[99] = "1 234,2.0"
    assert (
        "Line 100, column 1 (emg) holds '1 234': thousands"
        in refusal("\n".join(lines).encode()).sentence
    )
    lines[99] = "1.0"
    assert "Line 100 has 1 column " in refusal("\n".join(lines).encode()).sentence


@pytest.mark.parametrize("cell", ["", "nan", "NaN", "inf", "-inf", "1e400"])
def test_a_cell_without_a_finite_number_is_a_missing_sample_with_its_place(cell):
    lines = own_form("emg,battery_v\n" + rows(trace(), np.full(COUNT, 3.0))).decode().splitlines()
    lines[5 + 1250] = f"{cell},3.0"
    capture = read_capture("a.csv", "\n".join(lines).encode())
    assert len(capture.emg.samples) == COUNT and np.isnan(capture.emg.samples[1250])
    assert np.count_nonzero(np.isnan(capture.emg.samples)) == 1
    (note,) = capture.notes
    assert note.code == "missing_samples" and "line 1256" in note.text and note.start_s == 2.5


def test_an_empty_line_in_a_single_column_is_a_missing_sample():
    lines = sound().decode().splitlines()
    lines[5 + 10] = ""
    capture = read_capture("a.csv", "\n".join(lines).encode())
    assert np.isnan(capture.emg.samples[10]) and capture.notes[0].code == "missing_samples"


def test_mixed_decimal_marks_are_refused():
    body = "emg;battery_v\n" + rows(trace(), np.full(COUNT, 3.0), delimiter=";")
    lines = own_form(body).decode().splitlines()
    lines[3000] = lines[3000].replace(".", ",")
    assert "Line 3001" in refusal("\n".join(lines).encode()).sentence
    lines[8] = lines[8].replace(".", ",")
    assert "mixed" in refusal("\n".join(lines).encode()).sentence

"""Headers of EDF and BDF files are refused wherever they and the file disagree."""

from __future__ import annotations

from dataclasses import replace

import pytest

from readiness.signal.capture import Declared
from readiness.signal.errors import CaptureRefused
from readiness.signal.readers import read_capture
from readiness.signal.readers.edf_guard import check_header, header_text

from .edf_bytes import File, noise_file, timed_file


def refusal(file: File | bytes, declared: Declared | None = None) -> CaptureRefused:
    data = file if isinstance(file, bytes) else file.to_bytes()
    with pytest.raises(CaptureRefused) as caught:
        read_capture("a.edf", data, declared or Declared())
    return caught.value


@pytest.mark.parametrize(
    ("changes", "word"),
    [
        ({"records": "-1"}, "never closed"),
        ({"records": "1"}, "longer"),
        ({"records": "11"}, "cut off"),
        ({"records": "99999999"}, "cut off"),
        ({"records": "0"}, "0 records"),
        ({"records": "-7"}, "-7 records"),
        ({"records": "ten"}, "no whole number"),
        ({"records": "1_0"}, "no whole number"),
        ({"duration": "0"}, "lasts longer"),
        ({"duration": "-1"}, "lasts longer"),
        ({"duration": "1,0"}, "no number"),
        ({"duration": "1e999"}, "no number"),
        ({"duration": "nan"}, "no number"),
        ({"count": "-3"}, "signals"),
        ({"count": "0"}, "signals"),
        ({"count": "9999"}, "signals"),
        ({"count": "65"}, "signals"),
        ({"header_bytes": "768"}, "header claims 768"),
        ({"header_bytes": "-512"}, "header claims -512"),
    ],
)
def test_a_header_that_cannot_be_true_is_refused(changes, word):
    assert word in refusal(replace(noise_file(), **changes)).sentence


@pytest.mark.parametrize(
    ("changes", "word"),
    [
        ({"dmin": "2047"}, "digital range"),
        ({"dmin": "2048", "dmax": "-2047"}, "digital range"),
        ({"dmax": "40000"}, "digital range"),
        ({"dmin": "x"}, "no whole number"),
        ({"pmin": "500"}, "one physical value"),
        ({"pmax": "inf"}, "no number"),
        ({"samples": "99999999"}, "cut off"),
        ({"samples": "0"}, "0 samples"),
        ({"samples": "-500"}, "-500 samples"),
    ],
)
def test_a_signal_header_that_cannot_be_true_is_refused(changes, word):
    assert word in refusal(noise_file().with_signal(**changes)).sentence


@pytest.mark.parametrize("cut", [1, 100, 255, 256, 400, 512, 513, 5000, 10_511])
def test_a_file_cut_anywhere_is_refused(cut):
    assert refusal(noise_file().to_bytes()[:cut]).missing == ""


def test_bytes_behind_the_last_record_are_refused():
    assert "longer" in refusal(noise_file().to_bytes() + b"x").sentence


def test_annotations_only_are_refused():
    marks = timed_file([0.0] * 10).signals[1]
    assert "annotations only" in refusal(File((marks,), reserved="EDF+C", duration="0")).sentence


def test_a_sound_header_says_where_its_records_stand():
    layout = check_header(noise_file().to_bytes(), "EDF")
    assert (layout.form, layout.signals, layout.records, layout.record_s) == ("EDF", 1, 10, 1.0)
    assert (layout.header_bytes, layout.record_bytes) == (512, 1000)
    assert layout.timing is None and not layout.discontinuous


def test_a_file_without_a_whole_header_is_cut_off():
    with pytest.raises(CaptureRefused, match="its header alone takes 256"):
        check_header(b"0       ", "EDF")


@pytest.mark.parametrize(
    ("field", "text"),
    [(b"  \xc2\xb5V\x00\x00", "µV"), (b"\xb5V ", "µV"), (b"a\x07b", "a\ufffdb"), (b"", "")],
)
def test_header_texts_are_printable_in_either_encoding(field, text):
    assert header_text(field) == text

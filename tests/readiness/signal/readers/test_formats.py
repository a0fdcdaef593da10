"""Which reader a file goes to, whatever its name says."""

from __future__ import annotations

import pytest

from readiness.signal.errors import CaptureRefused
from readiness.signal.readers import edf, text
from readiness.signal.readers.formats import FORMATS, choose_reader

from .capture_files import sound
from .edf_bytes import noise_file


@pytest.mark.parametrize("name", ["a.csv", "a.edf", "a", "a.zip"])
def test_the_first_bytes_decide(name):
    assert choose_reader(name, noise_file().to_bytes()) is edf.EDF_READER
    assert choose_reader(name, b"\xffKITDESK" + bytes(300)) is edf.BDF_READER


@pytest.mark.parametrize("name", ["a.csv", "a.txt", "a", "a.zip"])
def test_what_is_nothing_else_is_read_as_text(name):
    assert choose_reader(name, sound()) is text.TEXT_READER


def test_the_text_is_asked_last():
    assert FORMATS[-1] is text.TEXT_READER


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"PK\x03\x04...", "a ZIP archive"),
        (b"RIFF....AVI ", "a sound or video file"),
        (b"  \n<html>", "a web page"),
        (b'{"rate": 1000, "emg": [1, 2]}', "a JSON text"),
        (b"fLaC\x00\x00", "a sound file of another kind than WAV"),
    ],
)
def test_another_kind_of_file_is_named(data, words):
    with pytest.raises(CaptureRefused, match=words):
        choose_reader("a.csv", data)


@pytest.mark.parametrize("ending", ["edf", "BDF", "rec"])
def test_a_name_that_promises_what_the_bytes_are_not(ending):
    with pytest.raises(CaptureRefused, match="does not begin like an EDF"):
        choose_reader(f"a.{ending}", sound())

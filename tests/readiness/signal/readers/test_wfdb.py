"""WFDB records, written by the package of that name (``records/``) and by hand."""

from __future__ import annotations

import io
import zipfile
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from readiness.signal.capture import Declared
from readiness.signal.command import main
from readiness.signal.errors import CaptureRefused
from readiness.signal.readers import join, read_capture

pytestmark = pytest.mark.any_database

RECORDS = Path(__file__).parent / "records"
HIGHEST = {16: 30_000, 24: 8_000_000, 32: 2_000_000_000, 80: 127, 212: 2047}
STILL = Declared(test="still")
HEADER = "rec 1 300 3000 10:00:00 02/03/2026\nrec.dat 16 100(0)/uV 16 0 0 0 0 EMG\n# kit: KD-7\n"
CODES = np.random.default_rng(2).integers(-300, 300, 3000).astype("<i2")


def stored(form: int) -> bytes:
    header, packed = (RECORDS / f"form{form}.{ending}" for ending in ("hea", "dat"))
    return join(header.name, header.read_bytes(), packed.name, packed.read_bytes())


def made(header: str = HEADER, packed: bytes | None = None) -> bytes:
    return join("rec.hea", header.encode(), "rec.dat", packed or CODES.tobytes())


def refusal(data: bytes, name: str = "rec.zip") -> str:
    with pytest.raises(CaptureRefused) as caught:
        read_capture(name, data, STILL)
    return caught.value.sentence


@pytest.mark.parametrize("form", HIGHEST)
def test_a_record_of_the_package_is_read_to_the_last_value(form):
    top, at = HIGHEST[form], np.arange(3000)
    codes = ((at * 7919) % (2 * top - 1) - top + 1).astype(float)
    codes[17] = np.nan
    capture = read_capture("rec.zip", stored(form), Declared(battery_column="supply"))
    emg_uv = (codes - 3) / (200.0 * top) * 1e3
    supply = (at * 104_729) % (2 * top - 1) - top + 1
    assert (capture.rate_hz, capture.test, capture.emg.label) == (300, "still", "EMG left")
    assert np.allclose(capture.emg.samples, emg_uv, rtol=1e-12, atol=0, equal_nan=True)
    assert np.allclose(capture.battery_v, (supply + 5) / (100.0 * top), rtol=1e-12, atol=0)
    assert [note.code for note in capture.notes] == ["missing_samples"]


def test_a_record_says_what_it_is():
    capture = read_capture("rec.zip", made(), STILL)
    assert np.array_equal(capture.emg.samples, CODES / 100)
    assert (capture.kit, capture.emg.resolution) == ("KD-7", 0.01)
    assert capture.emg.full_scale == (-327.68, 327.67)
    assert capture.taken is not None and capture.taken.isoformat() == "2026-03-02T10:00:00"


def test_several_samples_a_frame_make_another_rate():
    header = "rec 2 300 3000\nrec.dat 16x2 100/uV 0 0 0 0 0 EMG\nrec.dat 16 100/V 0 0 0 0 0 vbat\n"
    frames = np.random.default_rng(4).integers(200, 300, (3000, 3)).astype("<i2")
    capture = read_capture("rec.zip", made(header, frames.tobytes()), STILL)
    assert capture.rate_hz == 600
    assert np.array_equal(capture.emg.samples, frames[:, :2].reshape(-1) / 100)
    assert np.array_equal(capture.battery_v, frames[:, 2] / 100)


def test_counts_without_a_gain_are_asked_about():
    assert "converter counts" in refusal(made(HEADER.replace("100(0)/uV", "0")))


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("rec.dat 16", "../rec.dat 16", "names a file outside the record"),
        ("rec.dat 16", "/etc/passwd 16", "names a file outside the record"),
        ("rec.dat 16", "https://host/rec.dat 16", "names a file outside the record"),
        ("rec.dat 16", "rec.dat 508", "Export it as format 16"),
        ("rec.dat 16", "rec.dat 16:4", "without skew"),
        ("rec.dat 16 ", "rec.dat x ", "cannot be understood"),
        ("rec 1", "rec/3 1", "several parts"),
        ("rec 1", "rec 2", "claims 2 signals and describes 1"),
        ("rec 1", "rec 9999", "at most 64"),
        ("300 3000", "300 999999999", "cut off, or belongs to another header"),
        ("300 3000", "900000 3000", "at most 20000 Hz"),
        ("300 3000", "1e999 3000", "as rate"),
        ("rec 1 300", "", "record line"),
        ("16 0 0 0 0", "16 0 0 77 0", "checksum"),
        ("100(0)", "1e300(0)", "as gain"),
    ],
)
def test_a_header_that_cannot_be_is_refused(old, new, words):
    assert words in refusal(made(HEADER.replace(old, new, 1)))


def test_halves_and_other_archives_are_refused_with_what_to_give():
    assert "record.hea and record.dat" in refusal(HEADER.encode(), "rec.hea")
    assert "record.hea and record.dat" in refusal(bytes(600), "rec.dat")
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("rec.hea", HEADER)
        archive.writestr("rec.dat", bytes(40 * 2**20))
    assert "more than 32768 KiB" in refusal(stream.getvalue())
    assert "holds other files" in refusal(join("a.hea", b"x", "b.hea", b"y"))
    assert "damaged" in refusal(made()[:-30])
    assert "several signal files" in refusal(
        made("rec 2 300\na.dat 16 1 0 0 0 0 0 a\nb.dat 16 1 0 0 0 0 0 b\n")
    )


def test_the_command_takes_both_files_together(tmp_path, capsys):
    (tmp_path / "rec.hea").write_text(HEADER)
    (tmp_path / "rec.dat").write_bytes(CODES.tobytes())
    files = [str(tmp_path / "rec.dat"), str(tmp_path / "rec.hea")]
    assert main([*files, "--test", "still", "--battery", "2.9", "--limit", "9"]) == 0
    assert "rec.hea: FIT (kit KD-7, still)" in capsys.readouterr().out
    assert main([files[1], "--test", "still"]) == 2


@settings(max_examples=60, deadline=None)
@given(st.binary(max_size=60), st.integers(0, len(HEADER)))
def test_any_header_is_answered(noise, at):
    header = HEADER.encode()
    try:
        read_capture("rec.zip", join("rec.hea", header[:at] + noise, "rec.dat", bytes(600)), STILL)
    except CaptureRefused as refused:
        assert refused.sentence

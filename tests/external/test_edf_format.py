"""EDF and BDF by the published layout: Kemp et al., Electroenceph clin Neurophysiol 82 (1992)
391-393 (EDF), and Kemp & Olivan, Clin Neurophysiol 114 (2003) 1755-1761 (EDF+). BDF's byte patterns
are from memory and follow from 24-bit two's complement.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

import numpy as np
import pytest

from readiness.signal.errors import CaptureRefused
from readiness.signal.readers import preview, read_capture, write_edf
from readiness.signal.readers.edf_guard import check_header
from tests.readiness.signal.readers.edf_bytes import File, Signal, noise_file

SAMPLES = np.random.default_rng(1).normal(0.0, 2.0, 10_000)


def first_values(codes: list[int], version: bytes = b"0       ", **header: str) -> np.ndarray:
    padded = np.zeros((10, 500), dtype=int)
    padded[0, : len(codes)] = codes
    data = File((Signal(padded, **header),), version=version).to_bytes()
    return read_capture("a", data).emg.samples[: len(codes)]


def bdf_version() -> bytes:
    return write_edf(SAMPLES, 1000, test="still", bdf=True)[:8]


def test_f1_header_offsets_and_sizes():
    data = write_edf(SAMPLES, 1000, test="still", kit="KD-1", battery_v=np.full(10, 2.9))
    assert data[:8] == b"0       "
    assert data[88:168].startswith(b"Startdate ") and b"test=still" in data[88:168]
    assert data[184:192] == b"768     " and data[252:256] == b"2   "
    assert data[236:244] == b"10      " and data[244:252] == b"1       "
    assert data[256:272].rstrip() == b"EMG" and data[272:288].rstrip() == b"battery"
    assert (
        data[256 + 2 * 96 : 256 + 2 * 96 + 8].rstrip() == b"uV"
    )  # after two labels (16) and transducers (80)
    for count, size in ((1, 512), (2, 768), (3, 1024)):
        codes = noise_file().signals[0].codes
        labels = ("EMG", "b", "c")
        file = File(
            tuple(
                Signal(codes, label=label, unit="uV" if label == "EMG" else "x")
                for label in labels[:count]
            )
        )
        assert check_header(file.to_bytes(), "EDF").header_bytes == size


def test_f2_a_file_of_ten_seconds_has_40768_bytes():
    codes = np.zeros((10, 1000), dtype=int)
    data = File((Signal(codes), Signal(codes, label="x", unit="degC"))).to_bytes()
    assert len(data) == 40_768 == 768 + 10 * 2 * 1000 * 2
    layout = check_header(data, "EDF")
    assert (layout.records, layout.record_bytes, layout.record_s) == (10, 4000, 1.0)
    assert [column.rate_hz for column in preview("a.edf", data).columns] == [1000.0, 1000.0]


def test_f3_scaling():
    values = first_values([0, -1, 1, 1000, -2048, 2047])
    expected = [0.122100122, -0.122100122, 0.366300366, 244.322344322, -500.0, 500.0]
    np.testing.assert_allclose(values, expected, rtol=0, atol=1e-9)


def test_f4_a_gain_of_one_tenth():
    values = first_values([0, 32767], pmin="-3276.8", pmax="3276.7", dmin="-32768", dmax="32767")
    np.testing.assert_allclose(values, [0.0, 3276.7], rtol=0, atol=1e-9)


@pytest.mark.parametrize(("two", "four"), [(85, 1985), (99, 1999), (0, 2000), (84, 2084)])
def test_f5_two_digit_years(two, four):
    data = noise_file(recording="test=still", day=f"25.11.{two:02}").to_bytes()
    assert read_capture("a.edf", data).taken == datetime(four, 11, 25, 9, 30)


def test_f6_inverted_polarity():
    values = first_values([2047, -2048], pmin="500", pmax="-500")
    np.testing.assert_allclose(values, [-500.0, 500.0], rtol=0, atol=1e-9)


@pytest.mark.parametrize(
    "file",
    [
        noise_file().with_signal(dmin="5", dmax="5"),
        noise_file().with_signal(pmin="5", pmax="5"),
        replace(noise_file(), records="many"),
        noise_file(header_bytes="513"),
        replace(noise_file(), records="9"),
        replace(noise_file(), records="11"),
    ],
    ids=[
        "dmax=dmin",
        "pmax=pmin",
        "count no number",
        "header bytes",
        "file longer",
        "file shorter",
    ],
)
def test_f7_every_contradiction_is_refused_in_words(file):
    with pytest.raises(CaptureRefused) as caught:
        read_capture("a.edf", file.to_bytes())
    assert len(caught.value.sentence) > 40


def test_f8_24_bit_patterns():
    version = bdf_version()
    assert version[0] == 0xFF and version[1:].isalpha() and len(version[1:]) == 7
    data = bytearray(
        File(
            (
                Signal(
                    np.zeros((10, 500), dtype=int),
                    dmin="-8388608",
                    dmax="8388607",
                    pmin="-262144",
                    pmax="262143",
                ),
            ),
            version=version,
        ).to_bytes()
    )
    data[512:527] = bytes.fromhex("ffffff 000080 ffff7f 010000 000000")
    gain = (262143 + 262144) / (8388607 + 8388608)
    assert gain == pytest.approx(0.031249942, abs=1e-9)
    values = read_capture("a.bdf", bytes(data)).emg.samples[:5]
    expected = [-262144 + gain * (code + 8388608) for code in (-1, -8388608, 8388607, 1, 0)]
    np.testing.assert_allclose(values, expected, rtol=0, atol=1e-8)
    np.testing.assert_allclose(values[[1, 2]], [-262144.0, 262143.0], rtol=0, atol=1e-8)
    assert values[4] == pytest.approx(-0.484375, abs=1e-6)

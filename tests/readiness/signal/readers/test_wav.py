"""Sound recordings: written by the standard library and by SciPy, read with a given full scale."""

from __future__ import annotations

import io
import struct
import wave
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.io import wavfile

from readiness.signal.capture import Declared
from readiness.signal.errors import CaptureRefused
from readiness.signal.readers import ColumnMap, MappedColumn, preview, read_capture
from readiness.signal.score import score_capture, score_file
from readiness.signal.simulator.captures import Fault, simulate

from ..made import SETUP

pytestmark = pytest.mark.any_database

RATE = 8000
CODES = np.random.default_rng(5).integers(-(2**15), 2**15, 10 * RATE)
STILL = Declared(test="still", full_scale_uv=5000.0)


def sound(codes: np.ndarray, width: int = 2, channels: int = 1, rate: int = RATE) -> bytes:
    """Plain WAV by the standard library; codes of ``width`` bytes, interleaved."""
    stream = io.BytesIO()
    with wave.open(stream, "wb") as file:
        file.setnchannels(channels)
        file.setsampwidth(width)
        file.setframerate(rate)
        unsigned = codes + 128 if width == 1 else codes % 256**width
        rows = unsigned.astype("<u4").view(np.uint8).reshape(-1, 4)[:, :width]
        file.writeframes(rows.tobytes())
    return stream.getvalue()


def refusal(data: bytes, declared: Declared = STILL) -> CaptureRefused:
    with pytest.raises(CaptureRefused) as caught:
        read_capture("a.wav", data, declared)
    return caught.value


@pytest.mark.parametrize("width", [1, 2, 3, 4])
def test_codes_of_every_width_fill_the_scale_that_was_given(width):
    codes = CODES >> 8 if width == 1 else CODES << 8 * (width - 2)
    capture = read_capture("a.wav", sound(codes, width), STILL)
    full = 2.0 ** (8 * width - 1)
    assert capture.rate_hz == RATE
    assert np.allclose(capture.emg.samples, codes / full * 5000.0, rtol=1e-12, atol=1e-9)
    assert capture.emg.resolution == 5000.0 / full
    assert capture.emg.full_scale == (-5000.0, 5000.0 * (1 - 1 / full))


def test_floats_and_one_of_two_channels():
    pair = np.stack([CODES / 2**15, CODES[::-1] / 2**15], axis=1).astype(np.float32)
    stream = io.BytesIO()
    wavfile.write(stream, RATE, pair)
    assert "'left', 'right'" in refusal(stream.getvalue()).sentence
    said = Declared(test="still", full_scale_uv=1.0, emg_column="right")
    capture = read_capture("a.wav", stream.getvalue(), said)
    assert np.allclose(capture.emg.samples, CODES[::-1] / 2**15, atol=1e-7)


def test_without_a_scale_it_is_asked_for_and_a_map_gives_it():
    data = sound(CODES)
    asked = refusal(data, Declared(test="still"))
    assert asked.missing == "scale" and "--full-scale 5mV" in asked.sentence
    assert asked.on_screen.endswith("Fill in the voltage at full scale.")
    look = preview("a.wav", data)
    assert "scale" in look.missing and look.columns[0].label == "sound"
    kept = ColumnMap((MappedColumn(0, "emg"),), look.signature, full_scale_uv=2000.0)
    said = Declared(test="still", columns=ColumnMap.from_json(kept.to_json()))
    assert np.array_equal(read_capture("a.wav", data, said).emg.samples, CODES / 2**15 * 2000.0)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda data: data[:-100], "cut off"),
        (lambda data: data[:40], "no samples"),
        (lambda data: data.replace(b"fmt ", b"fmx ", 1), "no format"),
        (lambda data: data[:20] + struct.pack("<H", 2) + data[22:], "compressed"),
        (lambda data: data[:22] + struct.pack("<H", 200) + data[24:], "contradicts"),
        (lambda data: data[:24] + struct.pack("<I", 250_000) + data[28:], "at most 192000 Hz"),
        (lambda data: data[:4] + b"\xff" * 4 + data[8:36] + b"data\xff\xff\xff\xff", "cut off"),
    ],
)
def test_a_header_that_cannot_be_is_refused(change, words):
    assert words in refusal(change(sound(CODES))).sentence


@settings(max_examples=60, deadline=None)
@given(st.binary(max_size=120), st.integers(8, 60))
def test_any_header_is_answered(noise, at):
    data = sound(CODES[:600])
    try:
        read_capture("a.wav", data[:at] + noise + data[at + len(noise) :], STILL)
    except CaptureRefused as refused:
        assert refused.sentence


def sound_card(rate: int, density: float = 45e-3, seed: int = 6) -> np.ndarray:
    """Codes of white noise, microvolts per root hertz, +-5 mV at full scale."""
    noise = np.random.default_rng(seed).normal(0.0, density * np.sqrt(rate / 2), 10 * rate)
    return np.rint(noise / 5000.0 * 2**15).astype(np.int64)


@pytest.mark.parametrize("rate", [44_100, 48_000])
def test_a_sound_card_is_decimated_and_its_noise_keeps_its_density(rate):
    codes = sound_card(rate)
    said = Declared(test="still", full_scale_uv=5000.0, rate_hz=float(rate), battery_v=2.9)
    report = score_file("a.wav", sound(codes, rate=rate), said)
    figures = {row.name: row.value for row in report.result.measurements}
    # Nine seconds and more of 430 Hz: one standard deviation is 0.8 %.
    assert figures["noise_full_band"] == pytest.approx(45e-3 * np.sqrt(430.0), rel=0.025)
    assert figures["recorded_rate"] == rate / 1e3
    assert report.result.verdict == "fit" and report.capture.duration_s == 10.0
    converted = report.capture.converted
    assert np.allclose(converted.samples, codes[:: rate // 4800] / 2**15 * 5000.0, atol=1e-9)


@pytest.mark.parametrize(
    ("spoil", "code"),
    [
        (lambda codes: codes & ~4, "stuck_bits"),
        (lambda codes: np.minimum(codes, 40), "clipped"),
        (lambda codes: codes * 0 + 3, "dead_channel"),
    ],
)
def test_what_the_converter_did_shows_behind_the_filter(spoil, code):
    said = Declared(test="still", full_scale_uv=5000.0)
    report = score_file("a.wav", sound(spoil(sound_card(48_000)), rate=48_000), said)
    assert code in {item.code for item in report.result.findings if item.verdict == "not fit"}


def test_a_broken_lead_shows_as_it_does_without_the_filter():
    setup = replace(SETUP, rate_hz=22_050.0)
    fault = Fault("intermittent_lead", 0.3, lead="B", count=2)
    made = simulate("flex", setup, (fault,), np.random.default_rng(3)).capture
    codes = np.rint(made.emg.samples / 5000.0 * 2**15).clip(-(2**15), 2**15 - 1)
    said = Declared(test="flex", full_scale_uv=5000.0, battery_v=2.9)
    report = score_file("a.wav", sound(codes.astype(np.int64), rate=22_050), said)
    found = {(item.code, item.lead, item.verdict) for item in report.result.findings}
    assert ("intermittent_lead", "not fit") in {(code, verdict) for code, _, verdict in found}
    assert found == {(i.code, i.lead, i.verdict) for i in score_capture(made).findings}


def test_the_ten_seconds_of_a_longer_sound_are_cut_alike():
    codes = np.concatenate([np.zeros(48_000, dtype=np.int64), sound_card(48_000)])
    said = replace(STILL, window_start_s=1.0)
    capture = read_capture("a.wav", sound(codes, rate=48_000), said)
    assert len(capture.emg.samples) == len(capture.converted.samples) == 48_000
    assert np.allclose(capture.converted.samples, sound_card(48_000)[::10] / 2**15 * 5000.0)

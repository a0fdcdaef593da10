"""EDF and BDF captures: equal to a second reader, and refused wherever header and file disagree."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

import numpy as np
import pyedflib
import pytest

from readiness.signal.capture import Declared
from readiness.signal.errors import CaptureRefused
from readiness.signal.readers import preview, read_capture, write_edf

from .capture_files import trace
from .edf_bytes import File, Signal, noise_file, timed_file


def refusal(file: File | bytes, declared: Declared | None = None) -> CaptureRefused:
    data = file if isinstance(file, bytes) else file.to_bytes()
    with pytest.raises(CaptureRefused) as caught:
        read_capture("a.edf", data, declared or Declared())
    return caught.value


def second_reader(tmp_path, data: bytes, name: str) -> list[np.ndarray]:
    path = tmp_path / name
    path.write_bytes(data)
    with pyedflib.EdfReader(str(path)) as reader:
        return [reader.readSignal(i) for i in range(reader.signals_in_file)]


def test_a_plain_file_gives_every_fact():
    capture = read_capture("a.edf", noise_file().to_bytes())
    assert (capture.test, capture.kit, capture.rate_hz, capture.duration_s) == (
        "still",
        "KD-1",
        500.0,
        10.0,
    )
    assert capture.taken == datetime(2026, 11, 25, 9, 30)
    assert capture.emg.resolution == pytest.approx(1000 / 4095)
    assert capture.emg.full_scale == (-500.0, 500.0) and capture.notes == ()


@pytest.mark.parametrize(
    ("unit", "factor"), [("uV", 1.0), ("\u00b5V", 1.0), ("mV", 1e3), ("V", 1e6), ("nV", 1e-3)]
)
def test_values_are_those_of_a_second_reader_in_microvolts(tmp_path, unit, factor):
    data = noise_file().with_signal(unit=unit).to_bytes()
    capture = read_capture("a.edf", data)
    (other,) = second_reader(tmp_path, noise_file().to_bytes(), "a.edf")
    np.testing.assert_allclose(capture.emg.samples, other * factor, rtol=1e-12, atol=1e-9 * factor)


@pytest.mark.parametrize("bdf", [False, True])
def test_channels_of_differing_rates_are_those_of_a_second_reader(tmp_path, bdf):
    data = write_edf(
        trace(), 500, test="flex", kit="KD-2", battery_v=np.linspace(3.0, 2.9, 10), bdf=bdf
    )
    name = "a.bdf" if bdf else "a.edf"
    capture = read_capture(name, data)
    others = second_reader(tmp_path, data, name)
    assert [(c.role, c.rate_hz, len(c.samples)) for c in capture.channels] == [
        ("emg", 500.0, 5000),
        ("battery", 1.0, 10),
    ]
    for channel, other in zip(capture.channels, others, strict=True):
        np.testing.assert_allclose(channel.samples, other, rtol=1e-12, atol=1e-9)


def test_bdf_by_bytes_is_read_as_a_second_reader_does(tmp_path):
    codes = np.random.default_rng(4).integers(-8388608, 8388608, (10, 500))
    signal = Signal(codes, dmin="-8388608", dmax="8388607", pmin="-262144", pmax="262143")
    version = write_edf(trace(), 500, test="still", bdf=True)[:8]
    data = File((signal,), version=version).to_bytes()
    (other,) = second_reader(tmp_path, data, "a.bdf")
    np.testing.assert_allclose(read_capture("a.bdf", data).emg.samples, other, rtol=1e-12)


def test_inverted_polarity_is_legal(tmp_path):
    file = noise_file().with_signal(pmin="500", pmax="-500")
    capture = read_capture("a.edf", file.to_bytes())
    (other,) = second_reader(tmp_path, file.to_bytes(), "a.edf")
    np.testing.assert_allclose(capture.emg.samples, other, rtol=1e-12, atol=1e-9)
    assert capture.emg.full_scale == (-500.0, 500.0) and capture.emg.resolution > 0


def test_missing_facts_are_named():
    assert refusal(replace(noise_file(), recording="X")).missing == "test"
    assert refusal(noise_file().with_signal(unit="")).missing == "unit"
    assert refusal(noise_file().with_signal(unit="LSB")).missing == "unit"
    assert (
        read_capture(
            "a.edf", noise_file().with_signal(unit="").to_bytes(), Declared(unit="uV")
        ).emg.unit
        == "uV"
    )
    sentence = refusal(noise_file(), Declared(rate_hz=512)).sentence
    assert "500" in sentence and "512" in sentence


def test_two_voltage_signals_without_an_emg_label_are_asked_for():
    codes = noise_file().signals[0].codes
    refused = refusal(File((Signal(codes, label="Left"), Signal(codes, label="Right"))))
    assert refused.missing == "column" and "'Left', 'Right'" in refused.sentence


@pytest.mark.parametrize("duration", ["1", "0.5"])
def test_a_slow_brain_recording_is_refused(duration):
    rate = 128 if duration == "1" else 64
    records = 10 if duration == "1" else 20
    assert "nothing of the band" in refusal(noise_file(records, rate, duration=duration)).sentence


def test_a_gap_inside_ten_seconds_is_left_open_in_place():
    capture = read_capture("a.edf", timed_file([0, 1, 2, 3, 4, 6, 7, 8, 9]).to_bytes())
    (note,) = capture.notes
    assert (note.code, note.start_s, note.end_s) == ("missing_samples", 5.0, 6.0)
    assert len(capture.emg.samples) == 5000 and np.isnan(capture.emg.samples[2500:3000]).all()
    assert np.isfinite(capture.emg.samples).sum() == 4500


def test_a_gap_that_tears_ten_seconds_apart_is_told():
    capture = read_capture("a.edf", timed_file([0, 1, 2, 3, 4, 7, 8, 9, 10, 11]).to_bytes())
    assert len(capture.emg.samples) == 5000 and np.isfinite(capture.emg.samples).all()
    assert capture.notes[0].code == "missing_samples" and capture.notes[0].start_s == 5.0


def test_continuous_records_marked_discontinuous_have_no_gap():
    assert read_capture("a.edf", timed_file([float(i) for i in range(10)]).to_bytes()).notes == ()


def test_records_that_overlap_or_do_not_say_when_are_refused():
    assert "begins before" in refusal(timed_file([0, 1, 2, 2.5, 4, 5, 6, 7, 8, 9])).sentence
    silent = timed_file([float(i) for i in range(10)])
    blank = replace(silent.signals[1], codes=[b"\x00" * 30] * 10)
    assert (
        "does not say when" in refusal(replace(silent, signals=(silent.signals[0], blank))).sentence
    )
    assert "no annotations" in refusal(replace(noise_file(), reserved="EDF+D")).sentence


@pytest.mark.parametrize(
    ("onsets", "code", "words", "at_s"),
    [
        ([0, 1, 2, 3, 4, 8, 9, 10, 11, 12], "missing_samples", "lack at 5 s", 5.0),
        ([0, 1, 2, 3, 2, 3, 4, 5, 6, 7], "time_base", "Record 5, at 4 s, goes back", 4.0),
        ([0, 1, 2, 2, 3, 4, 5, 6, 7, 8], "time_base", "Record 4, at 3 s, repeats", 3.0),
    ],
)
def test_a_file_that_calls_itself_continuous_is_not_believed_against_its_times(
    onsets, code, words, at_s
):
    continuous = replace(timed_file(onsets), reserved="EDF+C")
    (note,) = read_capture("a.edf", continuous.to_bytes()).notes
    assert (note.code, note.start_s) == (code, at_s) and words in note.text


def test_gaps_of_less_than_a_sample_add_up_and_none_is_nothing():
    late = [second * 1.0006 for second in range(10)]
    notes = read_capture("a.edf", timed_file(late).to_bytes()).notes
    assert all(note.text[:2] != "0 " for note in notes) and len(notes) == 3


def test_a_window_of_a_long_recording():
    file = noise_file(records=30)
    assert refusal(file).missing == "window"
    capture = read_capture("a.edf", file.to_bytes(), Declared(window_start_s=12.0))
    whole = np.concatenate(list(file.signals[0].codes))[6000:11_000]
    np.testing.assert_allclose(capture.emg.samples, (whole + 2048) * (1000 / 4095) - 500, atol=1e-9)


@pytest.mark.parametrize(
    ("day", "year"),
    [("01.02.85", 1985), ("01.02.99", 1999), ("01.02.00", 2000), ("01.02.84", 2084)],
)
def test_two_digit_years(day, year):
    capture = read_capture("a.edf", noise_file(recording="test=still", day=day).to_bytes())
    assert capture.taken == datetime(year, 2, 1, 9, 30)


def test_a_date_that_is_none_is_left_out():
    assert (
        read_capture("a.edf", noise_file(recording="test=still", day="31.02.24").to_bytes()).taken
        is None
    )


@pytest.mark.parametrize("bdf", [False, True])
def test_what_is_written_is_read_back(bdf):
    taken = datetime(2026, 11, 25, 9, 30, 12)
    data = write_edf(
        trace(),
        500,
        test="lift",
        kit="KD-0042-7",
        mains_hz=50,
        battery_v=2.95,
        taken=taken,
        bdf=bdf,
    )
    capture = read_capture("a", data)
    step = capture.emg.resolution
    assert np.abs(capture.emg.samples - trace()).max() <= 0.5 * step * (1 + 1e-9)
    assert (capture.test, capture.kit, capture.mains_hz, capture.taken) == (
        "lift",
        "KD-0042-7",
        50.0,
        taken,
    )
    np.testing.assert_array_equal(capture.battery_v, [2.95])


def test_units_and_words_in_latin_1_or_utf_8_are_read():
    file = replace(noise_file(), recording="test=still kit=KD-\u00e4").with_signal(unit="\u00b5V")
    latin = file.to_bytes()
    assert read_capture("a.edf", latin).kit == "KD-\u00e4"
    unit = latin.index("\u00b5V      ".encode("latin-1"), 256)
    plain = noise_file().to_bytes()
    in_utf_8 = plain[:unit] + "\u00b5V     ".encode() + plain[unit + 8 :]
    assert read_capture("a.edf", in_utf_8).emg.unit == "uV"


def test_a_reading_that_is_no_voltage_is_refused():
    assert "no voltage of a kit" in refusal(noise_file().with_signal(pmax="9e99")).sentence


def test_records_that_overlap_are_told_beside_the_columns():
    file = timed_file([0, 1, 2, 2.5, 4, 5, 6, 7, 8, 9])
    seen = preview("a.edf", file.to_bytes())
    assert [column.label for column in seen.columns] == ["EMG"]
    assert "begins before" in seen.refusals[-1].sentence and seen.rows == ()


def test_clock_and_date_that_are_none_leave_the_start_open():
    for changes in ({"clock": "99.99.99"}, {"day": "x"}, {"recording": "Startdate X test=still"}):
        assert read_capture("a.edf", noise_file(**changes).to_bytes()).taken is None


def test_fields_filled_up_with_zero_bytes_are_read():
    plain = noise_file()
    data = plain.to_bytes()
    header = data[:512].replace(b"  ", b"\x00\x00")
    assert header[:8] != data[:8]
    capture = read_capture("a.edf", data[:8] + header[8:] + data[512:])
    sound = read_capture("a.edf", data)
    np.testing.assert_array_equal(capture.emg.samples, sound.emg.samples)
    assert (capture.kit, capture.emg.label, capture.taken) == ("KD-1", "EMG", sound.taken)


@pytest.mark.parametrize("label", [" EDF Annotations", "EDF Annotations\x1f"])
def test_signals_that_are_annotations_to_one_and_none_to_the_other_are_damage(label):
    marks = replace(timed_file([0.0] * 10).signals[1], label=label[:16])
    refused = refusal(File((noise_file().signals[0], marks)))
    assert "damaged" in refused.sentence or "no whole number" in refused.sentence

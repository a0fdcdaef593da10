"""Text captures: what is read, what is refused, and with which sentence."""

from __future__ import annotations

from datetime import datetime

import numpy as np
import pytest

from readiness.signal.capture import Declared
from readiness.signal.errors import CaptureRefused
from readiness.signal.readers import read_capture

from .capture_files import COUNT, RATE, own_form, rows, sound, trace


def refusal(data: bytes, name: str = "a.csv", declared: Declared | None = None) -> CaptureRefused:
    with pytest.raises(CaptureRefused) as caught:
        read_capture(name, data, declared or Declared())
    return caught.value


def test_own_form_gives_every_fact():
    t = np.arange(COUNT) / RATE
    body = "t_s,emg,battery_v\n" + rows(t, trace(), np.full(COUNT, 2.95))
    data = own_form(body, resolution=0.25, range=1000, mains_hz=50, taken="2026-11-25T09:30:00")
    capture = read_capture("a.csv", data)
    assert capture.kit == "KD-1" and capture.test == "still" and capture.mains_hz == 50.0
    assert capture.taken == datetime(2026, 11, 25, 9, 30)
    assert capture.emg.resolution == 0.25 and capture.emg.full_scale == (-1000.0, 1000.0)
    assert [c.role for c in capture.channels] == ["time", "emg", "battery"]
    np.testing.assert_array_equal(capture.emg.samples, trace())
    np.testing.assert_array_equal(capture.battery_v, np.full(COUNT, 2.95))
    assert capture.notes == () and capture.duration_s == 10.0


@pytest.mark.parametrize(
    ("unit", "factor"),
    [
        ("V", 1e6),
        ("mV", 1e3),
        ("uV", 1.0),
        ("\u00b5V", 1.0),
        ("\u03bcV", 1.0),
        ("nV", 1e-3),
        ("microvolt", 1.0),
    ],
)
def test_units_lead_to_microvolts(unit, factor):
    capture = read_capture(
        "a.csv", own_form("emg\n" + rows(trace() / factor, form="%.9g"), unit=unit)
    )
    np.testing.assert_allclose(capture.emg.samples, trace(), rtol=1e-8)


@pytest.mark.parametrize(
    "label", ["emg (uV)", "EMG [uV]", "emg_uV", "emg uV", "EMG/uV", "sEMG (\u00b5V)"]
)
def test_a_unit_in_the_column_name_is_enough(label):
    capture = read_capture("a.csv", own_form(f"{label}\n" + rows(trace()), unit=None))
    assert capture.emg.unit == "uV"


def test_a_units_row_is_read():
    t = np.arange(COUNT) / RATE
    body = "time;emg;battery\nms;mV;V\n" + rows(
        t * 1e3, trace() / 1e3, np.full(COUNT, 2.9), delimiter=";", form="%.6f"
    )
    capture = read_capture("a.csv", own_form(body, unit=None, rate_hz=None))
    assert capture.rate_hz == RATE
    np.testing.assert_allclose(capture.emg.samples, trace(), atol=1e-9)
    assert capture.battery_v is not None and capture.battery_v[0] == 2.9


@pytest.mark.parametrize("label", ["MV", "emg MV"])
def test_megavolts_are_not_taken_for_millivolts(label):
    refused = refusal(own_form("emg\n" + rows(trace()), unit="MV"))
    assert refused.missing == "unit" and "MV" in refused.sentence


@pytest.mark.parametrize(
    ("fact", "missing", "words"),
    [
        ({"rate_hz": None}, "rate", ("# rate_hz:", "--rate")),
        ({"unit": None}, "unit", ("# unit:", "--unit")),
        ({"unit": "counts"}, "unit", ("converter counts", "--unit")),
        ({"test": None}, "test", ("# test:", "--test")),
        ({"test": "stll"}, "test", ("stll", "still")),
    ],
)
def test_a_missing_fact_is_named_with_the_place_to_give_it(fact, missing, words):
    refused = refusal(sound(**fact))
    assert refused.missing == missing
    for word in words:
        assert word in refused.sentence


def test_the_operator_can_say_what_the_file_leaves_open():
    data = sound(rate_hz=None, unit=None, test=None, kit=None)
    capture = read_capture(
        "a.csv", data, Declared(test="flex", rate_hz=500, unit="mV", kit="KD-2", mains_hz=60)
    )
    assert (capture.test, capture.rate_hz, capture.kit, capture.mains_hz) == (
        "flex",
        500.0,
        "KD-2",
        60,
    )
    np.testing.assert_allclose(capture.emg.samples, trace() * 1e3)


@pytest.mark.parametrize(
    ("declared", "words"),
    [
        (Declared(test="flex"), ("still", "flex")),
        (Declared(rate_hz=512), ("500", "512")),
        (Declared(unit="mV"), ("uV", "mV")),
        (Declared(kit="KD-9"), ("KD-1", "KD-9")),
    ],
)
def test_file_and_operator_that_differ_are_both_named(declared, words):
    refused = refusal(sound(), declared=declared)
    for word in words:
        assert word in refused.sentence


def test_column_unit_and_header_unit_that_differ_are_both_named():
    sentence = refusal(own_form("emg (mV)\n" + rows(trace()), unit="uV")).sentence
    assert "mV" in sentence and "uV" in sentence


def test_a_decimal_comma_between_comma_columns_is_refused():
    body = "emg,battery_v\n" + rows(trace(), np.full(COUNT, 3.0)).replace(".", ",")
    assert "decimal comma" in refusal(own_form(body)).sentence


def test_more_than_one_candidate_names_them():
    refused = refusal(own_form("EMG left,EMG right\n" + rows(trace(), trace())))
    assert refused.missing == "column" and "'EMG left', 'EMG right'" in refused.sentence


def test_unnamed_columns_are_asked_for():
    refused = refusal(own_form(rows(np.arange(COUNT) / RATE, trace())))
    assert refused.missing == "column"


def test_the_only_voltage_column_is_the_emg():
    body = "time (s),Signal 1 (mV),temperature (degC)\n" + rows(
        np.arange(COUNT) / RATE, trace(), np.full(COUNT, 21.0)
    )
    capture = read_capture("a.csv", own_form(body, unit=None))
    assert capture.emg.label == "Signal 1 (mV)"
    assert [c.role for c in capture.channels] == ["time", "emg", "other"]


def test_a_header_key_said_twice_is_refused():
    assert "twice" in refusal(b"# test: flex\n" + sound()).sentence


def test_a_file_without_numbers_is_refused():
    assert "no row of numbers" in refusal(b"# test: still\nemg\n").sentence
    assert "no row of numbers" in refusal(b"Dear instructor,\nthe kit hums.\n").sentence


def test_trailing_delimiters_are_no_column():
    body = (
        "emg;battery_v;\n"
        + rows(trace(), np.full(COUNT, 3.0), delimiter=";").replace("\n", ";\n")
        + ";"
    )
    capture = read_capture("a.csv", own_form(body))
    assert [c.label for c in capture.channels] == ["emg", "battery_v"]


def test_a_sparse_battery_column_gives_the_values_it_has():
    volts = ["2.9" if i % 500 == 0 else "" for i in range(COUNT)]
    body = "emg,battery_v\n" + "\n".join(
        f"{x:.2f},{v}" for x, v in zip(trace(), volts, strict=True)
    )
    capture = read_capture("a.csv", own_form(body))
    np.testing.assert_array_equal(capture.battery_v, np.full(10, 2.9))
    assert capture.notes == ()


@pytest.mark.parametrize("answer", ["mV", "uV", "\u00b5V", "\u03bcV"])
@pytest.mark.parametrize(("names", "unit"), [("emg", "MV"), ("emg (MV)", None), ("EMG [MV]", None)])
def test_megavolts_are_asked_about_and_the_answer_is_taken(names, unit, answer):
    data = own_form(f"{names}\n" + rows(trace() / 1e3, form="%.9g"), unit=unit)
    assert refusal(data).missing == "unit"
    capture = read_capture("a.csv", data, Declared(unit=answer))
    factor = 1.0 if answer == "mV" else 1e-3
    np.testing.assert_allclose(capture.emg.samples, trace() * factor, rtol=1e-8)


@pytest.mark.parametrize("answer", ["V", "\u00b5V"])
def test_a_unit_that_the_file_spells_out_is_not_overruled(answer):
    assert "operator says" in refusal(sound(unit="mV"), declared=Declared(unit=answer)).sentence


@pytest.mark.parametrize("declared", ["uV", "\u00b5V", "\u03bcV", "microvolts"])
@pytest.mark.parametrize("header", [None, "uV", "\u00b5V", "\u03bcV"])
@pytest.mark.parametrize("label", ["emg (uV)", "emg (\u00b5V)", "emg (\u03bcV)"])
def test_microvolts_are_one_unit_however_they_are_spelled(label, header, declared):
    data = own_form(f"{label}\n" + rows(trace()), unit=header)
    capture = read_capture("a.csv", data, Declared(unit=declared))
    assert capture.emg.unit == "uV"
    np.testing.assert_array_equal(capture.emg.samples, trace())


def test_of_two_time_columns_the_first_counts():
    t = np.arange(COUNT) / RATE
    body = "t_s,emg,time_ms\n" + rows(t, trace(), np.floor(t) * 1e3)
    capture = read_capture("a.csv", own_form(body, rate_hz=None))
    assert [c.role for c in capture.channels] == ["time", "emg", "other"]
    assert capture.rate_hz == RATE and capture.notes == ()

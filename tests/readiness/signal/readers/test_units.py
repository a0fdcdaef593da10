"""Units as files spell them."""

from __future__ import annotations

import pytest

from readiness.signal.errors import CaptureRefused
from readiness.signal.readers.units import (
    find_unit,
    is_ambiguous,
    is_counts,
    same_unit,
    split_label,
    voltage_unit,
)


@pytest.mark.parametrize(
    ("text", "unit"),
    [
        ("uV", "uV"),
        ("[\u00b5V]", "uV"),
        (" (\u03bcV) ", "uV"),
        ("Microvolts", "uV"),
        ("MilliVolt", "mV"),
        ("mv", "mV"),
        ("V", "V"),
        ("msec", "ms"),
        ("Seconds", "s"),
    ],
)
def test_a_unit_is_known_however_it_is_spelled(text, unit):
    assert find_unit(text).text == unit


@pytest.mark.parametrize("text", ["MV", "Mv", "", "degC", "counts", "a.u."])
def test_other_words_are_no_unit(text):
    assert find_unit(text) is None


def test_megavolt_and_millivolt_cannot_be_told_apart():
    assert is_ambiguous("MV") and is_ambiguous("(Mv)")
    assert not is_ambiguous("mV") and not is_ambiguous("V") and not is_ambiguous("counts")


@pytest.mark.parametrize(
    ("first", "second", "same"),
    [
        ("uV", "\u00b5V", True),
        ("\u00b5V", "\u03bcV", True),
        ("mV", "MV", False),
        ("MV", "mV", False),
        ("uV", "mV", False),
        ("degC", "DEGC", True),
        ("degC", "uV", False),
    ],
)
def test_spelling_makes_no_unit_another(first, second, same):
    assert same_unit(first, second) is same


@pytest.mark.parametrize(
    ("label", "parts"),
    [
        ("emg (uV)", ("emg", "uV")),
        ("EMG [mV]", ("EMG", "mV")),
        ("emg_uV", ("emg", "uV")),
        ("t_s", ("t", "s")),
        ("raw counts", ("raw", "counts")),
        ("left leg", ("left leg", "")),
        ("1", ("1", "")),
    ],
)
def test_a_label_is_parted_into_name_and_unit(label, parts):
    assert split_label(label) == parts


def test_counts_are_no_voltage():
    assert is_counts("LSB") and is_counts("(counts)") and not is_counts("uV")
    with pytest.raises(CaptureRefused, match="converter counts") as caught:
        voltage_unit("counts", "the EMG column")
    assert caught.value.missing == "unit"

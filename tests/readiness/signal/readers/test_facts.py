"""Header facts: their values, their refusals, and how they meet the operator's answers."""

from __future__ import annotations

import pytest

from readiness.signal.capture import Declared
from readiness.signal.errors import CaptureRefused
from readiness.signal.readers.facts import Facts, agree, agree_on_unit, merge, number, parse_facts


@pytest.mark.parametrize(
    ("key", "text"),
    [
        ("kit", "x" * 65),
        ("rate_hz", "0"),
        ("rate_hz", "500 per second"),
        ("resolution", "0.25 uV"),
        ("range", "high"),
        ("range", "5..-5"),
        ("mains_hz", "400"),
        ("battery_v", "2900 mV"),
        ("battery_v", "full"),
        ("taken", "yesterday"),
        ("test", "stll"),
    ],
)
def test_a_value_that_its_key_cannot_hold_is_refused_with_it(key, text):
    with pytest.raises(CaptureRefused) as caught:
        parse_facts({key: text})
    assert text[:20] in caught.value.sentence


@pytest.mark.parametrize(
    ("text", "full_scale"),
    [
        ("1000", (-1000.0, 1000.0)),
        ("\u00b11000", (-1000.0, 1000.0)),
        ("+-5,5", (-5.5, 5.5)),
        ("-5..5", (-5.0, 5.0)),
        ("-5 to 4.5", (-5.0, 4.5)),
        ("0;3", (0.0, 3.0)),
    ],
)
def test_a_range_is_one_number_or_two(text, full_scale):
    assert parse_facts({"range": text}).full_scale == full_scale


def test_values_with_their_own_unit_are_taken():
    facts = parse_facts({"rate_hz": "500 Hz", "mains_hz": "50 Hz", "battery_v": "2,95 V"})
    assert (facts.rate_hz, facts.mains_hz, facts.battery_v) == (500.0, 50.0, 2.95)


def test_unknown_keys_and_empty_values_are_left_alone():
    assert parse_facts({"colour": "red", "kit": " "}) == Facts()


@pytest.mark.parametrize("text", ["", "1e999", "nan", "1_0", "0x1", "1" * 60])
def test_what_is_no_plain_number_is_none(text):
    assert number(text) is None


def test_the_operator_fills_what_the_file_leaves_open():
    merged = merge(Facts(kit="KD-1"), Declared(test="FLEX", rate_hz=500, unit="\u00b5V"))
    assert (merged.kit, merged.test, merged.rate_hz, merged.unit) == (
        "KD-1",
        "flex",
        500,
        "\u00b5V",
    )


def test_a_whole_number_agrees_with_its_decimal_form():
    assert agree("rate_hz", 500, 500.0) == 500
    assert agree("rate_hz", 500.0, 500.0001) == 500.0


@pytest.mark.parametrize(
    ("in_file", "answer", "taken"),
    [
        ("", "uV", "uV"),
        ("uV", None, "uV"),
        ("\u00b5V", "uV", "\u00b5V"),
        ("MV", "mV", "mV"),
        ("MV", "MV", "MV"),
        (None, None, None),
    ],
)
def test_a_unit_is_agreed_on(in_file, answer, taken):
    assert agree_on_unit("unit", in_file, answer) == taken


@pytest.mark.parametrize(("in_file", "answer"), [("uV", "mV"), ("mV", "MV"), ("counts", "uV")])
def test_units_that_differ_are_both_named(in_file, answer):
    with pytest.raises(CaptureRefused, match=f"'{in_file}'.*'{answer}'"):
        agree_on_unit("unit", in_file, answer)

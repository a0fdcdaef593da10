"""Values of rows as JSON and back."""

import json
import math
from datetime import datetime, timedelta, timezone

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kitdesk.moving import codec
from tests.hour import most

pytestmark = pytest.mark.any_database

ZONES = st.integers(-14 * 60, 14 * 60).map(lambda minutes: timezone(timedelta(minutes=minutes)))
JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False) | st.text(),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(), inner, max_size=3),
    max_leaves=4,
)
VALUES = {
    "whole number": st.integers(-(2**63), 2**63 - 1),
    "decimal": st.decimals(allow_nan=False, allow_infinity=False, places=2),
    "number": st.floats(),
    "yes or no": st.booleans(),
    "text": st.text(),
    "file": st.text(),
    # A day from either end of the calendar every zone has its moment in UTC.
    "moment": st.datetimes(datetime(1, 1, 2), datetime(9999, 12, 30), timezones=ZONES),
    "day": st.dates(),
    "JSON": JSON,
    "bytes": st.binary(),
    "UUID": st.uuids(),
}
KINDS = sorted(VALUES)


def test_every_kind_of_column_is_tried():
    assert set(VALUES) == set(codec._KINDS)


@settings(max_examples=most(12, 40), deadline=None)
@given(st.fixed_dictionaries({kind: st.none() | VALUES[kind] for kind in KINDS}))
def test_a_row_comes_back_exactly(row):
    line = codec.line_of([codec.to_json(kind, row[kind]) for kind in KINDS])
    assert line.count(b"\n") == 1 and line.endswith(b"\n")
    again = dict(zip(KINDS, map(codec.from_json, KINDS, json.loads(line)), strict=True))
    number, kept = row.pop("number"), again.pop("number")
    assert again == row
    assert {kind: type(value) for kind, value in again.items()} == {
        kind: type(value) for kind, value in row.items()
    }
    # Two that are nothing do not equal each other, and nothing below zero equals nothing above.
    assert repr(kept) == repr(number)
    if again["decimal"] is not None:
        assert str(again["decimal"]) == str(row["decimal"])


def test_nothing_stays_apart_from_an_empty_text():
    assert codec.line_of([None, "", 0, False]) == b'[null,"",0,false]\n'


def test_keys_stand_in_order_whatever_the_database_made_of_them():
    assert codec.line_of([{"b": 1, "a": {"d": 2, "c": 3}}]) == b'[{"a":{"c":3,"d":2},"b":1}]\n'


def test_a_person_reads_yes_days_and_moments():
    assert codec.to_cell("yes or no", True) == "yes"
    assert codec.to_cell("JSON", {"b": "ø", "a": None}) == '{"a": null, "b": "ø"}'
    assert codec.to_cell("number", math.pi) == math.pi
    assert codec.to_cell("text", None) is None

"""Stamps of the clock as seconds."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from readiness.signal.errors import CaptureRefused
from readiness.signal.readers.clock import as_seconds

pytestmark = pytest.mark.any_database


def body(*rows: str) -> list[str]:
    return as_seconds("\n".join(rows).encode()).plain.decode().split("\n")


@pytest.mark.parametrize(
    ("rows", "seconds"),
    [
        (("14:03:07.125,1", "14:03:07.250,2"), ["50587.125,1", "50587.250,2"]),
        (("14:03:07,5;1,25", "14:03:08,5;1,5"), ["50587,5;1,25", "50588,5;1,5"]),
        (("14:03:07.5;1,25", "14:03:08.5;1,5"), ["50587,5;1,25", "50588,5;1,5"]),
        (("12:00:00 AM\t1", "12:00:01 am\t2"), ["0\t1", "1\t2"]),
        (("12:00:00 PM\t1", "1:00:00 p.m.\t2"), ["43200\t1", "46800\t2"]),
        (("23:59:59.9,1", "00:00:00.1,2"), ["86399.9,1", "86400.1,2"]),
        (("03:07.125,1", "03:07.250,2"), ["187.125,1", "187.250,2"]),
        (("1-Nov-2026 00:00:01,1", "1-Nov-2026 00:00:02,2"), ["1,1", "2,2"]),
        (("2026-11-25 14:03:07 1", "2026-11-25 14:03:08 2"), ["0 50587 1", "0 50588 2"]),
        (("14:03:07,1", "14:03:08,2"), ["50587,1", "50588,2"]),
    ],
)
def test_stamps_become_seconds(rows, seconds):
    assert body(*rows) == seconds


@pytest.mark.parametrize("text", ["0.1,2\n0.2,3", "Time 14:03:07\nnone\n1,2\n2,3", "a:b\n12:30"])
def test_a_text_without_stamped_rows_stays_as_it_is(text):
    stamped = as_seconds(text.encode())
    assert (stamped.plain, stamped.kinds(",")) == (text.encode(), [])


def test_columns_of_stamps_are_known():
    stamped = as_seconds(b"2026-11-25;14:03:07;1\n2026-11-25;14:03:08;2")
    assert stamped.kinds(";") == ["date", "time", ""]


def test_too_many_stamps_are_refused_with_what_to_do(monkeypatch):
    monkeypatch.setattr("readiness.signal.readers.clock.MOST_STAMPS", 1)
    with pytest.raises(CaptureRefused, match="Export only the ten seconds"):
        as_seconds(b"14:03:07,1\n14:03:08,2")


@settings(max_examples=50, deadline=None)
@given(st.lists(st.integers(0, 86_399_999), min_size=2, max_size=6), st.sampled_from(".:"))
def test_any_times_of_one_day_in_order_keep_every_digit(times, mark):
    times.sort()
    rows = [
        f"{t // 3_600_000:02d}:{t // 60_000 % 60:02d}:{t // 1000 % 60:02d}{mark}{t % 1000:03d},{i}"
        for i, t in enumerate(times)
    ]
    assert body(*rows) == [f"{t // 1000}.{t % 1000:03d},{i}" for i, t in enumerate(times)]


@settings(max_examples=50, deadline=None)
@given(st.text(alphabet="0123456789:.,;/- \n\tTZaPM", max_size=200))
def test_any_text_is_answered(text):
    try:
        as_seconds(text.encode())
    except CaptureRefused as refusal:
        assert refusal.sentence

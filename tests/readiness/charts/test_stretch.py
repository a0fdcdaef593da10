"""The stretch of a trace that is drawn: bounded, whatever an address asks for."""

from __future__ import annotations

import pytest

from readiness.charts.stretch import SHORTEST_S, Stretch, around_event, read_stretch, whole, within


@pytest.mark.parametrize(
    ("start", "end", "expected"),
    [
        ("", "", (0.0, 10.0)),
        ("2.5", "5", (2.5, 5.0)),
        ("7.5", "", (7.5, 10.0)),
        ("", "2.5", (0.0, 2.5)),
        ("-3", "4", (0.0, 7.0)),
        ("8", "400", (0.0, 10.0)),
        ("9", "12", (7.0, 10.0)),
        ("5", "5.001", (5.0, 5.1)),
        ("5", "2", (0.0, 10.0)),
        ("nan", "3", (0.0, 10.0)),
        ("1e400", "inf", (0.0, 10.0)),
        ("lead A", "4", (0.0, 10.0)),
        ("1e-300", "1e300", (0.0, 10.0)),
    ],
)
def test_an_address_asks_for_a_stretch_within_the_trace(start, end, expected):
    asked = read_stretch(start, end, 10.0)
    assert (asked.start_s, asked.end_s) == expected


def test_closer_and_wider_keep_the_middle_and_end_at_the_bounds():
    part = within(4.0, 6.0, 10.0)
    assert part.closer == Stretch(4.5, 5.5, 10.0)
    assert part.wider == Stretch(3.0, 7.0, 10.0)
    assert whole(10.0).wider == whole(10.0) and whole(10.0).is_whole
    for _ in range(20):
        part = part.closer
    assert part.length_s == pytest.approx(SHORTEST_S)
    assert not part.is_whole


def test_arrows_go_half_a_stretch_and_stop_at_the_ends():
    part = within(4.0, 6.0, 10.0)
    assert part.later == Stretch(5.0, 7.0, 10.0)
    assert part.earlier == Stretch(3.0, 5.0, 10.0)
    assert within(9.0, 10.0, 10.0).later == Stretch(9.0, 10.0, 10.0)
    assert within(0.2, 1.2, 10.0).earlier == Stretch(0.0, 1.0, 10.0)


def test_an_event_is_shown_with_what_is_about_it():
    assert around_event(3.1, 10.0) == Stretch(2.85, 3.35, 10.0)
    assert around_event(9.99, 10.0) == Stretch(9.5, 10.0, 10.0)
    assert around_event(3.1, 10.0).holds(3.1) and not around_event(3.1, 10.0).holds(4.0)

"""Numbered events in lines: what counts first, what is alike together."""

from __future__ import annotations

from readiness.judgement.event_lines import event_lines, events_of
from readiness.signal.result import AbruptEvent


def test_events_that_are_alike_share_a_line_and_keep_their_numbers():
    beats = [AbruptEvent(s, s + 0.1, 300.0, "still", None, "beat of the heart") for s in (0.5, 1.5)]
    jump = AbruptEvent(3.25, 3.26, 81.6, "A", "A")
    later = AbruptEvent(4.5, 4.6, 1968.4, "still", None, "beat of the heart")
    first, second = event_lines([*beats, jump, later])
    assert (first.numbers, first.counts) == ("3", True)
    assert first.text == "Abrupt jump: at 3.25 s, up to 81.6 µV, window lead A."
    assert (second.numbers, second.counts) == ("1-2, 4", False)
    assert second.text == "Beat of the heart: at 0.50, 1.50, 4.50 s, up to 1968 µV."


def test_an_event_of_several_spikes_is_named_from_its_begin_to_its_end():
    events = [AbruptEvent(3.13, 3.17, 2883.8, "A", "A"), AbruptEvent(4.54, 4.78, 3676.0, "A", None)]
    (line,) = event_lines(events)
    assert line.text == "Abrupt jump: at 3.13, 4.54 to 4.78 s, up to 3676 µV, window lead A."


def test_many_events_are_counted_and_old_rows_have_no_reason():
    rows = [[t / 2, t / 2 + 0.01, 5.0, "B", "B"] for t in range(6)]
    (line,) = event_lines(events_of({"events": rows}))
    assert line.numbers == "1-6"
    assert "and 2 more" in line.text
    assert events_of({}) == [] and event_lines([]) == []

"""One definition of each bench test, whole and in bench order."""

from __future__ import annotations

import pytest

from readiness.signal.catalogue import (
    CATALOGUE,
    DURATION_S,
    LEADS,
    in_bench_order,
    usual_plan,
)


def test_there_are_five_in_bench_order_of_which_all_on_the_bar_make_the_usual_plan():
    assert list(CATALOGUE) == ["still", "flex", "lift", "ground", "worn"]
    assert usual_plan() == ["still", "flex", "lift", "ground"]


@pytest.mark.parametrize("name", CATALOGUE)
def test_a_definition_is_whole(name):
    kind = CATALOGUE[name]
    assert kind.name == name
    assert callable(kind.judge)
    assert kind.judge.__module__ == f"readiness.signal.bench_tests.{name}"
    assert all((kind.title, kind.ready, kind.shows, kind.asks))
    assert set(kind.proves) <= set(LEADS)
    assert not (kind.held and kind.worn)


@pytest.mark.parametrize("name", CATALOGUE)
def test_its_windows_fill_the_ten_seconds_without_a_gap(name):
    windows = CATALOGUE[name].windows
    starts = [window.start_s for window in windows]
    ends = [window.end_s for window in windows]
    assert (starts[0], ends[-1]) == (0.0, DURATION_S)
    assert starts[1:] == ends[:-1]
    assert all(window.words and window.how for window in windows)
    assert windows[-1].end_ms == 10_000


def test_names_are_put_in_bench_order_and_unknown_ones_left_out():
    assert in_bench_order(["lift", "still", "lift", "dance"]) == ["still", "lift"]

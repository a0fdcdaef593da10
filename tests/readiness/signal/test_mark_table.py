"""A table of marks names those that a look at each would name, whatever stands beside them."""

from functools import cache

import numpy as np
import pytest

from readiness.signal import mark_table
from readiness.signal.mark_table import OWNERS_OF_A_WORD, MarkTable
from readiness.signal.sample_marks import SampleMark, mark_of, may_share
from readiness.signal.simulator.captures import Setup, simulate

SILENT = SampleMark(np.zeros(10, dtype=np.int8), frozenset())


def _mark(seed: int, cut: int = 0) -> SampleMark:
    mark = mark_of(np.random.default_rng(seed).normal(size=8000)[cut:], 1000.0)
    assert mark is not None
    return mark


def test_it_names_what_shares_words_and_nothing_else():
    marks = [_mark(1), SILENT, _mark(2), _mark(3), SILENT]
    stored = [mark.to_bytes() for mark in marks]
    for owners in ([1, 2, 3, 4, 5], [2, 1, 2, 1, 2], [None] * 5):
        table = MarkTable(stored, owners)
        for new in (_mark(2), _mark(3, cut=3000), _mark(4), SILENT):
            assert table.sharing(new) == [k for k, one in enumerate(stored) if may_share(new, one)]
        assert table.sharing(_mark(2)) == [2]
        assert table.sharing(_mark(3, cut=3000)) == [3]


def test_an_empty_table_names_nothing():
    assert MarkTable([], []).sharing(_mark(1)) == []
    assert MarkTable([SILENT.to_bytes()], [1]).sharing(_mark(1)) == []


def test_words_that_many_kits_have_tell_nothing_by_themselves():
    common = frozenset({1, 2, 3, 4})
    several = OWNERS_OF_A_WORD + 1

    def told(*words: int) -> bytes:
        return SampleMark(SILENT.states, frozenset(words)).to_bytes()

    stored = [told(*common, 100 + number) for number in range(several)]
    new = SampleMark(SILENT.states, common | {100})
    assert MarkTable(stored, range(several)).sharing(new) == [0]
    # As many marks of fewer kits: the same recording in several forms.
    fewer = [min(number, OWNERS_OF_A_WORD - 1) for number in range(several)]
    assert MarkTable(stored, fewer).sharing(new) == list(range(several))
    # Two words are too few, however seldom they are.
    assert MarkTable([told(100, 101)], [1]).sharing(new) == []


@cache
def _hummed() -> list[np.ndarray]:
    """Recordings of forty kits in one room, whose hum leaves words that all of them have."""
    return [
        np.asarray(simulate("still", Setup(rate_hz=1024.0, seed=seed)).capture.emg.samples)
        for seed in range(40)
    ]


def _known_as(samples: np.ndarray) -> SampleMark:
    mark = mark_of(samples, 1024.0)
    assert mark is not None
    return mark


@pytest.fixture(scope="module")
def room() -> tuple[list[bytes], MarkTable]:
    stored = [_known_as(samples).to_bytes() for samples in _hummed()]
    return stored, MarkTable(stored, range(len(stored)))


@pytest.fixture
def few(monkeypatch):
    """So few of forty kits are what `OWNERS_OF_A_WORD` is of a large fleet."""
    monkeypatch.setattr(mark_table, "OWNERS_OF_A_WORD", 1)


@pytest.mark.parametrize("form", ["whole", "coarse", "piece", "noisy"])
@pytest.mark.usefixtures("few")
def test_a_copy_is_found_in_a_room_with_hum(room, form):
    _, table = room
    for place, samples in enumerate(_hummed()[::4]):
        size = float(np.std(np.diff(samples))) / 2**0.5
        noise = np.random.default_rng(place).normal(0.0, 0.3 * size, len(samples))
        copies = {
            "whole": samples,
            "coarse": np.round(2 * samples / size) * size / 2,
            "piece": samples[4000:7000],
            "noisy": samples + noise,
        }
        assert 4 * place in table.sharing(_known_as(copies[form]))


@pytest.mark.usefixtures("few")
def test_other_recordings_of_the_room_need_not_be_compared(room):
    stored, table = room
    new = [
        _known_as(
            np.asarray(simulate("still", Setup(rate_hz=1024.0, seed=seed)).capture.emg.samples)
        )
        for seed in range(100, 110)
    ]
    one_by_one = sum(may_share(mark, each) for mark in new for each in stored)
    assert sum(len(table.sharing(mark)) for mark in new) <= one_by_one / 2

"""A table of marks names those that a look at each would name, whatever stands beside them."""

import numpy as np

from readiness.signal.mark_table import MarkTable
from readiness.signal.sample_marks import SampleMark, mark_of, may_share


def _mark(seed: int, cut: int = 0) -> SampleMark:
    mark = mark_of(np.random.default_rng(seed).normal(size=8000)[cut:], 1000.0)
    assert mark is not None
    return mark


def test_it_names_what_shares_words_and_nothing_else():
    silent = SampleMark(np.zeros(10, dtype=np.int8), frozenset())
    marks = [_mark(1), silent, _mark(2), _mark(3), silent]
    stored = [mark.to_bytes() for mark in marks]
    table = MarkTable(stored)
    for new in (_mark(2), _mark(3, cut=3000), _mark(4), silent):
        assert table.sharing(new) == [k for k, one in enumerate(stored) if may_share(new, one)]
    assert table.sharing(_mark(2)) == [2]
    assert table.sharing(_mark(3, cut=3000)) == [3]


def test_an_empty_table_names_nothing():
    assert MarkTable([]).sharing(_mark(1)) == []
    assert (
        MarkTable([SampleMark(np.zeros(4, dtype=np.int8), frozenset()).to_bytes()]).sharing(
            _mark(1)
        )
        == []
    )

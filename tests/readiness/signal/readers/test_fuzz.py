"""A few thousand mutated files with every run of the suite; ``fuzz_readers`` takes any number by
hand.
"""

from __future__ import annotations

from tests.hour import most

from .fuzz_readers import Outcome, answer, run, seeds

COUNT = most(1000, 3000)


def test_the_seeds_themselves_are_read():
    outcome = Outcome()
    for name, data in seeds():
        answer(name, data, outcome)
    assert outcome.read == len(seeds()) and outcome.refused == 0


def test_mutated_files_are_read_or_refused_in_words():
    outcome = run(count=COUNT, seed=7)
    assert outcome.read + outcome.refused == COUNT
    assert outcome.read > COUNT / 10 and outcome.refused > COUNT / 10 and outcome.slowest_s < 5.0

"""The kits of a study, each to be made again."""

from __future__ import annotations

import numpy as np

from readiness.signal.catalogue import CATALOGUE
from readiness.signal.simulator.captures import FILE_FAULTS, KIT_FAULTS, TROUBLES
from readiness.signal.study.cohort import (
    CASES,
    DECK,
    Answer,
    make_kit,
    run_kits,
)


def test_every_fault_and_trouble_of_the_model_is_in_the_study() -> None:
    assert {case.kind for case in DECK} == {"sound", *KIT_FAULTS, *FILE_FAULTS, *TROUBLES}
    assert [case.lead for case in CASES if case.kind == "intermittent_lead"] == [
        "A",
        "B",
        "ground",
    ]


def test_a_kit_of_the_study_can_be_made_again() -> None:
    one, again, other = make_kit(10, 3), make_kit(10, 3), make_kit(10, 4)
    for test in CATALOGUE:
        assert np.array_equal(
            one.captures[test].capture.emg.samples, again.captures[test].capture.emg.samples
        )
    assert one.setup == again.setup != other.setup


def test_two_processes_give_the_same_kits_as_one() -> None:
    def verdicts(workers: int) -> list[dict[str, Answer]]:
        return [scored.plans for scored in run_kits(10, seed=5, workers=workers)]

    assert verdicts(2) == verdicts(1)

"""Many marks at a time are told apart as one after the other is."""

import numpy as np
import pytest

from readiness.signal.many_marks import AT_ONCE, begins_later
from readiness.signal.sample_marks import SampleMark, mark_from, mark_of, same_samples
from tests.readiness.signal.made import RATE, model_capture

pytestmark = pytest.mark.any_database


def _mark(samples: np.ndarray) -> SampleMark:
    mark = mark_of(samples, RATE)
    assert mark is not None
    return mark


def test_each_begins_as_much_later_as_when_it_is_looked_at_alone():
    samples = model_capture("still", seed=5).emg.samples
    new = _mark(samples[1024:])
    # All share words with the new one, as the captures of a low rate do by chance.
    strangers = [
        SampleMark(_mark(model_capture("still", seed=seed).emg.samples).states, new.words)
        for seed in range(10, 14)
    ]
    forms = [
        _mark(part) for part in (samples, samples[2048:], np.round(-3 * samples), samples[:6000])
    ]
    marks = [*strangers, *forms] * (AT_ONCE // 8) + [strangers[0], forms[1]]
    stored = [mark.to_bytes() for mark in marks]
    alone = [same_samples(new, mark_from(each)) for each in stored]
    assert list(begins_later(new, stored)) == alone
    assert alone[:8] == [None] * 4 + [pytest.approx(lag, abs=1e-3) for lag in (1.0, -1.0, 1.0, 1.0)]
    assert alone[-2:] == [alone[0], alone[5]]


def test_nothing_is_looked_at_before_it_is_asked_for():
    new = _mark(model_capture("still", seed=5).emg.samples)
    answers = begins_later(new, [new.to_bytes()] * AT_ONCE + [b"damaged"])
    assert next(answers) == 0.0
    assert list(begins_later(new, [])) == []

"""Scores and verdicts from probabilities."""

from __future__ import annotations

import pytest

from readiness.signal.statistics.decision import (
    conforms_lower_meter,
    conforms_noise,
    score_of,
    verdict_of,
)


@pytest.mark.parametrize(
    ("score", "verdict"),
    [(100, "fit"), (95, "fit"), (94.9, "retest"), (5.1, "retest"), (5, "not fit"), (0, "not fit")],
)
def test_thresholds(score, verdict):
    assert verdict_of(score) == verdict


def test_scores_stay_within_0_and_100():
    assert (score_of(1.2), score_of(-0.1), score_of(0.51234)) == (100, 0, 51.2)


def test_an_uncertainty_must_be_positive():
    with pytest.raises(ValueError, match="above zero"):
        conforms_lower_meter(1.0, 0.0, 0.1, 2.0)
    with pytest.raises(ValueError, match="above zero"):
        conforms_noise(1.0, 40, 0.0)

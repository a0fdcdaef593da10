"""The noise limit that an amplifier's first good captures propose."""

import pytest

from readiness.judgement.own_limit import proposed_limit_uv, usual_noise_uv


@pytest.mark.parametrize(
    ("values", "usual"),
    [([], None), ([0.5, 0.6], None), ([0.5, 0.6, 0.7], 0.6), ([0.5, 0.6, 0.7, 9.0], 0.65)],
)
def test_three_captures_make_a_usual_noise(values, usual):
    assert usual_noise_uv(values) == pytest.approx(usual)


def test_the_limit_is_a_third_above_the_usual_noise():
    assert proposed_limit_uv([0.5, 0.6, 0.7]) == 0.8


def test_the_limit_proposed_is_a_third_above_the_median():
    assert proposed_limit_uv([0.6, 3.0, 0.9]) == 1.2

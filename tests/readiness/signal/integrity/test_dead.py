"""Traces in which nothing is measured."""

from __future__ import annotations

import numpy as np
import pytest

from readiness.signal.integrity.checks import check_integrity

from .traces import capture, codes_of, noise


@pytest.mark.parametrize("value", [0.0, -3.25, 9e4])
def test_a_constant_trace_is_dead(value):
    (note,) = check_integrity(capture(np.full(10_000, value)))
    assert note.code == "dead_channel" and "nothing is measured" in note.text


def test_a_two_valued_trace_is_dead():
    samples = np.where(np.random.default_rng(1).random(10_000) < 0.5, 0.0, 2.0)
    assert codes_of(samples) == ["dead_channel"]


def test_dithering_by_one_code_is_dead():
    # Spread of the codes 0.2 LSB, below the rounding noise LSB/sqrt(12) = 0.2887 LSB (Widrow;
    # Bennett 1948).
    picks = np.random.default_rng(2).choice([-1.0, 0.0, 1.0], 10_000, p=[0.02, 0.96, 0.02])
    assert codes_of(picks * 2.44) == ["dead_channel"]


def test_a_coarse_converter_over_real_noise_is_not_dead():
    # 0.4 LSB of noise gives three codes and a spread of 0.49 LSB, above LSB/sqrt(12).
    assert codes_of(noise(sd=0.4 * 2.44, step=2.44)) == []

"""The hand of an operator: calm as it stands, drawn wide for the study."""

from __future__ import annotations

import numpy as np
import pytest

from readiness.signal.simulator.captures import draw_setup
from readiness.signal.simulator.hand import Hand

pytestmark = pytest.mark.any_database


def test_a_hand_is_calm_as_it_stands_and_brings_in_much_where_it_is_drawn() -> None:
    rng = np.random.default_rng(4)
    hands = [draw_setup(rng).hand for _ in range(200)]
    assert Hand().is_calm and not any(hand.is_calm for hand in hands)
    volts, pf = [h.mains_v for h in hands], [h.bar_pf for h in hands]
    assert 0.1 <= min(volts) < 0.3 and 3.0 < max(volts) <= 5.0
    assert 5.0 <= min(pf) < 10.0 and 120.0 < max(pf) <= 200.0
    assert min(hand.static_v for hand in hands) < 0.3 and max(h.static_v for h in hands) > 10.0

"""A short is called by evidence of its own; the want of a reaction proves nothing."""

from __future__ import annotations

import numpy as np
import pytest

from readiness.signal.score import score_capture
from tests.readiness.signal.made import RATE, capture_of, codes, quiet

pytestmark = pytest.mark.any_database
T = np.arange(10240) / RATE


def lift(seed: int = 1, *, moved_uv: float = 0.0, **noise_by_lead: float) -> set:
    """Codes of a lift in which hands sway slowly and noise is multiplied while a lead is up."""
    rng = np.random.default_rng(seed)
    x = quiet(rng, 1.0)
    for lead, (start, end) in {"A": (2.9, 4.6), "B": (5.4, 7.2)}.items():
        x[(start <= T) & (end > T)] *= noise_by_lead.get(lead, 1.0)
    x += moved_uv * np.sin(2 * np.pi * 1.7 * T) * (T > 2.4)
    return codes(score_capture(capture_of(x, "lift", rate=RATE)))


def test_leads_that_were_moved_and_never_left_the_bars_noise_are_shorted() -> None:
    assert lift(moved_uv=20.0) == {("leads_shorted", None)}


def test_leads_that_nobody_moved_are_not_proven_to_be_shorted() -> None:
    assert lift() == {("lead_unproven", "A"), ("lead_unproven", "B")}


@pytest.mark.parametrize("times", [0.07, 0.4, 2.2])
def test_a_lead_whose_lifting_changes_noise_either_way_is_not_called_shorted(times: float) -> None:
    found = lift(moved_uv=6.0, A=times, B=times)
    assert not any(code == "leads_shorted" for code, _ in found)

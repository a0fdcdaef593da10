"""A capture made ready for judging."""

import numpy as np
import pytest

from readiness.signal.bench_tests.view import USUAL_SHARE, View, swings_rail_to_rail
from readiness.signal.limits import Limits
from tests.readiness.signal.made import capture_of, quiet

T = np.arange(10240) / 1024


def view(x: np.ndarray, *, limits: Limits | None = None, test: str = "flex", **facts) -> View:
    return View(capture_of(x, test, **facts), limits or Limits(), test)


@pytest.mark.parametrize(
    ("rate", "high", "wide"), [(256.0, 102.4, True), (1024.0, 409.6, True), (128.0, 51.2, False)]
)
def test_the_judged_band_ends_where_the_rate_ends_it(rate, high, wide):
    seen = view(quiet(np.random.default_rng(1), rate=rate), rate=rate)
    assert seen.band_hz == (20.0, pytest.approx(high))
    assert seen.band_wide_enough == wide
    assert seen.limit_uv < 2.0


def test_nothing_real_is_below_physics_or_far_below_its_own_usual():
    x = quiet(np.random.default_rng(1))
    physical = view(x).floor_uv
    assert 0.1 < physical < 0.5
    assert view(x, resolution=4.0).floor_uv > physical
    usual = view(x, limits=Limits(usual_noise_uv=3.0)).floor_uv
    assert physical < usual < USUAL_SHARE * 3.0


def test_noise_and_hum_of_the_still_part_are_told_apart():
    x = quiet(np.random.default_rng(1)) + 100 * np.sqrt(2) * np.sin(2 * np.pi * 50 * T)
    seen = view(x)
    assert seen.still_hum_uv == pytest.approx(100, rel=0.05)
    assert seen.still_lines_uv == pytest.approx(100, rel=0.1)
    assert seen.still_noise_uv == pytest.approx(np.sqrt(389.6 / 512), rel=0.2)


def test_both_ends_of_the_range_are_reached_or_not():
    x = np.clip(900 * np.sin(2 * np.pi * 50 * T), -500, 500)
    assert swings_rail_to_rail(view(x, full_scale=(-500.0, 500.0)))
    assert not swings_rail_to_rail(view(x, full_scale=(-500.0, 900.0)))
    assert not swings_rail_to_rail(view(np.abs(x), full_scale=(-500.0, 500.0)))


def test_where_a_lifted_lead_drowns_every_line_the_still_part_shows_the_mains():
    rng = np.random.default_rng(1)
    hum = 80 * np.sqrt(2) * np.sin(2 * np.pi * 60 * T)
    pinned = np.where((T > 2.6) & (T < 4.4), 4e5 * np.sign(np.sin(2 * np.pi * 0.9 * T)), 0.0)
    wild = np.where(T > 2.6, rng.normal(0, 3e3, len(T)), 0.0)
    seen = view(quiet(rng) + hum + pinned + wild, test="lift")
    assert (seen.mains.present, seen.mains.nominal_hz) == (True, 60.0)
    assert seen.still_hum_uv == pytest.approx(80, rel=0.05)
    assert seen.still_noise_uv < 2.0

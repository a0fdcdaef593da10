"""From kits to figures."""

from __future__ import annotations

import pytest

from readiness.signal.statistics.shares import Share
from readiness.signal.study.cohort import (
    SOUND,
    Answer,
    Case,
    Scored,
)
from readiness.signal.study.tally import goals, naming, tally

from .kits import FIT, UNPROVEN, kit, not_fit


def test_naming_counts_a_second_lead_as_wrong_and_none_as_open() -> None:
    both = Answer("not fit", (("open_lead", "A", "not fit"), ("open_lead", "B", "not fit")))
    views = [
        (not_fit("open_lead", "A"), "A"),
        (both, "A"),
        (not_fit("open_lead"), "A"),
        (FIT, "A"),
        (UNPROVEN, "A"),
    ]
    named = naming(views)
    assert (named["named_right"], named["named_wrong"], named["named_none"]) == (
        Share(1, 3),
        Share(1, 3),
        Share(1, 3),
    )


def test_goals_keep_intermittent_ground_and_unproven_ground_apart() -> None:
    kits = [
        kit(SOUND, FIT),
        kit(SOUND, UNPROVEN),
        kit(
            SOUND,
            Answer(
                "retest", (("lead_unproven", "A", "retest"), ("lead_unproven", "ground", "retest"))
            ),
        ),
        kit(SOUND, not_fit("excess_noise")),
        kit(Case("intermittent_lead", "ground"), FIT),
        kit(Case("intermittent_lead", "A"), FIT),
        kit(Case("open_lead", "B"), not_fit("open_lead", "A")),
        kit(Case("bench_interference"), not_fit("excess_noise")),
        kit(Case("battery_low"), not_fit("battery_low")),
    ]
    figures = goals(kits, "still+flex+lift")
    assert figures["fault_passed"] == Share(1, 3)
    assert figures["worst_fault_passed"] == Share(1, 1)
    assert figures["ground_gap_passed"] == Share(1, 1)
    assert figures["sound_not_fit"] == Share(1, 4)
    assert figures["sound_retest"] == Share(2, 4)
    assert figures["sound_retest_but_ground"] == Share(1, 4)
    assert figures["named_wrong"] == Share(1, 1)
    assert figures["hum_called_fault"] == Share(1, 1)


def test_coverage_counts_intervals_that_hold_the_truth() -> None:
    kits = [
        kit(SOUND, FIT),
        kit(SOUND, FIT, (1.0, 0.9, 1.1), 1.2),
        kit(SOUND, FIT, None),
        kit(Case("burst_noise"), FIT),
    ]
    row = tally(kits)["coverage"]["still"]
    assert row["inside"] == Share(1, 2)
    assert row["mean_ratio"] == pytest.approx((1 + 1 / 1.2) / 2)


def test_a_table_leaves_out_captures_that_do_not_carry_the_slip() -> None:
    slipped = kit(Case("not_on_bar"), UNPROVEN)
    slipped.tests["flex"] = Scored(FIT, False, 5.0, None, 1.0)
    tables = tally([slipped])["tests"]
    assert tables["flex"] == []
    assert tables["still"][0]["retest"] == Share(1, 1)

"""Results of a kit's bench tests come to one verdict."""

from __future__ import annotations

from dataclasses import replace

import pytest

from readiness.signal.kit import kit_verdict
from readiness.signal.result import Measurement, Result
from readiness.signal.score import score_capture
from readiness.signal.simulator.captures import Fault
from readiness.signal.simulator.hand import Hand

from .made import codes, model_capture, results

PINNED = Fault("open_lead", float("inf"), "B", variant="pinned")
AT_ITS_STOP = {
    "low_pass_hz": 420.0,
    "stopped_gain": 0.01,
    "second_stage_nv": 1.0,
    "lead_na": 1.0,
    "bits": 24,
}


def test_a_sound_kit_is_fit_and_every_lead_is_proven():
    verdict = kit_verdict(results())
    assert (verdict.verdict, verdict.proven, verdict.missing) == ("fit", ("A", "B", "ground"), ())
    assert verdict.scores.noise >= 95
    assert verdict.scores.continuity >= 95
    assert verdict.action == "Clear the kit for issue"


@pytest.mark.parametrize("lead", ["A", "B"])
def test_an_open_lead_seen_unnamed_in_still_is_named_by_lift(lead):
    found = results(Fault("open_lead", float("inf"), lead))
    assert codes(found["still"]) <= {
        ("open_lead", None),
        ("bench_interference", None),
        ("saturated", None),
    }
    verdict = kit_verdict(found)
    assert verdict.verdict == "not fit"
    assert ("open_lead", lead) in codes(verdict)
    assert ("open_lead", None) not in codes(verdict)
    assert verdict.action == f"Replace lead {lead}"


def test_an_open_ground_is_never_a_silent_pass():
    verdict = kit_verdict(results(Fault("open_lead", float("inf"), "ground")))
    assert verdict.verdict != "fit"
    assert "ground" not in verdict.proven


def test_hum_that_appears_only_while_the_bar_is_held_is_an_open_ground_whatever_turns_it():
    """Five volts of a body: clipped in both inputs, a thousandth in their difference."""
    loud = Hand(mains_v=3.0, bar_pf=150.0)
    found = results(Fault("open_lead", float("inf"), "ground"), hand=loud, cmrr_db=82.0)
    assert found["still"].verdict == "fit"
    for lift in (found["lift"], replace(found["lift"], proven=("A", "B", "ground"))):
        verdict = kit_verdict({**found, "lift": lift})
        assert ("open_lead", "ground") in codes(verdict)
        assert "ground" not in verdict.proven
    assert kit_verdict(results(hand=loud, cmrr_db=82.0)).verdict == "fit"


def test_a_small_rise_proves_no_ground_where_holding_the_bar_adds_hum():
    found = results()
    names = ("still_part_hum", "ground_hum_ratio", "hum_uncertainty")

    def with_hum(test: str, *values: float) -> Result:
        told = dict(zip(names, values, strict=False))
        rows = [row for row in found[test].measurements if row.name not in told]
        rows += [Measurement(name, value, "uV") for name, value in told.items()]
        return replace(found[test], measurements=tuple(rows))

    small = {**found, "still": with_hum("still", 13.0), "lift": with_hum("lift", 22.0, 1.5, 0.1)}
    small["flex"] = with_hum("flex", 22.0)
    assert "ground" not in kit_verdict(small).proven
    large = {**small, "lift": with_hum("lift", 22.0, 2.5, 0.1)}
    not_held = {**small, "still": with_hum("still", 20.0)}
    assert all("ground" in kit_verdict(some).proven for some in (large, not_held))


def test_a_channel_that_is_dead_in_one_capture_and_lives_in_the_others_is_not_dead():
    found = results()
    silent = model_capture("still", Fault("dead_channel", 0.0), seed=3)
    verdict = kit_verdict({**found, "still": score_capture(silent)})
    assert verdict.verdict == "retest"
    assert ("dead_channel", None) not in codes(verdict)


def test_a_quiet_channel_that_answers_one_lead_is_an_open_lead_and_no_dead_channel():
    """At its stop the first stage passes a hundredth: too quiet for a working input, yet lifting
    lead A still shows.
    """
    found = results(PINNED, **AT_ITS_STOP)
    assert ("dead_channel", None) in codes(found["still"])
    verdict = kit_verdict(found)
    assert verdict.verdict == "not fit"
    assert codes(verdict) - {("bench_interference", None)} == {("open_lead", "B")}
    assert verdict.action == "Replace lead B"
    assert "B" not in verdict.proven


def test_a_dead_channel_answers_no_lead_and_stays_dead():
    verdict = kit_verdict(results(Fault("dead_channel", 0.0)))
    assert verdict.verdict == "not fit"
    assert ("dead_channel", None) in codes(verdict)
    assert not any(code == "open_lead" for code, _ in codes(verdict))


def test_leads_off_the_bar_are_the_rooms_doing():
    verdict = kit_verdict(
        {**results(), "still": score_capture(model_capture("still", Fault("not_on_bar"), seed=3))}
    )
    assert verdict.verdict == "retest"
    assert ("not_on_bar", None) in codes(verdict) or ("bench_interference", None) in codes(verdict)


def test_a_plan_that_is_not_complete_is_not_fit_to_issue():
    found = results(tests=("still",))
    verdict = kit_verdict(found)
    assert verdict.verdict == "retest"
    assert verdict.missing == ("flex", "lift")
    assert verdict.action == "Run the flex test"


def test_without_a_stated_plan_the_second_post_is_asked_for_where_lift_proves_no_ground():
    quiet = results(cmrr_db=130.0, body_na=0.1)
    verdict = kit_verdict(quiet)
    assert (verdict.verdict, verdict.missing) == ("retest", ("ground",))
    assert ("lead_unproven", "ground") in codes(verdict)
    plan = ("still", "flex", "lift", "ground")
    assert kit_verdict(results()).missing == ()
    assert kit_verdict(results(), plan).missing == ("ground",)
    on_post = results(tests=("ground",), lead_na=0.001)
    assert kit_verdict({**quiet, **on_post}, plan).verdict == "fit"

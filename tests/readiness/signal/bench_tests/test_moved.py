"""A flex in which nothing moved clears nothing; honest hands are seen, or asked."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.signal import butter, sosfilt

from readiness.signal.bench_tests.findings import may_be_confirmed
from readiness.signal.bench_tests.moved import movement
from readiness.signal.bench_tests.view import View
from readiness.signal.kit import kit_verdict
from readiness.signal.limits import Limits
from readiness.signal.score import score_capture
from readiness.signal.simulator.captures import Fault
from readiness.signal.statistics.shares import share
from tests.hour import most
from tests.readiness.signal.bench_of_hands import draw_bench, hand_flex
from tests.readiness.signal.made import capture_of, codes, model_capture, quiet, results


def unseen(result) -> list[tuple[str | None, str]]:
    return [(item.lead, item.verdict) for item in result.findings if item.code == "no_movement"]


def test_a_still_offered_as_flex_does_not_clear_the_kit():
    captures = results()
    assert kit_verdict(captures).verdict == "fit"
    offered = score_capture(replace(model_capture("still", seed=4), test="flex", moved=True))
    assert unseen(offered) == [(None, "retest")]
    assert offered.verdict == "retest"
    assert offered.scores.continuity is None
    assert not may_be_confirmed(offered)
    kit = kit_verdict({**captures, "flex": offered})
    assert kit.verdict == "retest"
    assert kit.action == "Record flex again and bend each lead through its whole window"


def test_the_lead_that_was_left_out_is_named():
    rng = np.random.default_rng(3)
    bench = replace(draw_bench(rng, 0.5), order=1, gain_uv=60.0, noise_uv=0.8, leak_s=0.3)
    flex = score_capture(hand_flex(bench, rng, ("A", "ground")))
    assert unseen(flex) == [("B", "retest")]
    (item,) = [item for item in flex.findings if item.code == "no_movement"]
    assert item.text.startswith("No movement seen in B's window")
    assert item.action == "Record flex again and bend lead B through its whole window"
    assert flex.value_of("movement_A") > flex.value_of("movement_B")
    assert unseen(score_capture(hand_flex(bench, np.random.default_rng(3)))) == []


def test_where_the_high_pass_hides_movement_the_operators_word_counts_and_stays():
    hidden = model_capture("flex", seed=6, high_pass_hz=20.0, movement_uv=6.0, movement_hz=1.5)
    asked = score_capture(hidden)
    assert asked.verdict == "retest"
    assert may_be_confirmed(asked)
    assert asked.findings[0].action.startswith("Tick that each lead was moved")
    confirmed = score_capture(replace(hidden, moved=True))
    assert confirmed.verdict == "fit"
    assert confirmed.scores.continuity == 100.0
    assert {verdict for _, verdict in unseen(confirmed)} == {"note"}
    assert all("The operator confirms" in item.text for item in confirmed.findings)
    # The kit type states its band: what it states goes before what the noise tells.
    stated = score_capture(replace(hidden, moved=True), Limits(high_pass_hz=0.5))
    assert stated.verdict == "retest"
    quiet = replace(model_capture("still", seed=4), test="flex")
    assert may_be_confirmed(score_capture(quiet, Limits(high_pass_hz=5.0)))


def test_a_high_pass_before_the_first_stage_is_told_by_the_plan_alone():
    """The hand is taken away, the noise behind it is not."""
    rate, noise = 1024.0, 1.5
    x = quiet(np.random.default_rng(8), noise, rate)
    t = np.arange(len(x)) / rate
    hand = 12.0 * np.sin(2 * np.pi * 1.1 * t) * (t > 2.5)
    hand = sosfilt(butter(2, 15.0, "highpass", fs=rate, output="sos"), hand)
    flex = replace(capture_of(x + hand, "flex", rate=rate), moved=True)
    silent = score_capture(flex)
    assert [verdict for _, verdict in unseen(silent)] == ["retest"]
    (item,) = [item for item in silent.findings if item.code == "no_movement"]
    assert "state its high-pass in the test plan" in item.text
    stated = score_capture(flex, Limits(high_pass_hz=15.0))
    assert {verdict for _, verdict in unseen(stated)} == {"note"} and stated.verdict == "fit"
    never = score_capture(flex, Limits(high_pass_hz=0.0))
    (item,) = [item for item in never.findings if item.code == "no_movement"]
    assert item.text.endswith("record again.")


def test_a_broken_strand_is_told_though_another_lead_was_not_moved():
    flex = model_capture("flex", Fault("intermittent_lead", 0.02, "A", count=4), seed=5)
    x = flex.emg.samples.copy()
    x[round(5.2 * 1024) :] = model_capture("still", seed=9).emg.samples[round(5.2 * 1024) :]
    result = score_capture(replace(flex, emg=replace(flex.emg, samples=x)))
    assert result.verdict == "not fit"
    assert ("intermittent_lead", "A") in codes(result)
    assert ("no_movement", "ground") in codes(result)
    assert result.scores.continuity == 0.0


def hands(numbers: range, seed: int) -> list[tuple[float, bool, bool, bool]]:
    """High-pass, honest flex sent back, honest flex to be confirmed, unmoved flex not passed; of
    the second model's benches.
    """
    rows = []
    for number in numbers:
        rng = np.random.default_rng((number, seed))
        bench = draw_bench(rng)
        honest = movement(View(replace(hand_flex(bench, rng), moved=True), Limits(), "flex"))
        nothing = movement(View(hand_flex(bench, rng, ()), Limits(), "flex"))
        asked = bool(honest.findings) and not honest.is_open
        rows.append((bench.high_pass_hz, honest.is_open, asked, nothing.is_open))
    return rows


def test_hands_of_another_model_are_seen_and_a_still_in_their_place_is_not_passed():
    rows = hands(range(12), 21)
    assert not any(sent_back for _, sent_back, _, _ in rows)
    assert all(caught for *_, caught in rows)


@pytest.mark.slow
def test_how_often_hands_of_another_model_are_sent_back(capsys):
    rows = hands(range(most(200, 600)), 24)
    sent_back, asked = share([row[1] for row in rows]), share([row[2] for row in rows])
    low = share([row[3] for row in rows if row[0] <= 10])
    high = share([row[3] for row in rows if row[0] > 10])
    with capsys.disabled():
        print(
            f"\nhonest flex sent back {sent_back}, to be confirmed {asked};"
            f" still as flex caught {low}, high-pass above 10 Hz {high}"
        )
    assert sent_back.value <= 0.005
    assert low.value >= 0.95

"""What is next at the bench, by the facts alone."""

from __future__ import annotations

import pytest

from readiness.judgement.next_acts import (
    FIRST_FINDING,
    ON_CAPTURE_PAGE,
    ActPlace,
    BenchAct,
    LeadSetFacts,
    RoundFacts,
    capture_act,
    day_act,
    finding_act,
    round_act,
    waits_for,
)
from readiness.states import BenchDayState, CaptureStatus, VerdictWord

SHORT, LONG = "Replace lead A", "Replace the lead set and test once more, please"
MENDS = BenchAct(SHORT, ActPlace.SWAP)


@pytest.mark.parametrize(
    ("code", "verdict", "lead_set", "place", "short"),
    [
        ("open_lead", "not fit", LeadSetFacts(True, True), ActPlace.SWAP, "Swap the lead set"),
        ("open_lead", "not fit", LeadSetFacts(), ActPlace.KIT, "See to the kit"),
        ("open_lead", "retest", LeadSetFacts(True, True), ActPlace.TIMER, "Test again"),
        ("battery_low", "retest", LeadSetFacts(), ActPlace.BATTERY, "See to the battery"),
        ("wrong_order", "note", LeadSetFacts(), ActPlace.KIT, "See to the kit"),
    ],
)
def test_a_finding_is_mended_where_its_kind_says(
    code: str, verdict: str, lead_set: LeadSetFacts, place: ActPlace, short: str
) -> None:
    finding = {"code": code, "verdict": verdict, "action": LONG}
    act = finding_act(finding, "flex", lead_set)
    assert (act.words, act.place) == (short, place)
    assert act.test == ("flex" if place is ActPlace.TIMER else "")
    assert finding_act({**finding, "action": SHORT}, "flex", lead_set).words == SHORT


def test_a_lead_set_that_was_swapped_is_tested_again_and_not_replaced() -> None:
    finding = {"code": "open_lead", "verdict": "not fit", "action": SHORT}
    act = finding_act(finding, "flex", LeadSetFacts(known=True, in_kit=False))
    assert act == BenchAct("Test again", ActPlace.TIMER, "flex")


@pytest.mark.parametrize(
    ("status", "asks_column", "words"),
    [
        (CaptureStatus.ASKING, True, "Say which column it is"),
        (CaptureStatus.ASKING, False, "Answer"),
        (CaptureStatus.UNREADABLE, False, "Record it again"),
        (CaptureStatus.WAITING, False, "Look"),
        (CaptureStatus.SCORING, False, "Look"),
        (CaptureStatus.SCORED, False, "See the kit"),
    ],
)
def test_a_capture_without_finding(status: CaptureStatus, asks_column: bool, words: str) -> None:
    act = capture_act(status, asks_column=asks_column, worst_finding_act=None)
    assert act.words == words
    leads_away = words in ("Say which column it is", "See the kit")
    assert (act.place not in ON_CAPTURE_PAGE) == leads_away


def test_a_scored_capture_is_mended_first() -> None:
    scored = CaptureStatus.SCORED
    assert capture_act(scored, asks_column=False, worst_finding_act=MENDS) == MENDS


@pytest.mark.parametrize(
    ("facts", "finding_waits", "words"),
    [
        (RoundFacts("not fit", at_the_bench=False), True, None),
        (RoundFacts("fit"), False, None),
        (RoundFacts("not fit", next_test="lift"), True, FIRST_FINDING.words),
        (RoundFacts("retest"), True, FIRST_FINDING.words),
        (RoundFacts("", next_test="lift"), True, "Record lift"),
        (RoundFacts("fit", cleared=True), True, "Next kit"),
        (RoundFacts("retest"), False, None),
    ],
)
def test_a_round(facts: RoundFacts, finding_waits: bool, words: str | None) -> None:
    act = round_act(facts, finding_waits=finding_waits)
    assert (act.words if act else None) == words


def test_every_verdict_says_what_a_kit_waits_for() -> None:
    assert {waits_for(verdict) for verdict in VerdictWord} == {"Mend", "Retest", "Clear"}
    assert waits_for("") == "Test"


def test_the_check_kit_is_tested_before_it_is_looked_at() -> None:
    assert day_act(BenchDayState.UNTESTED) == BenchAct("Test it first", ActPlace.TIMER, "still")
    assert day_act(BenchDayState.SUSPECT).words == "See"

"""The next action at the bench, with its address."""

from __future__ import annotations

import pytest

from readiness.judgement.next_acts import ActPlace, BenchAct
from readiness.models import Capture, Verdict
from readiness.selectors.next_steps import act_for, capture_step, kit_step, worst_finding
from rentals.models import Kit, Part

KIT = Kit(pk=1, code="K0014E")
LEADS = Part(pk=3, code="P0015S", kind="lead_set", kit=KIT)
CAPTURE = Capture(pk=7, kit=KIT, lead_set=LEADS, test="flex", status="scored")


@pytest.mark.parametrize(
    ("place", "end"),
    [
        (ActPlace.CAPTURE, CAPTURE.get_absolute_url()),
        (ActPlace.ANSWER, "#answer"),
        (ActPlace.COLUMNS, "/columns/"),
        (ActPlace.SWAP, "/swap/P0015S/"),
        (ActPlace.BATTERY, "#battery"),
        (ActPlace.TIMER, "?kit=K0014E"),
        (ActPlace.ROUND, "/kits/K0014E/round/"),
        (ActPlace.KIT, KIT.get_absolute_url()),
    ],
)
def test_an_act_on_a_capture_has_an_address(place, end):
    step = capture_step(CAPTURE, BenchAct("Do it", place, "flex"))
    assert step.label == "Do it"
    assert step.url.endswith(end)


def test_what_has_no_page_of_its_own_is_done_on_the_kit_s():
    without = Capture(pk=8, kit=KIT, test="flex")
    assert capture_step(without, BenchAct("Swap", ActPlace.SWAP)).url == KIT.get_absolute_url()
    places = (ActPlace.BENCH, ActPlace.KIT_BENCH)
    assert len({kit_step(KIT, BenchAct("See", place)).url for place in places}) == 2


def finding(verdict: str, text: str) -> dict[str, str]:
    return {"code": "open_lead", "verdict": verdict, "text": text, "action": text}


def test_the_gravest_finding_leads_and_notes_lead_nowhere():
    rows = [finding("note", "n"), finding("retest", "r"), finding("not fit", "Mend it")]
    assert worst_finding(rows) == rows[2]
    assert worst_finding([]) is None
    assert act_for(CAPTURE, Verdict(result={"findings": rows})).words == "Mend it"
    noted = Verdict(result={"findings": rows[:1]})
    assert act_for(CAPTURE, noted).place is ActPlace.KIT_BENCH
    assert act_for(Capture(status="asking", missing="column"), None).place is ActPlace.COLUMNS

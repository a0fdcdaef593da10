"""Every kind of finding is defined once, whole, and says only what it may."""

from __future__ import annotations

import pytest

from readiness.signal.bench_tests.findings import FINDING_KINDS, WORST_FIRST, finding, worst_first
from readiness.signal.catalogue import CATALOGUE
from readiness.signal.result import ASPECTS_SCORED
from readiness.signal.simulator.faults import CODE_OF
from readiness.signal.simulator.faults import KINDS as SIMULATED

CODES = [
    "open_lead",
    "intermittent_lead",
    "leads_shorted",
    "dead_channel",
    "saturated",
    "stuck_bits",
    "clipped",
    "excess_noise",
    "low_frequency_noise",
    "burst_noise",
    "bench_interference",
    "not_on_bar",
    "worn_not_shorted",
    "moved_too_early",
    "wrong_order",
    "no_movement",
    "lead_unproven",
    "wrong_scale",
    "missing_samples",
    "not_raw",
    "repeated_samples",
    "wrong_post",
    "time_base",
    "battery_low",
    "battery_sagging",
    "battery_missing",
]


def test_the_codes_of_the_contract_are_all_there_and_no_other():
    assert set(FINDING_KINDS) == set(CODES)
    assert {CODE_OF.get(kind, kind) for kind in SIMULATED} < set(CODES)


@pytest.mark.parametrize("code", CODES)
def test_a_kind_has_all_its_fields(code):
    kind = FINDING_KINDS[code]
    assert kind.code == code
    assert kind.aspect in (*ASPECTS_SCORED, "capture", "bench")
    assert kind.title[:1].isupper()
    assert kind.action[:1].isupper()
    assert kind.mended_at in ("lead set", "battery", "kit")
    assert kind.verdicts
    assert set(kind.verdicts) <= set(WORST_FIRST)
    assert kind.usual_verdict == kind.verdicts[0]


@pytest.mark.parametrize("code", CODES)
def test_a_finding_takes_aspect_and_action_from_its_kind(code):
    kind = FINDING_KINDS[code]
    made = finding(code, kind.usual_verdict, "So it is.")
    assert (made.aspect, made.action, made.lead) == (kind.aspect, kind.action, None)


def test_a_named_lead_that_is_not_fit_is_to_be_replaced():
    assert finding("open_lead", "not fit", "Open.", lead="B").action == "Replace lead B"
    assert finding("open_lead", "retest", "Open.", lead="B").action != "Replace lead B"


@pytest.mark.parametrize(
    ("code", "verdict"),
    [("no_such_code", "retest"), ("not_on_bar", "not fit"), ("dead_channel", "note")],
)
def test_what_a_finding_never_says_is_refused(code, verdict):
    with pytest.raises(ValueError, match=code):
        finding(code, verdict, "So it is.")


def test_the_gravest_comes_first_and_the_rest_as_they_came():
    note = finding("wrong_order", "note", "n")
    again = [finding(code, "retest", "r") for code in ("time_base", "battery_missing")]
    bad = finding("clipped", "not fit", "c")
    assert worst_first([note, *again, bad]) == (bad, *again, note)


@pytest.mark.parametrize("name", CATALOGUE)
def test_a_bench_test_is_blind_only_to_what_can_be_found(name):
    kinds = {row.split()[0] for row in CATALOGUE[name].blind_to}
    assert {CODE_OF.get(kind, kind) for kind in kinds} <= set(CODES)

"""The verdict on a kit from its tests together: what one cannot tell, another does."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from .bench_tests.findings import NOTE, Finding, finding, verdict_of_findings, worst_first
from .bench_tests.lift import GROUND_SURE, REACTS, REACTS_IN_HUM, pinned_lead
from .leads.events import LEADS
from .statistics.decision import FIT, NOT_FIT, RETEST

if TYPE_CHECKING:
    from .score import Result, Scores

EXPLAINED_BY_PINNED = ("dead_channel", "open_lead", "wrong_order", "lead_unproven", "leads_shorted")
"""An open lead that holds the first stage at its stop silences the channel, and its window looks
like the ground's.
"""
DEFAULT_PLAN = ("still", "flex", "lift")


@dataclass(frozen=True)
class KitVerdict:
    """Verdict, headline scores, findings of all tests, leads proven, tests still missing, and one
    next action.
    """

    verdict: str
    scores: Scores
    findings: tuple[Finding, ...]
    proven: tuple[str, ...]
    missing: tuple[str, ...]
    action: str


def kit_verdict(
    results_by_test: Mapping[str, Result], plan: tuple[str, ...] = DEFAULT_PLAN
) -> KitVerdict:
    """Judge a kit on its tests.

    Parameters
    ----------
    results_by_test : mapping of str to Result
        The latest result of each test made since the kit's last return.
    plan : tuple of str
        Tests the kit's type asks for.

    Notes
    -----
    An open lead that ``still`` or ``flex`` sees unnamed takes the name ``lift`` gives it. When
    ``lift`` shows both active leads sound, an open input in another test was the bar's, not the
    kit's. A channel that ``still`` takes for dead and that yet shows one lead being lifted is held
    at its stop by the other. A lead that one test left unproven and another proved is proven. Hum
    that appears only while the bar is held, with a ground that does not react, is an open ground.
    """
    from .score import Scores

    missing = tuple(test for test in plan if test not in results_by_test)
    shown = {lead for result in results_by_test.values() for lead in result.proven}
    if _ground_shown(results_by_test):
        shown.add("ground")
    pinned = _pinned(results_by_test)
    proven = tuple(lead for lead in LEADS if lead in shown and not (pinned and lead == pinned.lead))
    found = _merged(results_by_test, proven)
    if pinned:
        found = (pinned, *(item for item in found if item.code not in EXPLAINED_BY_PINNED))
    if _needs_proof(plan) and not missing:
        found += _unproven(proven, found)
    verdict = verdict_of_findings(found)
    for result in results_by_test.values():
        # A score may fall short without a finding of its own; a retest of the kit follows all the
        # same.
        if verdict == FIT and result.verdict != FIT and not _only_settled(result, found):
            verdict = RETEST
    if verdict == FIT and missing:
        verdict = RETEST
    scores = Scores(
        *(_worst(results_by_test, aspect) for aspect in ("continuity", "noise", "battery"))
    )
    found = worst_first(found)
    return KitVerdict(verdict, scores, found, proven, missing, _action(found, missing, verdict))


def _merged(results: Mapping[str, Result], proven: tuple[str, ...]) -> tuple[Finding, ...]:
    everything = [item for result in results.values() for item in result.findings]
    named = {item.code for item in everything if item.lead}
    kept: dict[tuple[str, str | None], Finding] = {}
    for item in everything:
        if item.code == "open_lead" and item.lead is None:
            if "open_lead" in named or "leads_shorted" in named:
                continue
            if {"A", "B"} <= set(proven):
                item = _off_bar(item)
        if item.code == "lead_unproven" and item.lead in proven:
            continue
        if item.code == "lead_unproven" and item.verdict == NOTE:
            continue
        key = (item.code, item.lead)
        worse = key not in kept or (kept[key].verdict != NOT_FIT and item.verdict == NOT_FIT)
        if worse:
            kept[key] = item
    return tuple(kept.values()) + _open_ground(results, proven)


def _pinned(results: Mapping[str, Result]) -> Finding | None:
    """An open lead that ``still`` takes for a dead channel, named by the one whose lifting shows in
    ``lift``.
    """
    quiet, held = results.get("still"), results.get("lift")
    if (
        quiet is None
        or held is None
        or not any(item.code == "dead_channel" for item in quiet.findings)
    ):
        return None
    named = [
        item
        for item in held.findings
        if item.code == "open_lead" and item.lead and item.verdict == NOT_FIT
    ]
    if named:
        return named[0]
    ratios = {lead: _value(held, f"lift_ratio_{lead}") for lead in ("A", "B")}
    known = {lead: ratio for lead, ratio in ratios.items() if ratio is not None}
    if len(known) < 2:
        return None
    silent, moved = sorted(known, key=lambda lead: known[lead])
    return (
        pinned_lead(silent, moved)
        if known[moved] >= REACTS_IN_HUM and known[silent] < REACTS
        else None
    )


def _off_bar(item: Finding) -> Finding:
    told = finding(
        "not_on_bar",
        RETEST,
        "Both active leads are proven, yet an input was open: the snaps were not on the bar.",
    )
    return replace(told, events=item.events)


def _ground_shown(results: Mapping[str, Result]) -> bool:
    """Whether a small rise of hum on lifting the ground proves it: when the held bar hums no more
    than the bare one.

    An open ground would let the hand's hum in all the time the bar is held: then its sway (a
    quarter) could rise by so much. Where holding the bar adds nothing to the hum of ``still``, only
    the lifted ground can.
    """
    held, still = results.get("lift"), results.get("still")
    if held is None or still is None or not {"A", "B"} <= set(held.proven):
        return False
    names = ("still_part_hum", "hum_uncertainty", "ground_hum_ratio", "ground_hum_change")
    held_hum, u, ratio, sure = (_value(held, name) for name in names)
    still_hum = _value(still, "still_part_hum")
    if held_hum is None or u is None or ratio is None or sure is None or still_hum is None:
        return False
    return held_hum < 1.4 * still_hum + 2 * u and ratio > 1.4 and sure > GROUND_SURE


def _open_ground(results: Mapping[str, Result], proven: tuple[str, ...]) -> tuple[Finding, ...]:
    """Hum while the bar is held, at least five times that of ``still``, and a ground whose lifting
    changes nothing.
    """
    held, still = results.get("lift"), results.get("still")
    if held is None or still is None or "ground" in proven or not {"A", "B"} <= set(proven):
        return ()
    held_hum, still_hum = _value(held, "still_part_hum"), _value(still, "still_part_hum")
    floor = _value(held, "hum_uncertainty")
    if held_hum is None or still_hum is None or floor is None:
        return ()
    if held_hum < 5 * still_hum or held_hum < 8 * floor:
        return ()
    text = (
        f"Hum of {held_hum:.1f} uV appears only while the bar is held, and lifting the ground"
        " changes nothing: the ground is open."
    )
    return (finding("open_lead", NOT_FIT, text, lead="ground"),)


def _value(result: Result, name: str) -> float | None:
    return next((row.value for row in result.measurements if row.name == name), None)


def _needs_proof(plan: tuple[str, ...]) -> bool:
    return "lift" in plan


def _unproven(proven: tuple[str, ...], found: tuple[Finding, ...]) -> tuple[Finding, ...]:
    """A lead no test proved and no finding speaks of: never passed in silence."""
    if any(item.aspect == "continuity" and item.verdict != NOTE for item in found):
        return ()
    return tuple(
        finding("lead_unproven", RETEST, f"No test proved lead {lead}.", lead=lead)
        for lead in LEADS
        if lead not in proven
    )


def _only_settled(result: Result, found: tuple[Finding, ...]) -> bool:
    """Whether all a result complained of was settled by another test (an unproven lead that is
    proven).
    """
    complaints = [item for item in result.findings if item.verdict != NOTE]
    return bool(complaints) and all(item.code == "lead_unproven" for item in complaints)


def _worst(results: Mapping[str, Result], aspect: str) -> float | None:
    values = [getattr(result.scores, aspect) for result in results.values()]
    return min((value for value in values if value is not None), default=None)


def _action(found: tuple[Finding, ...], missing: tuple[str, ...], verdict: str) -> str:
    for item in found:
        if item.verdict != NOTE:
            return item.action
    if missing:
        return f"Run the {missing[0]} test"
    return "Clear the kit for issue" if verdict == FIT else "Test again"

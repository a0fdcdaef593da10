"""The verdict on a kit from its tests together: what one cannot tell, another does."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from .bench_tests.findings import NOTE, finding, verdict_of_findings, worst_first
from .bench_tests.lift import GROUND_REACTS, GROUND_SURE
from .bench_tests.open_input import REACTS, REACTS_IN_HUM, lives_unnamed, pinned_lead
from .bench_tests.radio import RADIO_BURSTS, not_by_lead_alone
from .bench_tests.view import PICKS_UP_UV
from .catalogue import CATALOGUE, LEADS, usual_plan
from .post import wrong_post
from .result import ASPECTS_SCORED, Finding, Result, Scores
from .statistics.decision import FIT, NOT_FIT, RETEST

AT_ITS_STOP = ("dead_channel", "saturated", "clipped")
"""What ``still`` calls a channel whose first stage an open lead holds at its stop."""
EXPLAINED_BY_PINNED = (
    *AT_ITS_STOP,
    "open_lead",
    "wrong_order",
    "lead_unproven",
    "leads_shorted",
    "not_on_bar",
)
"""An open lead that holds the first stage at its stop silences the channel, and its window looks
like the ground's.
"""
EXPLAINED_BY_GROUND = ("open_lead", "not_on_bar", "bench_interference", "lead_unproven")
"""A body that floats with the amplifier hums in both inputs at once."""
ADDED, ONLY_HELD = 2.5, 4.5
"""A body tied to the amplifier by a sound ground adds next to nothing to hum; what a changed loop
of the leads adds, in two captures alike, stays below the first. From there on a chance turn of hum
proves no ground, and from the second on hum is the hand's.
"""
SWAYS_WITH = 1.4
"""From so much hum of a held bar over a bare one on it may come through an open ground: a rise that
a hand's sway gives as well, below ``GROUND_REACTS``, then proves none.
"""
RISES = 5.0
"""A sound ground ties a body of some ten megohm to the amplifier by a kilohm: lifted, it lets hum
rise far more than any sway of a hand.
"""
ANSWERS = 20.0
"""So large a change on lifting is that of a lead that was connected."""


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
    results_by_test: Mapping[str, Result], plan: tuple[str, ...] | None = None
) -> KitVerdict:
    """Judge a kit on its tests.

    Parameters
    ----------
    results_by_test : mapping of str to Result
        The latest result of each test made since the kit's last return.
    plan : tuple of str or None
        Tests the kit's type asks for. Where ``None``, those of a new plan, of which the second post
        is then asked for only where ``lift`` left the ground unproven.

    Notes
    -----
    An open lead that ``still`` or ``flex`` sees unnamed takes the name ``lift`` gives it. When
    ``lift`` shows both active leads sound, an open input in another test was the bar's, not the
    kit's. A channel that ``still`` takes for dead and that yet shows one lead being lifted is held
    at its stop by the other. A lead that one test left unproven and another proved is proven. Hum
    that appears only while the bar is held, with a ground that does not react, is an open ground.
    """
    results = results_by_test
    pinned = _pinned(results)
    proven = _proven(results, pinned)
    plan = _needed(results, proven) if plan is None else plan
    missing = tuple(test for test in plan if test not in results)
    findings = _merged(results, proven)
    post = wrong_post(results)
    if post and not any(item.code == post.code for item in findings):
        findings = (*findings, post)
    if pinned:
        unexplained = [item for item in findings if item.code not in EXPLAINED_BY_PINNED]
        findings = (pinned, *unexplained)
    if _proves_all_leads(plan) and not missing:
        findings += _unproven(proven, findings)
    verdict = verdict_of_findings(findings)
    if verdict == FIT and (missing or _falls_short(results)):
        verdict = RETEST
    scores = Scores(**{aspect: _lowest(results, aspect) for aspect in ASPECTS_SCORED})
    findings = worst_first(findings)
    action = _action(findings, missing, verdict)
    return KitVerdict(verdict, scores, findings, proven, missing, action)


def _needed(results: Mapping[str, Result], proven: tuple[str, ...]) -> tuple[str, ...]:
    """The tests of a new plan that a kit of no stated type needs."""
    open_question = "lift" in results and "ground" not in proven
    usual = usual_plan()
    return tuple(test for test in usual if open_question or not CATALOGUE[test].second_post)


def _proven(results: Mapping[str, Result], pinned: Finding | None) -> tuple[str, ...]:
    """Leads that any of the tests proved to be connected, in the order of ``LEADS``."""
    proven = {lead for result in results.values() for lead in result.proven}
    if _ground_shown(results):
        proven.add("ground")
    if _held_over_bare(results) >= ADDED and not _ground_rises(results):
        proven.discard("ground")
    if _may_be_sway(results):
        proven.discard("ground")
    if pinned:
        proven.discard(str(pinned.lead))
    return tuple(lead for lead in LEADS if lead in proven)


def _falls_short(results: Mapping[str, Result]) -> bool:
    """A score may fall short without a finding of its own; a retest of the kit follows all the
    same.
    """
    return any(result.verdict != FIT and not _only_settled(result) for result in results.values())


def _merged(results: Mapping[str, Result], proven: tuple[str, ...]) -> tuple[Finding, ...]:
    """The findings of all tests, each code and lead once, less what another test settles."""
    everything = [finding for result in results.values() for finding in result.findings]
    if _restless(results.get("still")):
        everything = [not_by_lead_alone(item) for item in everything]
    codes_with_lead = {finding.code for finding in everything if finding.lead}
    merged: dict[tuple[str, str | None], Finding] = {}
    for item in everything:
        if item.code == "dead_channel" and (test := _lives_elsewhere(results)):
            item = lives_unnamed(f"`{test}`")
        if item.code == "open_lead" and item.lead is None:
            if codes_with_lead & {"open_lead", "leads_shorted"}:
                continue
            if {"A", "B"} <= set(proven):
                item = _off_bar()
        if item.code == "lead_unproven" and (item.lead in proven or item.verdict == NOTE):
            continue
        key = (item.code, item.lead)
        earlier = merged.get(key)
        if earlier is None or (earlier.verdict != NOT_FIT and item.verdict == NOT_FIT):
            merged[key] = item
    ground = _open_ground(results, proven)
    if ground:
        return (
            *(item for item in merged.values() if item.code not in EXPLAINED_BY_GROUND),
            *ground,
        )
    return tuple(merged.values())


def _restless(still: Result | None) -> bool:
    """Whether bursts come when nothing is touched: then those of ``flex`` are not surely a
    lead's.
    """
    if still is None:
        return False
    bursts = any(item.code == "burst_noise" for item in still.findings)
    return bursts or still.value_of(RADIO_BURSTS) is not None


def _pinned(results: Mapping[str, Result]) -> Finding | None:
    """An open lead that ``still`` takes for a dead or stopped channel, named by the one whose
    lifting shows in ``lift``.
    """
    still, lift = results.get("still"), results.get("lift")
    if still is None or lift is None:
        return None
    if not any(item.code in AT_ITS_STOP for item in still.findings):
        return None
    open_leads = [
        item
        for item in lift.findings
        if item.code == "open_lead" and item.lead and item.verdict == NOT_FIT
    ]
    if open_leads:
        return open_leads[0]
    proven = {"A", "B"} & set(lift.proven)
    if len(proven) == 1 and not any(item.code == "wrong_order" for item in lift.findings):
        moved = proven.pop()
        return pinned_lead("B" if moved == "A" else "A", moved)
    if any(item.code == "open_lead" for item in lift.findings):
        return None  # lift itself could not tell which
    ratios = {lead: lift.value_of(f"lift_ratio_{lead}") for lead in ("A", "B")}
    measured = {lead: ratio for lead, ratio in ratios.items() if ratio is not None}
    if len(measured) < 2:
        return None
    silent, moved = sorted(measured, key=lambda lead: measured[lead])
    one_answers = measured[moved] >= REACTS_IN_HUM and measured[silent] < REACTS
    return pinned_lead(silent, moved) if one_answers else None


def _lives_elsewhere(results: Mapping[str, Result]) -> str:
    """Which test shows a working input although another one finds the channel dead; empty where
    none does. A dead channel is dead in each.
    """
    dead = {
        test
        for test, result in results.items()
        if any(item.code == "dead_channel" for item in result.findings)
    }
    unread = {"wrong_scale", "missing_samples", "time_base", *AT_ITS_STOP}
    alive = [
        test
        for test, result in results.items()
        if not any(item.code in unread for item in result.findings)
    ]
    return alive[-1] if dead and alive else ""


def _off_bar() -> Finding:
    return finding(
        "not_on_bar",
        RETEST,
        "Both active leads are proven, yet an input was open: the snaps were not on the bar.",
    )


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
    held_hum, u, ratio, sure = (held.value_of(name) for name in names)
    still_hum = still.value_of("still_part_hum")
    if held_hum is None or u is None or ratio is None or sure is None or still_hum is None:
        return False
    return held_hum < 1.4 * still_hum + 2 * u and ratio > 1.4 and sure > GROUND_SURE


def _held_over_bare(results: Mapping[str, Result]) -> float:
    """Hum while the bar is held over that of ``still``, the lesser of ``lift`` and ``flex``; 0
    where it is not told from noise.
    """
    hums = {test: result.value_of("still_part_hum") for test, result in results.items()}
    still, lift = hums.get("still"), hums.get("lift")
    u = results["lift"].value_of("hum_uncertainty") if "lift" in results else None
    if still is None or lift is None or u is None or lift < 8 * u:
        return 0.0
    flex = hums.get("flex")
    return min(lift, lift if flex is None else flex) / max(still, 1e-9)


def _ground_rises(results: Mapping[str, Result]) -> bool:
    """Whether lifting the ground lets much more hum in than a hand's sway explains."""
    ratio = results["lift"].value_of("ground_hum_ratio")
    return ratio is not None and ratio >= RISES


def _may_be_sway(results: Mapping[str, Result]) -> bool:
    """Whether the ground is proven by ``lift`` alone, and there by no more than a step of hum that
    a hand at an open ground makes, too.
    """
    proves = {test for test, result in results.items() if "ground" in result.proven}
    if proves != {"lift"} or _held_over_bare(results) < SWAYS_WITH:
        return False
    return (results["lift"].value_of("ground_hum_ratio") or 0.0) < GROUND_REACTS


def _inputs_closed(results: Mapping[str, Result], proven: tuple[str, ...]) -> bool:
    """Whether both active leads are proven, or ``still`` is that of closed inputs and both answer
    ``lift``.
    """
    if {"A", "B"} <= set(proven):
        return True
    still, lift = results["still"], results["lift"]
    ratios = [lift.value_of(f"lift_ratio_{lead}") or 0.0 for lead in ("A", "B")]
    return still.verdict == FIT and min(ratios) >= ANSWERS


def _open_ground(results: Mapping[str, Result], proven: tuple[str, ...]) -> tuple[Finding, ...]:
    """Hum that appears only while the bar is held, and a ground whose lifting changes nothing."""
    only_held = _held_over_bare(results) >= ONLY_HELD
    if "ground" in proven or not only_held or not _inputs_closed(results, proven):
        return ()
    if any(item.code == "open_lead" for item in results["lift"].findings):
        return ()  # an open ground changes nothing when lifted; there it answered
    if (results["still"].value_of("still_part_hum") or 0.0) > PICKS_UP_UV:
        return ()
    text = (
        f"Hum of {results['lift'].value_of('still_part_hum'):.1f} uV appears only while the bar is"
        " held, and lifting the ground does not raise it: the ground is open."
    )
    return (finding("open_lead", NOT_FIT, text, lead="ground"),)


def _proves_all_leads(plan: tuple[str, ...]) -> bool:
    """Whether a test of the plan proves every lead of a sound kit."""
    return any(set(CATALOGUE[test].proves) == set(LEADS) for test in plan)


def _unproven(proven: tuple[str, ...], findings: tuple[Finding, ...]) -> tuple[Finding, ...]:
    """A lead no test proved and no finding speaks of: never passed in silence."""
    if any(item.aspect == "continuity" and item.verdict != NOTE for item in findings):
        return ()
    return tuple(
        finding("lead_unproven", RETEST, f"No test proved lead {lead}.", lead=lead)
        for lead in LEADS
        if lead not in proven
    )


def _only_settled(result: Result) -> bool:
    """Whether all a result complained of was settled by another test (an unproven lead that is
    proven).
    """
    complaints = [item for item in result.findings if item.verdict != NOTE]
    return bool(complaints) and all(item.code == "lead_unproven" for item in complaints)


def _lowest(results: Mapping[str, Result], aspect: str) -> float | None:
    scores = [getattr(result.scores, aspect) for result in results.values()]
    return min((score for score in scores if score is not None), default=None)


def _action(findings: tuple[Finding, ...], missing: tuple[str, ...], verdict: str) -> str:
    against = [finding for finding in findings if finding.verdict != NOTE]
    if against:
        return against[0].action
    if missing:
        return f"Run the {missing[0]} test"
    return "Clear the kit for issue" if verdict == FIT else "Test again"

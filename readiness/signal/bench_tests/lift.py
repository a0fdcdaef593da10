"""``lift``: each lead taken off the bar in turn. A sound lead reacts; an open or shorted one does
not.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from readiness.signal.bench_tests.findings import finding
from readiness.signal.bench_tests.view import EARLY_HANDS_S, Judgement, View
from readiness.signal.catalogue import LEADS
from readiness.signal.leads.contacts import RUBS_UV
from readiness.signal.leads.places import in_grounds_place, none_is_open, one_is_open
from readiness.signal.leads.reaction import FALLS, Reaction, lifted_spans, reaction_to
from readiness.signal.leads.turns import NONE, Turns, hum_turns
from readiness.signal.result import Finding, Measurement
from readiness.signal.statistics.decision import NOT_FIT, RETEST

from .at_its_stop import at_its_stop
from .baseline import baseline, heart
from .open_input import (
    ABRUPT_IN_HUM,
    AS_GROUND,
    EDGED,
    REACTS,
    REACTS_IN_HUM,
    named_open_lead,
    open_lead,
)
from .silent import shorted_leads, unproven_leads

ZONES = {"A": (2.5, 4.5), "B": (5.5, 7.0), "ground": (8.0, 9.9)}
"""Where a lead is surely in hand, or in no other lead's place, with an operator half a second early
or late.
"""
BEGINS = {"A": (EARLY_HANDS_S, 4.25), "B": (4.25, 6.75), "ground": (6.75, 9.0)}
"""When a lift begins: from half a second before the call to a second and three quarters after it.
"""
HELD_S = 0.7
"""The shortest lift that counts. The edge at which another lead was put back is no lift: it stands
in all the quarter seconds that touch it, half a second together.
"""
REACTS_ALONE = 20.0
"""So large a change needs no abrupt edge to be believed; smaller ones may be the last lift dying
away.
"""
GROUND_REACTS = 2.0
"""Lifting the ground lets the common mode rise a thousandfold, of which the amplifier rejects
nearly all.
"""
GROUND_SURE = 4.5
"""Standard deviations the change of hum must stand out. Of 13,500 captures of steady hum in white
noise at 256 to 4096 samples a second the most that noise alone gave was 3.3 (own simulation).
"""
GROUND_ABRUPT = 9.0
"""An abrupt hum step on lifting the ground, in spreads round it: half as much again as noise ever
reaches.
"""
HIGHEST_SHOWN = 1e6
"""A ratio against next to nothing says no more than that it is beyond any limit."""
SAME_SOURCE = 100.0
"""A hand makes the hum of an input that was open before louder, by as much as this, and leaves it
its phase; a lead that leaves the bar changes noise as well, or hum by more.
"""


def judge(view: View) -> Judgement:
    """Which leads react, which do not, and what that says."""
    reactions = {lead: reaction_to(view.trace, lead, ZONES[lead]) for lead in LEADS}
    abnormal = baseline(view)
    if abnormal is None:
        reactions = {lead: _at_its_time(view, reaction) for lead, reaction in reactions.items()}
    turns = hum_turns(view.trace)
    if turns.beside.opposed and not one_is_open(view.heights_uv):
        turns = replace(NONE, beside=turns.beside)
    reacting = {lead for lead, reaction in reactions.items() if _reacts(reaction)}
    reacting -= {lead for lead in turns.same if _only_louder(reactions[lead])}
    reacting |= {lead for lead in ("A", "B") if _contact_parts(view, lead)}
    findings, proven = _decide(view, reactions, turns, reacting, abnormal)
    continuity = 100.0 if len(proven) == len(LEADS) else None
    if any(finding.verdict == NOT_FIT for finding in findings):
        continuity = 0.0
    in_order = tuple(lead for lead in LEADS if lead in proven)
    rows = _measurements(reactions)
    return Judgement(findings, continuity, measurements=rows, proven=in_order)


def _measurements(reactions: dict[str, Reaction]) -> tuple[Measurement, ...]:
    ground = reactions["ground"]
    rows = [
        _row(f"lift_ratio_{lead}", reactions[lead].ratio, "ratio", REACTS) for lead in ("A", "B")
    ]
    return (
        *rows,
        _row("lift_ratio_ground", ground.ratio, "ratio", GROUND_REACTS),
        _row("ground_hum_ratio", ground.hum_ratio, "ratio", GROUND_REACTS),
        _row("ground_hum_change", ground.sure, "sigma", GROUND_SURE),
    )


def _row(name: str, value: float, unit: str, limit: float) -> Measurement:
    return Measurement(name, min(value, HIGHEST_SHOWN), unit, limit=limit)


def _at_its_time(view: View, reaction: Reaction) -> Reaction:
    """A lead that does not react in its zone, looked at where the operator really lifted it, early
    and briefly perhaps.

    A lift belongs to the window it begins in, half a second and the time to grasp allowed.
    """
    if _reacts(reaction):
        return reaction
    spans = lifted_spans(view.trace, REACTS)
    first, last = BEGINS[reaction.lead]
    if reaction.lead == "ground":
        before = [end for start, end in spans if start < first]
        zone_start, zone_end = ZONES["ground"]
        if not before or before[-1] > zone_start:
            return reaction
        start = max(first, before[-1] + 0.3)
        again = reaction_to(view.trace, "ground", (start, zone_end))
        return again if _reacts(again) else reaction
    for start, end in spans:
        if first <= start < last and end - start >= HELD_S:
            again = reaction_to(view.trace, reaction.lead, (start, end))
            if _reacts(again):
                return again
    return reaction


def _reacts(reaction: Reaction) -> bool:
    if reaction.lead != "ground":
        # The tail of a fast movement rises too, and has edges: what does not stand above it needs
        # one twice as sharp.
        moved = reaction.above_movement < REACTS
        edge = 2 * ABRUPT_IN_HUM if moved else ABRUPT_IN_HUM
        return (
            reaction.ratio >= REACTS_ALONE
            or (reaction.ratio >= REACTS and reaction.abrupt >= edge)
            or (reaction.fell >= FALLS and reaction.abrupt >= ABRUPT_IN_HUM)
        )
    return _as_ground(reaction)


def _contact_parts(view: View, lead: str) -> bool:
    """Whether an edge stands in a lead's own part that only a contact leaves, whatever hum and
    noise do afterwards.
    """
    edges = np.abs(view.trace.part(view.trace.abrupt, *ZONES[lead]))
    spread = view.trace.part(view.trace.local_sigma, *ZONES[lead])
    return bool(np.any(edges > np.maximum(EDGED * spread, RUBS_UV)))


def _only_louder(reaction: Reaction) -> bool:
    """Whether all that a lift did, in hum that kept its phase, was to make it louder."""
    noisier = reaction.noise_ratio >= REACTS or reaction.fell >= FALLS or reaction.railed
    return reaction.ratio < SAME_SOURCE and not noisier


def _decide(
    view: View,
    reactions: dict[str, Reaction],
    turns: Turns,
    reacting: set[str],
    abnormal: Finding | None,
) -> tuple[tuple[Finding, ...], set[str]]:
    """Findings and the leads proven, from which leads react and whether the still part was that of
    a shorted input.
    """
    actives = reacting & {"A", "B"}
    if abnormal and abnormal.code == "dead_channel":
        return (at_its_stop(view, reactions, turns) or abnormal,), set()
    if abnormal and abnormal.code == "moved_too_early":
        return (named_open_lead(reactions, turns) or abnormal,), set()
    told_elsewhere = ("excess_noise", "low_frequency_noise", "worn_not_shorted")
    if abnormal and abnormal.code in told_elsewhere and len(actives) == 2:
        return (abnormal,), reacting
    if abnormal:
        return _with_open_input(view, reactions, turns, reacting, abnormal)
    held = turns.open_lead
    if none_is_open(view.heights_uv):
        turns = NONE
    elif held and held not in reacting and (named := named_open_lead(reactions, turns)):
        return (named,), set()
    open_like = one_is_open(view.heights_uv)
    if open_like and (lead := _open_at_rest(turns)):
        return (open_lead(lead, f"{AS_GROUND}, and lifting lead {lead} does not"),), set()
    order = _swapped(view, reacting)
    if order:
        return order, reacting
    if open_like and len(reacting) == len(LEADS) and not turns.beside.opposed:
        return (_one_open(),), set()
    findings: tuple[Finding, ...] = ()
    if len(actives) < 2:
        findings = _silent(view, actives, reactions, turns)
    elif "ground" not in reacting:
        findings = (_unproven(),)
    return findings, reacting


def _open_at_rest(turns: Turns) -> str | None:
    """The open lead of an input that looks closed before a lead is lifted, for its stage stands at
    its stop or its hum is low: what lifting it does must be nothing, or what a hand does.
    """
    lead = turns.beside_closed
    return lead if lead and lead in turns.beside.silent else turns.grows


def _silent(
    view: View, actives: set[str], reactions: dict[str, Reaction], turns: Turns
) -> tuple[Finding, ...]:
    """A quiet input of which at least one active lead did not react."""
    # Lifted leads look like beats where they react; where they do not, a heart is what is left to
    # explain them.
    beating = None if actives else heart(view)
    if beating:
        return (beating,)
    shorted = shorted_leads(view, actives, reactions)
    if shorted:
        return (shorted,)
    named = named_open_lead(reactions, turns) if turns.same - actives else None
    return (named,) if named else unproven_leads(actives)


def _with_open_input(
    view: View,
    reactions: dict[str, Reaction],
    turns: Turns,
    reacting: set[str],
    abnormal: Finding,
) -> tuple[tuple[Finding, ...], set[str]]:
    """The input hummed before anything was lifted: by the room, by an open lead, or off the bar.

    A sound lead on the bar reacts, and abruptly, whatever the room does. With one lead open the
    other still does.
    """
    if one_is_open(view.heights_uv):
        named = named_open_lead(reactions, turns, is_open=True, for_sure=True)
        return (named or _one_open(),), set()
    sound_pair = turns.beside.opposed
    if none_is_open(view.heights_uv):
        turns = NONE
    actives = [reactions["A"], reactions["B"]]
    hums = abnormal.code == "bench_interference"
    both_react = all(_reacts_in_hum(reaction) for reaction in actives)
    by_phase = named_open_lead(reactions, turns) if hums and turns.open_lead else None
    if hums and both_react and not by_phase and {"A", "B"} <= reacting:
        return (() if "ground" in reacting else (_unproven(),)), reacting
    named = named_open_lead(reactions, turns, is_open=not hums)
    if named and not sound_pair:
        return (named,), set()
    if max(reaction.abrupt for reaction in reactions.values()) < ABRUPT_IN_HUM:
        text = "The input is open and no lead changes that: the snaps were not on the bar."
        return (finding("not_on_bar", RETEST, text),), set()
    return (abnormal,), set()


def _one_open() -> Finding:
    text = (
        "The input was open before a lead was lifted, and lifting the ground answers as an active"
        " lead does: lead A or B is open. Which one does not show."
    )
    action = "Press all three snaps on the bar and lift again: hold each lead by its cable"
    return finding("open_lead", RETEST, text, action=action)


def _reacts_in_hum(reaction: Reaction) -> bool:
    return reaction.ratio >= REACTS_IN_HUM and reaction.abrupt >= ABRUPT_IN_HUM


def _as_ground(reaction: Reaction) -> bool:
    """Whether the ground reacts: more hum, or some more with an abrupt step. Hum that only turns is
    a hand that came or went: it does that to an open ground as well.
    """
    if reaction.sure < GROUND_SURE:
        return False
    stepped = reaction.abrupt >= GROUND_ABRUPT and reaction.hum_ratio >= GROUND_REACTS / 1.5
    return reaction.hum_ratio >= GROUND_REACTS or stepped


def _swapped(view: View, proven: set[str]) -> tuple[Finding, ...]:
    """The finding that an active lead and the ground answer in each other's place: lifted so, or
    plugged so. One capture looks the same either way.
    """
    lead = in_grounds_place(view.heights_uv)
    if lead is None:
        return ()
    text = (
        f"The ground answers as lead {lead} should, and lead {lead} as a ground: they were lifted"
        " in each other's place, or sit in each other's socket."
    )
    action = (
        f"Look at the plugs of lead {lead} and ground, then lift again in the order called: A, B,"
        " ground"
    )
    found = finding("wrong_order", RETEST, text, lead=lead, action=action)
    return (found,) if "ground" in proven else (found, _unproven())


def _unproven() -> Finding:
    return finding(
        "lead_unproven",
        RETEST,
        "Lifting the ground lead changed nothing that can be told from noise: the room is too"
        " quiet, the bar was not held, or the lead is open.",
        lead="ground",
        action=(
            "Repeat lift with the bar held in the bare hand, or run the ground test with the second"
            " post"
        ),
    )

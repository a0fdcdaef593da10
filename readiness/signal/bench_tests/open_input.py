"""Which of two leads is open, where the input was open before a lead was lifted."""

from __future__ import annotations

from collections.abc import Mapping

from readiness.signal.leads.reaction import Reaction
from readiness.signal.leads.turns import Turns
from readiness.signal.result import Finding
from readiness.signal.statistics.decision import NOT_FIT, RETEST

from .findings import finding

ABRUPT_IN_HUM = 6.0
"""Where hum is strong already, a lift must also begin or end abruptly: sway of a hand comes and
goes slowly. The peak of Gaussian noise over a window stays below six times its spread.
"""
EDGED = 20.0
"""A contact that parts and meets again leaves edges of hundreds of spreads. Where one lifting
leaves such, the other none at all, and hum its place, the other had no contact to part.
"""
REACTS_IN_HUM = 5.0
REACTS = 3.0
"""A lifted input picks up the room through megohms, not ohms: hundredfold in practice; threefold is
beyond any sway.
"""


AS_GROUND = "moves its hum as lifting the ground does"
"""Evidence that the lead beside is the open one."""
STEPS, STEADY = 0.7, 0.2
"""Sideways step of the hum vector, over its length, when another source takes over; and the most
that a hand does to a source that stays.
"""


def named_open_lead(
    reactions: Mapping[str, Reaction],
    turns: Turns,
    *,
    is_open: bool = False,
    for_sure: bool = False,
) -> Finding | None:
    """The open lead by the phase of hum, else by phase and edges together, else by levels; never
    by edges alone. ``None`` where none of them tells.

    ``is_open``: noise or level say already that an input was open before a lead was lifted. Where
    it only hummed, a lead whose own lifting leaves edges had a contact that parted. ``for_sure``:
    lifting the ground says that one of the two is open, whatever edges a finger leaves.
    """
    if for_sure and (lead := turns.open_of_two):
        return open_lead(lead, f"takes from its hum, and lifting lead {lead} does not")
    pairs = [(lead, reactions[lead], reactions["B" if lead == "A" else "A"]) for lead in ("A", "B")]
    for lead, own, moved in pairs:
        parted = own.abrupt >= EDGED and moved.abrupt < 3 * own.abrupt
        if turns.open_lead == lead and (is_open or not parted):
            return open_lead(
                lead, f"turns its hum over, and lifting lead {lead} leaves it in place"
            )
    for lead, own, moved in pairs:
        if for_sure and own.abrupt >= EDGED:
            continue  # a finger on the open lead's snap leaves edges as well
        if lead in turns.same and lead not in turns.turned and _contact_parts(own, moved, turns):
            return open_lead(lead, f"changes its hum, and lifting lead {lead} leaves it in place")
    for lead, own, moved in pairs:
        answers = moved.ratio >= REACTS_IN_HUM and moved.abrupt >= ABRUPT_IN_HUM
        stays = own.ratio < REACTS and lead not in turns.turned
        if own.abrupt >= EDGED and (for_sure or not is_open):
            continue  # it had a contact that parted, though what it shows then is no louder
        if for_sure and not turns.growth:
            continue  # hum that wanders by itself in the still part changes in every part
        if answers and stays and moved.lead not in turns.same:
            return open_lead(lead, f"changes it and lifting lead {lead} does not")
        edged = moved.abrupt >= 3 * max(ABRUPT_IN_HUM, own.abrupt)
        if edged and _changes_more(moved, own) and lead not in turns.turned:
            return open_lead(lead, f"changes it, with edges, and lifting lead {lead} hardly does")
    return None


def _contact_parts(own: Reaction, moved: Reaction, turns: Turns) -> bool:
    """Whether a contact shows in the lifting of one lead and none in that of the other, whose hum
    stays.
    """
    sharper = moved.abrupt >= 2 * max(ABRUPT_IN_HUM, own.abrupt)
    alone = own.abrupt < ABRUPT_IN_HUM and moved.abrupt >= EDGED
    if sharper and (alone or (own.abrupt < EDGED and moved.lead not in turns.same)):
        return True
    steps = moved.turned >= STEPS and own.turned < STEADY
    return steps and moved.sure >= 1.5 * own.sure and moved.abrupt >= ABRUPT_IN_HUM


def _changes_more(moved: Reaction, own: Reaction) -> bool:
    """Whether one lift changes hum and level for as long as it lasts, much more than the other."""
    return moved.sure >= 3 * max(own.sure, ABRUPT_IN_HUM) and moved.ratio > own.ratio


def open_lead(lead: str, evidence: str) -> Finding:
    """The finding that names an open active lead by what lifting the other one does."""
    second = "B" if lead == "A" else "A"
    text = (
        f"The input is open before a lead is lifted. Lifting lead {second} {evidence}:"
        f" lead {lead} is open."
    )
    return finding("open_lead", NOT_FIT, text, lead=lead)


def pinned_lead(silent: str, moved: str) -> Finding:
    """The finding for an open lead whose leakage drives the first stage to its stop, where it
    passes little noise.
    """
    return finding(
        "open_lead",
        NOT_FIT,
        f"The trace is quieter than a working input can be, and lifting lead {moved} shows while"
        f" lifting lead {silent} does not: lead {silent} is open and drives the amplifier to its"
        " stop.",
        lead=silent,
    )


def lives_unnamed(where: str) -> Finding:
    """The finding for a channel that is silent at its stop and yet alive: an input is open."""
    return finding(
        "open_lead",
        RETEST,
        f"The trace is quieter than a working input can be, yet {where} shows a live channel: an"
        " active lead is open and drives the amplifier to its stop, or the snaps are not on the"
        " bar.",
        action="Press all three snaps on the bar and run the lift test again: it names the lead",
    )

"""Leads that did not react when lifted from a quiet input: shorted, or not proven at all."""

from __future__ import annotations

from collections.abc import Mapping

from readiness.signal.leads.movement import MOVES, movement_by_lead
from readiness.signal.leads.reaction import FALLS, Reaction
from readiness.signal.limits import SLOW_BAND_HZ
from readiness.signal.result import Finding
from readiness.signal.spectrum.noise import quantisation_uv
from readiness.signal.statistics.decision import NOT_FIT, RETEST

from .findings import finding
from .open_input import ABRUPT_IN_HUM, REACTS
from .view import View

UNCHANGED = 1.5
"""A lifted input stands on megohms instead of kilohms: its own noise current alone makes noise more
than half as large again, a stopped stage makes it less. A lead that stays within that for its whole
part is joined to something low.
"""


def shorted_leads(
    view: View, actives: set[str], reactions: Mapping[str, Reaction]
) -> Finding | None:
    """The finding that the active leads which are not in ``actives`` are shorted, or ``None``.

    A short is told by evidence of its own: the lead was moved, and all the time the input stayed at
    the noise of a shorted one, without an edge.
    """
    silent = [lead for lead in ("A", "B") if lead not in actives]
    step = view.capture.emg.resolution or 0.0
    least_uv = quantisation_uv(step, SLOW_BAND_HZ[1], view.rate)
    moved = movement_by_lead(view.trace, view.kind.spans, least_uv)
    stays = all(_stays_shorted(reactions[lead]) and moved[lead] >= MOVES for lead in silent)
    if not stays:
        return None
    if len(silent) == 2:
        text = (
            "Both active leads were moved, and neither reacts when lifted although the input is"
            " quiet: the two leads touch inside the cable."
        )
        return finding("leads_shorted", NOT_FIT, text)
    lead = silent[0]
    text = (
        f"Lead {lead} was moved and does not react when lifted (ratio"
        f" {reactions[lead].ratio:.1f}) although the input is quiet: it touches another lead inside"
        " the cable."
    )
    return finding("leads_shorted", NOT_FIT, text, lead=lead)


def _stays_shorted(reaction: Reaction) -> bool:
    as_before = reaction.noise_ratio < UNCHANGED and reaction.hum_ratio < REACTS
    return (
        (as_before or reaction.above_movement < UNCHANGED)
        and reaction.fell < FALLS
        and reaction.abrupt < 2 * ABRUPT_IN_HUM
        and not reaction.railed
    )


def unproven_leads(actives: set[str]) -> tuple[Finding, ...]:
    """Findings for the active leads that are not in ``actives``: neither proven nor at fault."""
    return tuple(_unproven(lead) for lead in ("A", "B") if lead not in actives)


def _unproven(lead: str) -> Finding:
    return finding(
        "lead_unproven",
        RETEST,
        f"Lifting lead {lead} shows neither that it is connected nor that it is shorted.",
        lead=lead,
        action=f"Repeat lift: hold lead {lead} by its cable, lift it clear of the bar for a second",
    )

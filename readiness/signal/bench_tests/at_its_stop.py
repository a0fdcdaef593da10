"""A channel quieter than it can be: dead, or held at its stop by an open lead."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from readiness.signal.leads.contacts import RUBS_UV
from readiness.signal.leads.places import LIKE_ACTIVE, one_is_open
from readiness.signal.leads.reaction import Reaction
from readiness.signal.leads.turns import Turns
from readiness.signal.result import Finding
from readiness.signal.statistics.robust import median

from .open_input import (
    ABRUPT_IN_HUM,
    AS_GROUND,
    REACTS,
    REACTS_IN_HUM,
    lives_unnamed,
    named_open_lead,
    open_lead,
    pinned_lead,
)
from .view import View


def at_its_stop(view: View, reactions: Mapping[str, Reaction], turns: Turns) -> Finding | None:
    """The open lead behind a channel quieter than it can be; ``None`` where the channel is dead.

    A dead one answers the active leads a little, and never the ground. With an active lead open the
    bar moves one input only, so that its ground answers as an active lead does; or the stage stays
    at its stop but for the other lead.
    """
    heights = view.heights_uv
    ground = heights["ground"]
    low, high = sorted((heights["A"], heights["B"]))
    silent = low == 0 and high >= RUBS_UV
    if ground < LIKE_ACTIVE * high and not silent:
        return None
    if one_is_open(heights) and (lead := turns.beside_closed or turns.grows):
        return open_lead(lead, f"{AS_GROUND}, and lifting lead {lead} does not")
    by_phase = named_open_lead(reactions, turns) if turns.open_lead else None
    return _pinned(reactions, turns) or by_phase or _lives(view)


def _pinned(reactions: Mapping[str, Reaction], turns: Turns) -> Finding | None:
    """A channel quieter than it can be that still answers one lead is not dead: the other lead
    holds it at its stop. Edges alone may be a finger's on the open lead's own snap.
    """
    silent, moved = sorted((reactions["A"], reactions["B"]), key=lambda reaction: reaction.ratio)
    if moved.ratio < REACTS_IN_HUM or moved.abrupt < ABRUPT_IN_HUM or silent.ratio >= REACTS:
        return None
    if moved.lead not in turns.beside.clear:
        return None
    return pinned_lead(silent.lead, moved.lead)


def _lives(view: View) -> Finding | None:
    """A channel that is silent before a lead is lifted and at some time afterwards has a working
    input's noise, or hum, for half a second: it is not dead.
    """
    trace = view.trace
    later = trace.segments(2.0, 9.9)
    silent = trace.segments(0.1, 1.9)
    alive = 3 * max(median(trace.noise[silent]), 1e-9)
    hum = np.maximum(median(trace.hum_size[silent]), 3 * trace.hum_u)
    answers = (trace.noise[later] > alive) | (trace.hum_size[later] > REACTS_IN_HUM * hum)
    runs = answers[:-3] & answers[1:-2] & answers[2:-1] & answers[3:]
    return lives_unnamed("the rest of the test") if runs.any() else None

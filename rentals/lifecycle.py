"""The life of a kit as a table: which act may happen in which state, and what state it leaves. No
rows, no settings: of Django only the enumerations.

A kit's state is never typed in: it follows from its events, and `follow` says how. Actions use the
table to refuse an act, `manage.py verify` replays the events through it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from django.db.models import TextChoices

from rentals.states import KitState

IN_HOUSE = frozenset({KitState.SHELF, KitState.ASSIGNED, KitState.CHECK, KitState.BENCH})


class Verb(TextChoices):
    """What can happen to a kit (or to a part, where a kit is not concerned)."""

    REGISTERED = "registered", "registered"
    ASSIGNED = "assigned", "assigned"
    UNASSIGNED = "unassigned", "unassigned"
    OVERRIDDEN = "overridden", "overridden"
    PACKED = "packed", "packed"
    UNPACKED = "unpacked", "unpacked"
    DISPATCHED = "dispatched", "dispatched"
    RECALLED = "recalled", "recalled"
    ARRIVED = "arrived", "arrived"
    PART_CAME = "part_came", "received in part"
    CHECKED = "checked", "checked"
    CLEARED = "cleared", "cleared"
    UNCLEARED = "uncleared", "uncleared"
    FITTED = "fitted", "fitted"
    REMOVED = "removed", "removed"
    HELD = "held", "held"
    RELEASED = "released", "released"
    LOST = "lost", "lost"
    RETIRED = "retired", "retired"
    SET_ASIDE = "set_aside", "set aside"
    LET_GO = "let_go", "let go"
    NOTED = "noted", "noted"
    SHORTFALL = "shortfall", "shortfall"
    SETTLED = "settled", "settled"
    STOCK = "stock", "stock"
    ERASED = "erased", "erased"


@dataclass(frozen=True)
class Standing:
    """What a kit's events say of it: state, cleared for issue, override in force, state a hold
    returns to, a part of it back while the rest is away.
    """

    state: KitState | None = None
    cleared: bool = False
    overridden: bool = False
    held_from: KitState | None = None
    partly_back: bool = False


class NotAllowed(ValueError):
    """An act that the table does not allow in the state at hand."""


ALLOWED: dict[Verb, frozenset[KitState]] = {
    Verb.ASSIGNED: frozenset({KitState.SHELF, KitState.BENCH}),
    Verb.UNASSIGNED: frozenset({KitState.ASSIGNED}),
    Verb.OVERRIDDEN: frozenset({KitState.ASSIGNED}),
    Verb.PACKED: frozenset({KitState.ASSIGNED}),
    Verb.UNPACKED: frozenset({KitState.PACKED}),
    Verb.DISPATCHED: frozenset({KitState.PACKED}),
    Verb.RECALLED: frozenset({KitState.AWAY}),
    Verb.ARRIVED: frozenset({KitState.AWAY}),
    Verb.PART_CAME: frozenset({KitState.CHECK}),
    Verb.CHECKED: frozenset({KitState.CHECK}),
    Verb.CLEARED: frozenset({KitState.SHELF, KitState.BENCH, KitState.ASSIGNED}),
    Verb.UNCLEARED: frozenset({KitState.SHELF, KitState.BENCH, KitState.ASSIGNED, KitState.HELD}),
    Verb.FITTED: IN_HOUSE | {KitState.HELD},
    Verb.REMOVED: IN_HOUSE | {KitState.HELD},
    Verb.HELD: IN_HOUSE,
    Verb.RELEASED: frozenset({KitState.HELD}),
    Verb.LOST: frozenset({KitState.AWAY}),
    Verb.RETIRED: frozenset({KitState.SHELF, KitState.BENCH, KitState.HELD}),
}

_PLAIN_MOVES = {
    Verb.ASSIGNED: KitState.ASSIGNED,
    Verb.PACKED: KitState.PACKED,
    Verb.UNPACKED: KitState.ASSIGNED,
    Verb.DISPATCHED: KitState.AWAY,
    Verb.RECALLED: KitState.PACKED,
    Verb.PART_CAME: KitState.AWAY,
    Verb.CHECKED: KitState.BENCH,
    Verb.LOST: KitState.RETIRED,
    Verb.RETIRED: KitState.RETIRED,
}


def may(verb: Verb, state: KitState | None) -> bool:
    """Whether the table allows `verb` on a kit in `state`."""
    return verb not in ALLOWED or state in ALLOWED[verb]


def follow(standing: Standing, verb: Verb) -> Standing:
    """Standing of a kit after one more event.

    Raises
    ------
    NotAllowed
        If the act may not happen in that state.
    """
    state = standing.state
    if verb is Verb.REGISTERED:
        if state is not None:
            raise NotAllowed("a kit is registered once, and this one has events already")
        return Standing(state=KitState.BENCH)
    if state is None:
        raise NotAllowed(f"the first event of a kit is its registration, not {verb.value!r}")
    if not may(verb, state):
        raise NotAllowed(f"a kit that is {state.label} cannot be {verb.value}")
    return _moved(standing, verb, state)


def _moved(standing: Standing, verb: Verb, state: KitState) -> Standing:
    if verb in _PLAIN_MOVES:
        if verb is Verb.PACKED and not (standing.cleared or standing.overridden):
            raise NotAllowed("a kit that is neither cleared nor overridden cannot be packed")
        gone = verb in (Verb.LOST, Verb.RETIRED)
        return replace(
            standing,
            state=_PLAIN_MOVES[verb],
            cleared=standing.cleared and not gone,
            held_from=None,
            partly_back=verb is Verb.PART_CAME,
        )
    match verb:
        case Verb.UNASSIGNED:
            home = KitState.SHELF if standing.cleared else KitState.BENCH
            return replace(standing, state=home, overridden=False)
        case Verb.OVERRIDDEN:
            return replace(standing, overridden=True)
        case Verb.ARRIVED:
            # Every return takes the clearance away: nobody knows what happened to the kit out
            # there.
            return Standing(state=KitState.CHECK)
        case Verb.CLEARED:
            home = KitState.SHELF if state is KitState.BENCH else state
            return replace(standing, state=home, cleared=True, overridden=False)
        case Verb.UNCLEARED:
            home = KitState.BENCH if state is KitState.SHELF else state
            back = KitState.BENCH if standing.held_from is KitState.SHELF else standing.held_from
            return replace(standing, state=home, cleared=False, held_from=back)
        case Verb.HELD:
            return replace(standing, state=KitState.HELD, held_from=state)
        case Verb.RELEASED:
            return replace(standing, state=standing.held_from or KitState.BENCH, held_from=None)
        case _:
            return standing

"""A thing that was in a parcel and not on its list: written down, then moved to the kit it belongs
to or kept aside.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from django.utils import timezone

from rentals import transaction
from rentals.codes import grouped
from rentals.errors import Refused
from rentals.lifecycle import Verb, may
from rentals.models import FoundPart, Kit, Part, ReturnCheck
from rentals.selectors.found import home_of, name_of, owed_for
from rentals.states import UNENDED_FINDS, FoundState, KitState, PartPlace

from .issue import refuse_clearance
from .lock_order import lock_kits
from .record import Actor, lock_kit, record_kit, record_part
from .register import fit_part, lock_part, place_part, remove_part
from .settle import recover

#: Places that a part has come back from by being found.
_LOST_PLACES = (PartPlace.MISSING, PartPlace.LOST)


def write_down(
    check: ReturnCheck, code: str, part: Part | None, belongs_to: str, *, at: datetime | None = None
) -> FoundPart:
    """A scanned code that is not on the list of a locked check becomes a task, once."""
    at = at or timezone.now()
    if part is not None:
        part = lock_part(part)
        earlier = FoundPart.objects.filter(part=part, state__in=UNENDED_FINDS)
        for thing in earlier.exclude(check_of=check):
            where = f"found again in the parcel of kit {grouped(check.loan.kit.code)}"
            _end_by_itself(thing, FoundState.ASIDE, where, at=at)
    facts = {"part": part, "belongs_to": belongs_to, "at": at}
    thing, _ = FoundPart.objects.get_or_create(check_of=check, text=code, defaults=facts)
    return thing


@transaction.atomic
def move_found(thing: FoundPart, *, actor: Actor = None, at: datetime | None = None) -> FoundPart:
    """Put a found part into the kit it belongs to; that kit must be tested again.

    Raises
    ------
    Refused
        If it is put away already, no kit is known for it, or the kit cannot take it now: it is
        packed, away, or its place is taken. The sentence says what to do.
    """
    home = _lock_kits(thing)
    thing, part = _lock(thing)
    if part is None or home is None:
        raise Refused("No kit is known that it belongs to: keep it aside.")
    _check_that_it_can_join(home)
    where = f"found in the parcel of kit {grouped(thing.check_of.loan.kit.code)}"
    if part.kit_id == home.pk:
        _put_back(home, part, f"{name_of(thing)} put back, {where}.", actor=actor, at=at)
    else:
        _bring_back(part, actor=actor, at=at)
        fit_part(home, part, actor=actor, at=at)
    text = f"moved to kit {grouped(home.code)}"
    return _end(thing, FoundState.MOVED, text, lies="", actor=actor, at=at)


@transaction.atomic
def keep_aside(
    thing: FoundPart, lies: str, *, actor: Actor = None, at: datetime | None = None
) -> FoundPart:
    """Put a found thing aside and write down where it lies. A part comes out of the kit that it is
    in on file; while that is away the task waits for it.

    Raises
    ------
    Refused
        If it is put away already, no place is named, or its kit is packed.
    """
    lies = " ".join(lies.split())[:120]
    if not lies:
        raise Refused("Say where it lies, so that it is found again.", field="lies")
    home = _lock_kits(thing)
    thing, part = _lock(thing)
    if part is not None and part.kit_id is not None and home is not None:
        if home.state == KitState.AWAY:
            return _wait(thing, lies, actor=actor, at=at)
        _check_that_it_can_join(home)
        to = PartPlace.REPAIR if part.damaged else PartPlace.SPARE
        where = f"found in the parcel of kit {grouped(thing.check_of.loan.kit.code)}; lies: {lies}"
        remove_part(home, part, to=to, reason=where, actor=actor, at=at)
    elif part is not None:
        _bring_back(part, actor=actor, at=at)
    return _end(thing, FoundState.ASIDE, f"kept aside: {lies}", lies=lies, actor=actor, at=at)


def note_home_again(
    parts: Iterable[int], *, actor: Actor = None, at: datetime | None = None
) -> None:
    """End the tasks of found parts that the check of their own kit has seen in its parcel."""
    things = FoundPart.objects.filter(part__in=list(parts), state__in=UNENDED_FINDS)
    for thing in things.select_related("part"):
        _end_by_itself(thing, FoundState.MOVED, "back with its kit", actor=actor, at=at)


def _lock_kits(thing: FoundPart) -> Kit | None:
    """Lock the kit it was found with and the one it belongs to, in the order of their numbers, so
    that two acts never wait for each other; returns the second.
    """
    parts = Part.objects.select_related("kit")
    home = home_of(parts.get(pk=thing.part_id)) if thing.part_id else None
    found_in = thing.check_of.loan.kit_id
    locked = lock_kits({found_in} | ({home.pk} if home else set()))
    return locked[home.pk] if home else None


def _lock(thing: FoundPart) -> tuple[FoundPart, Part | None]:
    things = FoundPart.objects.select_for_update(of=("self",)).select_related("check_of__loan__kit")
    thing = things.get(pk=thing.pk)
    if thing.state not in UNENDED_FINDS:
        raise Refused(f"{name_of(thing)} is put away already: {thing.get_state_display()}.")
    return thing, lock_part(thing.part) if thing.part else None


def _check_that_it_can_join(home: Kit) -> None:
    state, name = KitState(home.state), f"Kit {grouped(home.code)}"
    if state is KitState.PACKED:
        raise Refused(f"{name} is packed without it: unpack it first, then put it in.")
    if not may(Verb.FITTED, state):
        raise Refused(f"{name} is {state.label}: keep it aside.")


def _put_back(home: Kit, part: Part, text: str, *, actor: Actor, at: datetime | None) -> None:
    """A part that is in the kit on file lies in it again."""
    record_kit(home, Verb.NOTED, text, actor=actor, part=part, at=at)
    if home.cleared:
        name = f"{part.get_kind_display()} {part.code}"
        reason = f"{name} was in another kit's parcel: test the kit."
        refuse_clearance(home, reason=reason, actor=actor, at=at)


def _bring_back(part: Part, *, actor: Actor, at: datetime | None) -> None:
    """A part that was missing or lost is here: a sound spare, and nobody owes it any more."""
    if part.place not in _LOST_PLACES:
        return
    if (owed := owed_for(part)) is not None:
        recover(owed, actor=actor, at=at)
    else:
        place_part(part, PartPlace.SPARE, reason="found in a parcel", actor=actor, at=at)


def _wait(thing: FoundPart, lies: str, *, actor: Actor, at: datetime | None) -> FoundPart:
    thing.state, thing.lies = FoundState.WAITING, lies
    thing.save(update_fields=["state", "lies"])
    _record(thing, f"kept aside until its kit is back: {lies}", actor=actor, at=at)
    return thing


def _end(
    thing: FoundPart,
    state: FoundState,
    text: str,
    *,
    lies: str,
    actor: Actor,
    at: datetime | None,
) -> FoundPart:
    _close(thing, state, lies, at)
    _record(thing, text, actor=actor, at=at)
    return thing


def _end_by_itself(
    thing: FoundPart,
    state: FoundState,
    text: str,
    *,
    actor: Actor = None,
    at: datetime | None = None,
) -> None:
    """End the task of a part that another act has put in its place; its own history says so."""
    assert thing.part is not None
    _close(thing, state, text, at)
    record_part(
        lock_part(thing.part), Verb.NOTED, f"No longer to put away: {text}.", actor=actor, at=at
    )


def _close(thing: FoundPart, state: FoundState, lies: str, at: datetime | None) -> None:
    thing.state, thing.lies, thing.ended_at = state, lies, at or timezone.now()
    thing.save(update_fields=["state", "lies", "ended_at"])


def _record(thing: FoundPart, text: str, *, actor: Actor, at: datetime | None) -> None:
    loan = thing.check_of.loan
    sentence = f"Found in its parcel, {name_of(thing)}: {text}."
    kit = lock_kit(loan.kit_id)
    record_kit(kit, Verb.NOTED, sentence, actor=actor, loan=loan, part=thing.part, at=at)

"""Bringing kits and parts into the house, and changing which part sits in which kit."""

from __future__ import annotations

import secrets
from datetime import date, datetime
from typing import Any

from django.db import IntegrityError

from rentals import transaction
from rentals.codes import make_code
from rentals.errors import Refused
from rentals.lifecycle import Verb, may
from rentals.models import DETAIL_MODELS, ContentsLine, Kit, KitType, Lead, LeadSet, Part, PartKind
from rentals.selectors.contents import (
    FITTED_FIRST,
    NEVER_TESTED,
    NOTHING_FITTED,
    PARTS_TO_FIT,
    free_by_kind,
    has_room_for,
)
from rentals.selectors.search import parts_with_serial
from rentals.states import LOOSE_PLACES, KitState

from .lock_order import lock_in_order
from .packing_list import follow_parts
from .part_end import PLACE_FIELDS, end_words, put_in_place
from .record import Actor, lock_kit, record_kit, record_part


def _unlabelled() -> str:
    """A stand-in until the row has its number; no label ever carries it."""
    return f"~{secrets.token_hex(5)}"


def _save_with_code(thing: Kit | Part, prefix: str) -> None:
    """Save a new row and give it the code of its own number, which no other row can ever get."""
    thing.code = _unlabelled()
    thing.save()
    thing.code = make_code(prefix, thing.pk)
    thing.save(update_fields=["code"])


@transaction.atomic
def register_kit(
    kit_type: KitType, *, actor: Actor = None, note: str = "", at: datetime | None = None
) -> Kit:
    """A new kit of a type, empty and not cleared."""
    wants_parts = kit_type.lines.filter(tracked_by=ContentsLine.Tracked.SERIAL).exists()
    reason = NOTHING_FITTED if wants_parts else NEVER_TESTED
    kit = Kit(kit_type=kit_type, note=note, not_cleared_reason=reason)
    _save_with_code(kit, "K")
    record_kit(
        kit, Verb.REGISTERED, f"Kit {kit.code} registered as {kit_type.name}.", actor=actor, at=at
    )
    return kit


@transaction.atomic
def register_kits(
    kit_type: KitType,
    count: int,
    *,
    actor: Actor = None,
    note: str = "",
    at: datetime | None = None,
) -> list[Kit]:
    """Several new kits of a type, empty and not cleared."""
    return [register_kit(kit_type, actor=actor, note=note, at=at) for _ in range(count)]


@transaction.atomic
def register_part(
    kind: str,
    serial: str,
    *,
    actor: Actor = None,
    at: datetime | None = None,
    bought_on: date | None = None,
    **facts: Any,
) -> Part:
    """A new spare part of a serial kind; a lead set gets its three leads.

    Raises
    ------
    Refused
        If the serial is empty or another part of the kind has it.
    """
    serial = serial.strip()
    if not serial:
        raise Refused(
            "Give the serial number; without one, write a mark on the part and give that.",
            field="serial",
        )
    if twin := parts_with_serial(serial).filter(kind=kind).first():
        where = f"in kit {twin.kit.code}" if twin.kit else twin.get_place_display()
        taken = f"Serial {serial} is already {twin.code} ({where}). Check the number."
        raise Refused(taken, field="serial")
    part = DETAIL_MODELS[kind](
        kind=kind, serial=serial, place=Part.Place.SPARE, bought_on=bought_on, **facts
    )
    try:
        with transaction.atomic():
            _save_with_code(part, "P")
    except IntegrityError as twice:
        raise Refused(
            f"Serial {serial} was registered a moment ago. Look it up.", field="serial"
        ) from twice
    if isinstance(part, LeadSet):
        Lead.objects.bulk_create(Lead(lead_set=part, role=role) for role in Lead.Role.values)
    record_part(
        part,
        Verb.REGISTERED,
        f"{part.get_kind_display()} {part.code} registered, serial {serial}.",
        actor=actor,
        at=at,
    )
    return part


def lock_part(part: Part | str) -> Part:
    """The part, locked until the transaction ends; by object or code."""
    # The kit is looked up afterwards: joined in, it could be the one from before the wait for the
    # lock.
    parts = Part.objects.select_for_update()
    stored = (
        parts.filter(code=part).first()
        if isinstance(part, str)
        else parts.filter(pk=part.pk).first()
    )
    if stored is None:
        raise Refused(f"There is no part {part}. Check the code on its label.", field="part")
    return stored


def _lock_with_kit(part: Part) -> tuple[Kit | None, Part]:
    """The part and the kit it is in, locked in the order of all acts: the kit first."""
    home = Part.objects.values_list("kit", flat=True).get(pk=part.pk)
    kit, part = (lock_kit(home) if home else None), lock_part(part)
    if part.kit_id != home:
        raise Refused(f"{part.code} was moved by somebody else a moment ago. Look again.")
    return kit, part


def _uncleared(kit: Kit, reason: str, *, actor: Actor, at: datetime | None) -> None:
    """A changed kit is another kit: what the bench said no longer holds."""
    if not kit.cleared:
        return
    kit.not_cleared_reason = reason
    record_kit(kit, Verb.UNCLEARED, f"No longer cleared: {reason}", actor=actor, at=at)


@transaction.atomic
def fit_part(
    kit: Kit, part: Part | str, *, actor: Actor = None, at: datetime | None = None
) -> Part:
    """Put a spare into a kit; the kit must be tested again.

    Raises
    ------
    Refused
        If the part is not a sound spare, the kit has no place for its kind, or is packed or away.
    """
    kit, part = lock_kit(kit), lock_part(part)
    if part.kit is not None:
        where = (
            "this kit already"
            if part.kit_id == kit.pk
            else f"kit {part.kit.code}; take it out there first"
        )
        raise Refused(f"{part.get_kind_display()} {part.code} is in {where}.", field="part")
    if part.place != Part.Place.SPARE or part.damaged:
        what = "damaged" if part.damaged else part.get_place_display()
        raise Refused(
            f"{part.get_kind_display()} {part.code} is {what}, not a sound spare.", field="part"
        )
    if not has_room_for(kit, part.kind):
        raise Refused(
            f"Kit {kit.code} has no free place for a {part.get_kind_display().lower()}: swap the"
            " fitted one.",
            field="part",
        )
    part.kit, part.place = kit, Part.Place.FITTED
    part.save(update_fields=["kit", "place"])
    name = f"{part.get_kind_display()} {part.code}"
    record_kit(
        kit, Verb.FITTED, f"{name} fitted (serial {part.serial}).", actor=actor, part=part, at=at
    )
    _uncleared(kit, f"{name} was fitted and has not been tested: test the kit.", actor=actor, at=at)
    # A kit that was never on the bench has that plainer reason.
    if kit.not_cleared_reason in (NEVER_TESTED, *FITTED_FIRST):
        whole = not any(free_by_kind(kit).values())
        kit.not_cleared_reason = NEVER_TESTED if whole else PARTS_TO_FIT
    else:
        kit.not_cleared_reason = f"{name} was fitted and has not been tested: test the kit."
    kit.save(update_fields=["not_cleared_reason"])
    follow_parts(kit)
    return part


@transaction.atomic
def register_and_fit(
    kit: Kit, kind: str, serial: str, *, actor: Actor = None, at: datetime | None = None
) -> Part:
    """A new part straight into its kit, in one step.

    Raises
    ------
    Refused
        As `register_part` and `fit_part`; then nothing is registered either.
    """
    return fit_part(kit, register_part(kind, serial, actor=actor, at=at), actor=actor, at=at)


@transaction.atomic
def remove_part(
    kit: Kit,
    part: Part | str,
    *,
    to: str,
    reason: str = "",
    cause: str = "",
    actor: Actor = None,
    at: datetime | None = None,
) -> Part:
    """Take a part out of a kit, to the spares, to repair, or out of use (then with its cause)."""
    kit, part = lock_kit(kit), lock_part(part)
    if part.kit_id != kit.pk:
        raise Refused(
            f"{part.get_kind_display()} {part.code} is not in kit {kit.code}.", field="part"
        )
    if to not in LOOSE_PLACES:
        raise Refused("Say where the part goes: spare, in repair, lost or retired.", field="to")
    if to == Part.Place.SPARE and part.damaged:
        raise Refused(
            f"{part.get_kind_display()} {part.code} is damaged: send it to repair or retire it.",
            field="to",
        )
    put_in_place(part, to, cause=cause, at=at)
    part.save(update_fields=PLACE_FIELDS)
    name = f"{part.get_kind_display()} {part.code}"
    because = f": {reason}" if reason else ""
    record_kit(
        kit,
        Verb.REMOVED,
        f"{name} taken out, now {end_words(part)}{because}.",
        actor=actor,
        part=part,
        at=at,
    )
    _uncleared(kit, f"{name} was taken out: the kit is not complete.", actor=actor, at=at)
    follow_parts(kit)
    return part


@transaction.atomic
def swap_part(
    kit: Kit,
    old: Part | str,
    new: Part | str,
    *,
    to: str = Part.Place.REPAIR,
    reason: str = "",
    cause: str = "",
    actor: Actor = None,
    at: datetime | None = None,
) -> Part:
    """Replace a fitted part by a spare of the same kind, in one step."""
    lock_kit(kit)
    codes = [part if isinstance(part, str) else part.code for part in (old, new)]
    lock_in_order(Part.objects.filter(code__in=codes))
    old_part, new_part = lock_part(old), lock_part(new)
    if old_part.kind != new_part.kind:
        raise Refused(
            f"{new_part.code} is a {new_part.get_kind_display().lower()}, "
            f"{old_part.code} a {old_part.get_kind_display().lower()}: swap like for like.",
            field="part",
        )
    remove_part(kit, old_part, to=to, reason=reason, cause=cause, actor=actor, at=at)
    return fit_part(kit, new_part, actor=actor, at=at)


@transaction.atomic
def place_part(
    part: Part | str,
    to: str,
    *,
    reason: str = "",
    cause: str = "",
    actor: Actor = None,
    at: datetime | None = None,
) -> Part:
    """Move a part that is in no kit (repaired, found again, written off).

    Refused where that would change nothing: it is there already, sound if it is a spare, and for
    the cause given if it is out of use.
    """
    part = lock_part(part)
    if part.kit is not None:
        raise Refused(
            f"{part.code} is in kit {part.kit.code}: take it out there first.", field="part"
        )
    if to not in LOOSE_PLACES:
        raise Refused("Say where the part goes: spare, in repair, lost or retired.", field="to")
    if part.place == Part.Place.SENT:
        raise Refused(f"{part.code} is with a student: it comes back with their kit.", field="to")
    before = (part.place, part.ended_as, part.damaged and to == Part.Place.SPARE)
    put_in_place(part, to, cause=cause, at=at)
    if before == (part.place, part.ended_as, False):
        raise Refused(f"{part.code} is {end_words(part)} already.", field="to")
    if to == Part.Place.SPARE:
        part.damaged, part.damage_note = False, ""
        Lead.objects.filter(lead_set_id=part.pk).update(damaged=False)
    part.save(update_fields=[*PLACE_FIELDS, "damaged", "damage_note"])
    because = f": {reason}" if reason else ""
    record_part(part, Verb.NOTED, f"Now {end_words(part)}{because}.", actor=actor, at=at)
    return part


@transaction.atomic
def mark_damaged(
    part: Part, note: str, *, lead: str = "", actor: Actor = None, at: datetime | None = None
) -> Part:
    """Mark a part as damaged where it is; a kit that holds it cannot be issued until it is
    swapped.
    """
    kit, part = _lock_with_kit(part)
    lead_words = {"A": "lead A", "B": "lead B", "ground": "ground lead"}
    if part.kind == PartKind.LEAD_SET and lead:
        Lead.objects.filter(lead_set_id=part.pk, role=lead).update(damaged=True)
        note = f"{lead_words[lead]}: {note}" if note else lead_words[lead]
    part.damaged, part.damage_note = True, note[:200]
    part.save(update_fields=["damaged", "damage_note"])
    if kit is not None:
        text = f"{part.get_kind_display()} {part.code} marked damaged" + (
            f" ({note})." if note else "."
        )
        record_kit(kit, Verb.NOTED, text, actor=actor, part=part, at=at)
        if may(Verb.UNCLEARED, KitState(kit.state)):
            _uncleared(
                kit,
                f"{part.get_kind_display()} {part.code} is damaged: swap it.",
                actor=actor,
                at=at,
            )
    else:
        record_part(part, Verb.NOTED, f"Marked damaged: {note}.", actor=actor, at=at)
    return part

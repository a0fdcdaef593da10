"""Kits set aside for students: set aside, pinned, let go; many in one go."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any

from django.utils import timezone

from rentals import transaction
from rentals.errors import Refused
from rentals.lifecycle import Verb
from rentals.models import Earmark, Enrolment, Kit
from rentals.selectors.unserved import unserved
from rentals.states import KitState

from .lock_order import lock_in_order
from .record import Actor
from .record_many import KitNews, record_kits


@transaction.atomic
def set_aside(
    kit_of: Mapping[int, str], *, actor: Actor = None, at: datetime | None = None
) -> list[Earmark]:
    """Set a kit aside for each enrolment, by its number and the kit's code. One set aside for it
    before is let go.

    Raises
    ------
    Refused
        If a kit is retired or of another type, or a student withdrew or has a kit.
    """
    at = at or timezone.now()
    enrolments = {
        row.pk: row
        for row in Enrolment.objects.filter(unserved(), pk__in=kit_of).select_related(
            "student", "run"
        )
    }
    before = {row.enrolment_id: row for row in _earmarks(kit_of)}
    kits = _locked({*kit_of.values(), *(row.kit.code for row in before.values())})
    news: list[KitNews] = []
    rows: list[Earmark] = []
    for who, code in kit_of.items():
        enrolment, kit = enrolments.get(who), kits.get(code)
        if enrolment is None:
            raise Refused("A student withdrew or got a kit a moment ago. Make the plan again.")
        _check(enrolment, kit, code)
        assert kit is not None
        old = before.get(who)
        if old is not None and old.kit_id == kit.pk:
            continue
        if old is not None:
            news.append(_gone(kits[old.kit.code], enrolment))
        news.append(_placed(kit, enrolment, pinned=False))
        rows.append(Earmark(kit=kit, enrolment=enrolment, by=actor, at=at))
    Earmark.objects.filter(enrolment__in=[row.enrolment_id for row in rows]).delete()
    record_kits(news, actor=actor, at=at)
    return Earmark.objects.bulk_create(rows)


@transaction.atomic
def pin(
    enrolment: Enrolment, *, pinned: bool, actor: Actor = None, at: datetime | None = None
) -> Earmark:
    """Pin the kit set aside for a student, so that no new plan takes it away; or unpin it.

    Raises
    ------
    Refused
        If no kit is set aside for the student.
    """
    row = _earmarks([enrolment.pk]).first()
    if row is None:
        raise Refused("No kit is set aside for this student any more. Make the plan again.")
    if row.pinned != pinned:
        kit = _locked([row.kit.code])[row.kit.code]
        row.pinned = pinned
        row.save(update_fields=["pinned"])
        record_kits([_placed(kit, row.enrolment, pinned=pinned)], actor=actor, at=at)
    return row


@transaction.atomic
def let_go(enrolment: Enrolment, *, actor: Actor = None, at: datetime | None = None) -> None:
    """Let the kit go that is set aside for a student; nothing happens where there is none."""
    for row in _earmarks([enrolment.pk]):
        kit = _locked([row.kit.code])[row.kit.code]
        record_kits([_gone(kit, row.enrolment)], actor=actor, at=at)
        row.delete()


def _earmarks(enrolments: Iterable[int]) -> Any:
    rows = Earmark.objects.filter(enrolment__in=list(enrolments))
    return rows.select_related("kit", "enrolment__student", "enrolment__run")


def _locked(codes: Iterable[str]) -> dict[str, Kit]:
    """Kits locked in one order, whoever locks them."""
    kits = Kit.objects.select_related("kit_type").filter(code__in=set(codes))
    return {kit.code: kit for kit in lock_in_order(kits)}


def _check(enrolment: Enrolment, kit: Kit | None, code: str) -> None:
    if kit is None or kit.state == KitState.RETIRED:
        raise Refused(f"Kit {code} is not in use any more. Make the plan again.")
    if kit.kit_type_id != enrolment.run.kit_type_id:
        raise Refused(
            f"Kit {code} is a {kit.kit_type.name}; {enrolment.run.name} needs another kit type."
        )


def _placed(kit: Kit, enrolment: Enrolment, *, pinned: bool) -> KitNews:
    name, run = enrolment.student.name, enrolment.run.name
    firmly = "Pinned: set aside" if pinned else "Set aside"
    facts = {"enrolment": enrolment.pk, "pinned": pinned}
    return KitNews(kit, Verb.SET_ASIDE, f"{firmly} for {name} on {run}.", facts)


def _gone(kit: Kit, enrolment: Enrolment) -> KitNews:
    text = f"No longer set aside for {enrolment.student.name} on {enrolment.run.name}."
    return KitNews(kit, Verb.LET_GO, text, {"enrolment": enrolment.pk})

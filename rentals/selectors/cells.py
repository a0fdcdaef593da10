"""The cells of a loan from its rows: what is in the kit, how much its course asks of it."""

from __future__ import annotations

from datetime import date

from django.utils import timezone

from rentals.models import BatteryPack, Kit, Loan, PartKind
from rentals.planning.cell_words import owner_sentence
from rentals.planning.cells import CellOutlook, CellPack, Practising, outlook


def cell_outlook(loan: Loan, today: date) -> CellOutlook | None:
    """Whether the cells last a loan; None where the drain of its kit type is not on file, or no
    battery pack is in the kit. The pack counts as full on the day it was packed, or today.
    """
    drain = loan.kit.kit_type.drain_ma
    pack = _pack_of(loan.kit) if drain else None
    if not drain or pack is None:
        return None
    run = loan.enrolment.run
    practising = Practising(
        drain, run.sessions_per_week, run.minutes_per_session, run.starts_on, run.ends_on
    )
    full_on = timezone.localdate(loan.packed_at) if loan.packed_at else today
    cells = CellPack(pack.chemistry, pack.capacity_mah, pack.charge_count)
    return outlook(cells, practising, full_on)


def cells_in_words(loan: Loan, today: date) -> str:
    """The same for the owner; empty where nothing is known of the cells, or the course is over."""
    found = cell_outlook(loan, today)
    return owner_sentence(found, today) if found and today <= found.ends_on else ""


def _pack_of(kit: Kit) -> BatteryPack | None:
    """The kit's battery pack, from its parts, which may have been loaded before."""
    packs = (part for part in kit.parts.all() if part.kind == PartKind.BATTERY_PACK)
    part = next(packs, None)
    return part.batterypack if part else None

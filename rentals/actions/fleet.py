"""A whole fleet from a table: new kits, their parts, and spares, in one step."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from rentals import transaction
from rentals.counts import counted
from rentals.errors import Refused
from rentals.models import Kit, KitType
from rentals.roster.fleet_rows import FleetOutcome, FleetRow, fingerprint, judge_fleet, name_key
from rentals.roster.fleet_table import FleetTable
from rentals.selectors.fleet import fleet_on_file, kits_spoken_of, parts_spoken_of

from .record import Actor
from .register import fit_part, register_kit, register_part

_NAMED = 8


@dataclass(frozen=True)
class FleetRegistered:
    """How many kits and parts were registered, and how many parts fitted."""

    kits: int
    parts: int
    fitted: int

    def __add__(self, more: FleetRegistered) -> FleetRegistered:
        return FleetRegistered(
            self.kits + more.kits, self.parts + more.parts, self.fitted + more.fitted
        )

    @property
    def sentence(self) -> str:
        kits = counted(self.kits, "new kit", "new kits")
        parts = counted(self.parts, "new part", "new parts")
        return f"{kits} and {parts} are registered, {self.fitted} fitted. Print their labels."


@transaction.atomic
def register_fleet(
    table: FleetTable,
    kit_type: KitType,
    *,
    seen: str,
    actor: Actor = None,
    at: datetime | None = None,
) -> FleetRegistered:
    """Carry out every row of a table, all or none, judged anew under lock. `seen` is the
    `fingerprint` of the preview that is confirmed.

    Raises
    ------
    Refused
        If a row is in the way, nothing is left to do, or the desk has changed since the preview.
    """
    _lock(table, kit_type)
    rows = judge_fleet(table, fleet_on_file(table, kit_type))
    check_fleet(rows, seen)
    return _carried_out(rows, kit_type, actor=actor, at=at)


@transaction.atomic
def register_rows(
    table: FleetTable,
    kit_type: KitType,
    numbers: Collection[int],
    *,
    actor: Actor = None,
    at: datetime | None = None,
) -> tuple[FleetRegistered, list[FleetRow]]:
    """Carry out some rows of a table, all or none, and nothing of what is there already: what was
    registered, and the rows as they were judged. Where one is in the way, none is registered.
    """
    part = replace(table, rows=tuple(row for row in table.rows if row.number in numbers))
    _lock(part, kit_type)
    rows = judge_fleet(part, fleet_on_file(part, kit_type))
    if any(row.outcome == FleetOutcome.WRONG for row in rows):
        return FleetRegistered(0, 0, 0), rows
    return _carried_out(rows, kit_type, actor=actor, at=at), rows


def _carried_out(
    rows: Sequence[FleetRow], kit_type: KitType, *, actor: Actor, at: datetime | None
) -> FleetRegistered:
    kits = _kits_of(rows, kit_type, actor=actor, at=at)
    fitted = 0
    for row in rows:
        if row.outcome == FleetOutcome.THERE:
            continue
        part = row.part or register_part(row.kind, row.serial, actor=actor, at=at)
        if kit := kits.get(row.kit or name_key(row.new_kit)):
            fit_part(kit, part, actor=actor, at=at)
            fitted += 1
    new_kits = {name_key(row.new_kit) for row in rows if row.new_kit}
    new_parts = sum(row.outcome == FleetOutcome.NEW for row in rows)
    return FleetRegistered(len(new_kits), new_parts, fitted)


def _lock(table: FleetTable, kit_type: KitType) -> None:
    """In the order of all acts: kits, then parts. The lock of the type keeps two tables apart."""
    KitType.objects.select_for_update(no_key=True).get(pk=kit_type.pk)
    for rows in (kits_spoken_of(table), parts_spoken_of(table)):
        list(rows.select_for_update().order_by("pk").values_list("pk"))


def check_fleet(rows: Sequence[FleetRow], seen: str) -> None:
    """Refuse rows that cannot all be carried out, or not as the preview `seen` has shown them."""
    wrong = [str(row.number) for row in rows if row.outcome == FleetOutcome.WRONG]
    if wrong:
        numbers = ", ".join(wrong[:_NAMED]) + (" and more" if len(wrong) > _NAMED else "")
        stands = counted(len(wrong), "row stands", "rows stand")
        raise Refused(f"Nothing was registered: {stands} in the way (row {numbers}).")
    if all(row.outcome == FleetOutcome.THERE for row in rows):
        raise Refused("All of this is on file already: there is nothing to register.")
    if fingerprint(rows) != seen:
        raise Refused(
            "Nothing was registered: the table or the desk is not as it was in the preview. Look at"
            " the rows again."
        )


def _kits_of(
    rows: Sequence[FleetRow], kit_type: KitType, *, actor: Actor, at: datetime | None
) -> dict[str, Kit]:
    """Kits by their code, new ones made and under the key of their own name."""
    codes = {row.kit for row in rows if row.kit}
    kits = {kit.code: kit for kit in Kit.objects.filter(code__in=codes)}
    for row in rows:
        if row.new_kit and name_key(row.new_kit) not in kits:
            kit = register_kit(kit_type, note=row.new_kit, actor=actor, at=at)
            kits[name_key(row.new_kit)] = kit
    return kits

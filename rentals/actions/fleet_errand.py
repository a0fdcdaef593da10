"""A long table of a fleet is registered in the background, kit by kit."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from django.urls import reverse

from rentals import transaction
from rentals.counts import counted
from rentals.models import Errand, ErrandKind, KitType
from rentals.roster.fleet_rows import FleetRow, judge_fleet, name_key
from rentals.roster.fleet_table import FleetTable
from rentals.selectors.fleet import fleet_on_file

from .errands import ErrandAsked, ask_errand
from .fleet import check_fleet
from .record import Actor

#: So many rows are registered while somebody waits: under two seconds of a core.
REGISTERED_AT_ONCE = 50
_SPARES_AT_ONCE = 10


@transaction.atomic
def ask_fleet(
    table: FleetTable,
    kit_type: KitType,
    *,
    typed: Mapping[str, str],
    seen: str,
    actor: Actor = None,
) -> Errand:
    """Have a table registered in the background. `typed` is the form that it came from, to be read
    again then, and shown again where something of it is in the way. Raises Refused as
    `register_fleet` does.
    """
    rows = judge_fleet(table, fleet_on_file(table, kit_type))
    check_fleet(rows, seen)
    new_kits = {name_key(row.new_kit) for row in rows if row.new_kit}
    kits, parts = counted(len(new_kits), "kit", "kits"), counted(len(rows), "row", "rows")
    page = reverse("rentals:fleet")
    asked = ErrandAsked(
        ErrandKind.FLEET,
        f"{kits} from a table of {parts}",
        about=page,
        seen_by=page,
        facts={"typed": dict(typed)},
    )
    errand = ask_errand(asked, actor=actor)
    errand.goes_to = f"{page}?work={errand.pk}"
    errand.save(update_fields=["goes_to"])
    return errand


def rows_together(rows: Sequence[FleetRow]) -> list[set[int]]:
    """Numbers of the rows that are registered in one go: those of a kit, spares a few at a time."""
    parts: dict[str, set[int]] = {}
    spares = 0
    for row in rows:
        key = row.kit or name_key(row.new_kit) or name_key(row.kit_text)
        if not key:
            key = f" spares {spares // _SPARES_AT_ONCE}"
            spares += 1
        parts.setdefault(key, set()).add(row.number)
    return list(parts.values())

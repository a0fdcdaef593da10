"""What a fleet's table is judged against: the parts, kits and names on file that it speaks of."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable

from django.db.models import Q, QuerySet
from django.db.models.functions import Lower

from rentals.codes import is_code, parse_code
from rentals.lifecycle import Verb, may
from rentals.models import ContentsLine, Kit, KitType, Part
from rentals.roster.columns import plain
from rentals.roster.fleet_rows import FleetOnFile, KitOnFile, PartOnFile, name_key, part_key
from rentals.roster.fleet_table import FleetTable
from rentals.selectors.contents import free_by_kind
from rentals.states import KitState


def kits_spoken_of(table: FleetTable) -> QuerySet[Kit]:
    """Kits that the table names by their code, or by the own name noted on them."""
    texts = {table.cell(row, "kit") for row in table.rows}
    codes = {parse_code(text) for text in texts if is_code(text)}
    names = {name_key(text) for text in texts if text}
    noted = Q(own_name__in=names) & ~Q(state=KitState.RETIRED)
    kits = Kit.objects.alias(own_name=Lower("note"))
    return kits.filter(Q(code__in=codes) | noted)


def parts_spoken_of(table: FleetTable) -> QuerySet[Part]:
    """Parts on file that bear one of the table's serials."""
    serials = {table.cell(row, "serial").lower() for row in table.rows}
    return Part.objects.alias(key=Lower("serial")).filter(key__in=serials)


def fleet_on_file(table: FleetTable, kit_type: KitType) -> FleetOnFile:
    """All of that, for kits to be made of `kit_type`; a fixed number of queries."""
    kits = list(kits_spoken_of(table).prefetch_related("parts", "kit_type__lines"))
    named: dict[str, list[str]] = defaultdict(list)
    for kit in sorted(kits, key=lambda kit: kit.pk):
        if kit.note and kit.state != KitState.RETIRED:
            named[name_key(kit.note)].append(kit.code)
    lines = list(kit_type.lines.filter(tracked_by=ContentsLine.Tracked.SERIAL))
    free: Counter[str] = Counter()
    for line in lines:
        free[line.part_kind] += line.quantity
    return FleetOnFile(
        parts={
            part_key(part.kind, part.serial): _part_on_file(part)
            for part in parts_spoken_of(table).select_related("kit")
        },
        kits={kit.code: _kit_on_file(kit) for kit in kits},
        named=dict(named),
        free=free,
        own_names=names_of_kinds(lines),
    )


def names_of_kinds(lines: Iterable[ContentsLine]) -> dict[str, str]:
    """What contents lines call their kinds of parts, as `plain` gives it."""
    return {plain(line.name): line.part_kind for line in lines}


def _part_on_file(part: Part) -> PartOnFile:
    sound_spare = part.place == Part.Place.SPARE and not part.damaged
    place = "damaged" if part.damaged else part.get_place_display()
    return PartOnFile(part.code, part.kit.code if part.kit else "", place, sound_spare)


def _kit_on_file(kit: Kit) -> KitOnFile:
    state = KitState(kit.state)
    return KitOnFile(kit.code, may(Verb.FITTED, state), state.label, free_by_kind(kit))

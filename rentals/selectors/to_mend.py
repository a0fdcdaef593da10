"""Kits that are no kit for a plan or a forecast until they are mended."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

from django.db.models import OuterRef, QuerySet, Subquery

from rentals.models import OPEN_STAGES, ContentsLine, Event, Kit, Loan, Part
from rentals.planning.contents import lacking
from rentals.selectors.contents import REFUSED, THAT_DECIDE
from rentals.states import KitState

_NOT_HERE = (KitState.PACKED, KitState.AWAY, KitState.RETIRED)


def last_words(kit: str = "pk") -> Subquery:
    """The last thing that decided whether a kit may go out; `kit` leads to it from other rows."""
    events = Event.objects.filter(kit=OuterRef(kit), verb__in=THAT_DECIDE)
    return Subquery(events.order_by("-number").values("text")[:1])


def kits_to_mend(kit_types: Iterable[int]) -> dict[str, str]:
    """Kits of some types that are here and lack a part, have a damaged one, or were refused by the
    bench and not mended since, and those that come back as faulty: by the code, what is to be
    done, in sentences.

    A cleared kit is whole, since every change of its parts takes the clearance away.
    """
    here = Kit.objects.filter(kit_type__in=kit_types, cleared=False, override_reason="")
    here = here.exclude(state__in=_NOT_HERE)
    lists, parts = _Lists(_lines_of(kit_types)), _parts_of(here)
    found = {}
    facts = ("pk", "code", "kit_type", "not_cleared_reason", "last_words")
    rows = here.annotate(last_words=last_words()).order_by("code").values_list(*facts)
    for kit, code, kit_type, reason, words in rows:
        reasons = [reason] if str(words).startswith(REFUSED) else []
        to_do = [*reasons, *lists.lacking(kit_type, parts.get(kit, []))]
        found[code] = " ".join(filter(None, to_do))
    return _coming_back_faulty(kit_types) | {code: words for code, words in found.items() if words}


class _Line(NamedTuple):
    """What is asked of a line of a contents list."""

    part_kind: str
    name: str
    quantity: int
    by_serial: bool


class _Fitted(NamedTuple):
    """What is asked of a part that sits in a kit: there may be many thousands."""

    kind: str
    code: str
    damaged: bool
    damage_note: str


@dataclass
class _Lists:
    """Contents lists by their kit type, and what lacks of them in kits without a damaged part,
    worked out once for all that hold parts of the same kinds.
    """

    lines: Mapping[int, Sequence[_Line]]
    _known: dict[tuple[int, tuple[str, ...]], list[str]] = field(default_factory=dict)

    def lacking(self, kit_type: int, parts: Sequence[_Fitted]) -> list[str]:
        """As `rentals.planning.contents.lacking`."""
        lines = self.lines.get(kit_type, [])
        if any(part.damaged for part in parts):
            return lacking(lines, parts)
        kinds = (kit_type, tuple(sorted(part.kind for part in parts)))
        if kinds not in self._known:
            self._known[kinds] = lacking(lines, parts)
        return self._known[kinds]


def _lines_of(kit_types: Iterable[int]) -> dict[int, list[_Line]]:
    found = defaultdict(list)
    for line in ContentsLine.objects.filter(kit_type__in=kit_types):
        facts = _Line(line.part_kind, line.name, line.quantity, line.by_serial)
        found[line.kit_type_id].append(facts)
    return found


def _parts_of(kits: QuerySet[Kit]) -> dict[int, list[_Fitted]]:
    found = defaultdict(list)
    rows = Part.objects.filter(kit__in=kits.values("pk")).order_by()
    for kit, *facts in rows.values_list("kit", *_Fitted._fields):
        found[kit].append(_Fitted(*facts))
    return found


def _coming_back_faulty(kit_types: Iterable[int]) -> dict[str, str]:
    """Kits that students send back because something is wrong with them."""
    loans = Loan.objects.filter(kit__kit_type__in=kit_types, stage__in=OPEN_STAGES)
    rows = loans.exclude(fault="").order_by("kit__code").values_list("kit__code", "fault")
    return {code: f"It comes back as faulty: {fault}." for code, fault in rows}

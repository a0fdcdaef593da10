"""What a kit holds against its contents list, from its rows.

Loads the kit's parts and its type's lines where the caller has not; nothing is written.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from rentals.lifecycle import Verb
from rentals.models import ContentsLine, Kit, Loan, Part, RemovedLine
from rentals.planning.contents import (
    Piece,
    counted_lines,
    filled_lines,
    free_places,
    lacking,
    pieces_to_pack,
)

NEVER_TESTED = "It has never been on the bench: test it."
NOTHING_FITTED = "Nothing is fitted in it yet: fit its parts."
PARTS_TO_FIT = "Not all of its parts are fitted yet: fit its parts."
#: Why a new kit is not cleared while there is nothing whole to test.
FITTED_FIRST = (NOTHING_FITTED, PARTS_TO_FIT)
REFUSED = "Not cleared: "
"""How the history begins where the bench refused a kit; what else takes a clearance away begins in
another way."""
THAT_DECIDE = (Verb.UNCLEARED, Verb.CLEARED, Verb.ARRIVED, Verb.FITTED, Verb.REMOVED)
"""Of these the last one decides whether a kit may go out."""
NOT_TESTED = "It has not passed the bench since its last return: test it."


@dataclass(frozen=True)
class KitContents:
    """What the page of a kit shows: places by serial, lines that are only counted, what lacks."""

    places: list[tuple[ContentsLine, Part | None]]
    counted: list[ContentsLine]
    lacks: list[str]

    @property
    def has_room(self) -> bool:
        """Whether a serial place is free."""
        return any(part is None for _, part in self.places)


def kit_contents(kit: Kit) -> KitContents:
    """Every serial place with its part, and the counted lines that are added when packing."""
    lines, parts = _lines_and_parts(kit)
    places = [
        (filled.line, part) for filled in filled_lines(lines, parts) for part in filled.places
    ]
    return KitContents(places, counted_lines(lines), lacking(lines, parts))


def lacking_in(kit: Kit) -> list[str]:
    """Sentences naming each part that is missing from the kit or damaged in it."""
    return lacking(*_lines_and_parts(kit))


def against_issuing(kit: Kit) -> list[str]:
    """Sentences naming what stands against issuing the kit: not cleared, incomplete. Empty means it
    may go out.
    """
    lacks = lacking_in(kit)
    reason = uncleared(kit)
    return [reason, *lacks] if reason else lacks


def uncleared(kit: Kit) -> str:
    """Why the bench has not cleared a kit; empty for a cleared one."""
    return "" if kit.cleared else kit.not_cleared_reason or NOT_TESTED


def pieces_of(kit: Kit) -> list[Piece[ContentsLine, Part]]:
    """What is packed for the kit as it is fitted now, in the order of its list."""
    return pieces_to_pack(*_lines_and_parts(kit))


def pieces_of_kits(kits: Iterable[Kit]) -> dict[int, list[Piece[ContentsLine, Part]]]:
    """The same for many kits, by their numbers, in two queries."""
    type_of = {kit.pk: kit.kit_type_id for kit in kits}
    lines: dict[int, list[ContentsLine]] = {}
    for line in ContentsLine.objects.filter(kit_type__in=set(type_of.values())):
        lines.setdefault(line.kit_type_id, []).append(line)
    parts: dict[int, list[Part]] = {}
    for part in Part.objects.filter(kit__in=list(type_of)):
        assert part.kit_id is not None
        parts.setdefault(part.kit_id, []).append(part)
    return {
        kit: pieces_to_pack(lines.get(kit_type, []), parts.get(kit, []))
        for kit, kit_type in type_of.items()
    }


def pieces_for(loan: Loan) -> list[Piece[ContentsLine | RemovedLine, Part]]:
    """What is packed for a loan that is not packed yet: the same, and lines that were taken off the
    contents list while its parcel was begun.
    """
    lines, parts = _lines_and_parts(loan.kit)
    both: list[ContentsLine | RemovedLine] = [*lines, *loan.lines_still_packed.all()]
    return pieces_to_pack(sorted(both, key=lambda line: line.order), parts)


def has_room_for(kit: Kit, kind: str) -> bool:
    """Whether the kit's list wants one more part of a kind than is fitted."""
    return free_places(*_lines_and_parts(kit), kind) > 0


def free_by_kind(kit: Kit) -> dict[str, int]:
    """How many more parts of each kind the kit's list wants than are fitted."""
    lines, parts = _lines_and_parts(kit)
    kinds = {line.part_kind for line in lines if line.by_serial}
    return {kind: free_places(lines, parts, kind) for kind in kinds}


def _lines_and_parts(kit: Kit) -> tuple[list[ContentsLine], list[Part]]:
    return list(kit.kit_type.lines.all()), list(kit.parts.all())

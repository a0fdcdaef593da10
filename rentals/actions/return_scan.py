"""Scans while a return check is under way: a part of this kit, one of another kit, or a thing that
nobody has sent.
"""

from __future__ import annotations

from datetime import datetime

from django.utils import timezone

from rentals import transaction
from rentals.codes import grouped
from rentals.errors import Refused
from rentals.lifecycle import Verb
from rentals.models import FoundPart, Kit, Part, ReturnCheck, ReturnLine
from rentals.selectors.part_scan import code_meant
from rentals.selectors.return_table import due_elsewhere, line_under_way

from .found import write_down
from .lock_order import lock_kits
from .receive import lock_check, note_line
from .record import Actor, lock_kit, record_kit

Outcome = ReturnLine.Outcome


@transaction.atomic
def scan_return(
    check: ReturnCheck, text: str, *, actor: Actor = None, at: datetime | None = None
) -> tuple[str, ReturnLine | None]:
    """Mark the line of a scanned part as back. A part that is on another check under way is marked
    back there; one that was not sent is identified and written down.

    Returns the sentence for the operator and the line, or None where the part is on no list.

    Raises
    ------
    Refused
        If the text is no code and no serial number.
    """
    code = code_meant(text, check.loan.packing_lines.all())
    lock_kits_of_scan(check.loan.kit, code)
    check = lock_check(check)
    kit = check.loan.kit
    if code == kit.code:
        return f"That is the kit's own label, {code}. Scan its parts.", None
    line = check.lines.select_related("packing_line").filter(packing_line__part_code=code).first()
    if line is not None:
        line.check_of = check
        return _back_by_scan(line), line
    found = line_under_way(code)
    if found is not None:
        return _back_elsewhere(found, kit, actor=actor, at=at), found
    part = Part.objects.filter(code=code).select_related("kit").first()
    belongs = due_elsewhere(code) or belongs_words(code)
    write_down(check, code, part, belongs[:120], at=at)
    return f"Not on this list: {belongs} It is written down as found in this parcel.", None


def lock_kits_of_scan(kit: Kit, code: str) -> None:
    """Lock a kit and the one whose check the scanned part is on, in the order of their numbers, so
    that two scans never wait for each other.
    """
    found = line_under_way(code)
    kits = {kit.pk} | ({found.check_of.loan.kit_id} if found else set())
    lock_kits(kits)


def _back_by_scan(line: ReturnLine) -> str:
    """Mark a line back that is open or was taken for missing; how it stands, in a sentence."""
    if line.outcome in (Outcome.OPEN, Outcome.MISSING):
        noted = note_line(line, Outcome.BACK, note=line.note)
        line.outcome, line.quantity_back = noted.outcome, noted.quantity_back
    packed = line.packing_line
    return f"{packed.name} {packed.part_code}: {line.get_outcome_display()}."


def _back_elsewhere(line: ReturnLine, parcel: Kit, *, actor: Actor, at: datetime | None) -> str:
    """Mark a part back on its own check, with the parcel it came in."""
    home = line.check_of.loan.kit
    came = f"Came in the parcel of kit {grouped(parcel.code)}."
    if line.outcome in (Outcome.OPEN, Outcome.MISSING):
        line.note = f"{line.note} {came}".strip()
        packed = line.packing_line
        text = f"{packed.name} {packed.part_code} is back. {came}"
        loan, part = line.check_of.loan, packed.part
        record_kit(lock_kit(home.pk), Verb.NOTED, text, actor=actor, loan=loan, part=part, at=at)
    sentence = _back_by_scan(line)
    return f"{sentence} It is on the check of kit {grouped(home.code)}, which is told of it."


def belongs_words(code: str) -> str:
    """Where a part belongs that is on no list, in a sentence."""
    part = Part.objects.filter(code=code).select_related("kit").first()
    if part is None:
        return "no part of this desk has that code."
    name = f"{part.get_kind_display()} {part.code}"
    if part.kit is not None:
        return f"{name} belongs to kit {part.kit.code}."
    return f"{name} is on file as {part.get_place_display()}."


@transaction.atomic
def note_found(check: ReturnCheck, text: str, *, at: datetime | None = None) -> FoundPart:
    """Write down a thing without a label that was in the parcel and not on its list."""
    check = lock_check(check)
    if not text.strip():
        raise Refused("Say what was found.", field="text")
    return FoundPart.objects.create(
        check_of=check,
        text=text.strip()[:200],
        belongs_to="not identified",
        at=at or timezone.now(),
    )

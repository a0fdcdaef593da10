"""Parts that came in another parcel before their own kit did: recognised then, counted back on
their own loan as soon as that is received.
"""

from __future__ import annotations

from datetime import datetime

from rentals.codes import grouped
from rentals.lifecycle import Verb
from rentals.models import FoundPart, Loan, Part, ReturnCheck, ReturnLine
from rentals.states import UNENDED_FINDS, ReturnOutcome

from .lock_order import lock_in_order
from .part_end import PLACE_FIELDS, put_in_place
from .record import Actor, record_part


def found_already(loan: Loan) -> dict[int, FoundPart]:
    """What of a loan lies here already, found in other parcels, by the number of the part."""
    things = FoundPart.objects.filter(
        part__packing_lines__loan=loan, state__in=UNENDED_FINDS
    ).select_related("part", "check_of__loan__kit")
    return {thing.part_id: thing for thing in things if thing.part_id}


def count_back_what_came(check: ReturnCheck) -> None:
    """Mark the lines of a check that has begun back whose parts lie here already."""
    found = found_already(check.loan)
    if not found:
        return
    lines = check.lines.select_related("packing_line").filter(
        packing_line__part__in=found, outcome=ReturnOutcome.OPEN
    )
    for line in lines:
        thing = found[line.packing_line.part_id or 0]
        lies = f"; lies: {thing.lies}" if thing.lies else ""
        parcel = grouped(thing.check_of.loan.kit.code)
        line.outcome, line.quantity_back = ReturnOutcome.BACK, line.packing_line.quantity
        line.note = f"Came in the parcel of kit {parcel}{lies}."
    ReturnLine.objects.bulk_update(lines, ["outcome", "quantity_back", "note"])


def keep_as_spares(found: dict[int, FoundPart], *, actor: Actor, at: datetime) -> None:
    """What lies here of a kit that is given up is not lost with it: it becomes spares."""
    for part in lock_in_order(Part.objects.filter(pk__in=found)):
        put_in_place(part, Part.Place.SPARE, at=at)
        part.save(update_fields=PLACE_FIELDS)
        text = "Now spare: it came in another parcel, and its kit was written off."
        record_part(part, Verb.NOTED, text, actor=actor, at=at)

"""The quick way through a return check: the first scan of a parcel notes its arrival, and all that
is only counted comes back with one press.
"""

from __future__ import annotations

from datetime import datetime

from rentals import transaction
from rentals.codes import grouped
from rentals.errors import Refused
from rentals.lifecycle import Verb
from rentals.models import OPEN_STAGES, Kit, LoanStage, PackingLine, ReturnCheck, ReturnLine
from rentals.selectors.part_scan import code_meant
from rentals.selectors.return_rest import names_of, rest_of

from .once import in_form_transaction
from .receive import arrive, lock_check
from .record import Actor, lock_kit, lock_open_loan, record_kit
from .return_scan import lock_kits_of_scan, scan_return

Outcome = ReturnLine.Outcome


@in_form_transaction
def note_rest_back(
    check: ReturnCheck,
    *,
    cleaned: bool = False,
    charged: bool = False,
    actor: Actor = None,
    at: datetime | None = None,
) -> None:
    """Every counted line that nobody has looked at is back. `cleaned` and `charged` confirm that
    step for all that is back and needs it. Safe to repeat.

    Raises
    ------
    Refused
        If the check is finished.
    """
    kit = lock_kit(check.loan.kit_id)
    check = lock_check(check)
    rest = rest_of(check.lines.select_related("packing_line").order_by("packing_line__order", "pk"))
    clean = rest.to_clean if cleaned else ()
    charging = rest.to_charge if charged else ()
    for line in rest.lines:
        line.outcome, line.quantity_back = Outcome.BACK, line.packing_line.quantity
    for line in clean:
        line.cleaned = True
    for line in charging:
        line.charged = True
    lines = {line.pk: line for line in (*rest.lines, *clean, *charging)}
    if not lines:
        return
    fields = ["outcome", "quantity_back", "cleaned", "charged"]
    ReturnLine.objects.bulk_update(lines.values(), fields)
    sentences = (("The rest is back", rest.lines), ("Cleaned", clean), ("On charge", charging))
    text = " ".join(f"{what}: {names_of(those)}." for what, those in sentences if those)
    record_kit(kit, Verb.NOTED, text, actor=actor, loan=check.loan, at=at)


@transaction.atomic
def scan_parcel(
    kit: Kit, text: str, *, actor: Actor = None, at: datetime | None = None
) -> tuple[str, ReturnLine | None]:
    """Scan a part of a parcel that is checked, or the first one of a parcel that has just come:
    with it the parcel is here.

    Returns what `scan_return` does.

    Raises
    ------
    Refused
        If the code cannot be read, or is not of a kit that is still away.
    """
    sent = PackingLine.objects.filter(loan__kit=kit, loan__stage__in=OPEN_STAGES)
    lock_kits_of_scan(kit, code_meant(text, sent))
    was_away = lock_open_loan(kit).stage == LoanStage.AWAY
    check = arrive(kit, actor=actor, at=at)
    sentence, line = scan_return(check, text, actor=actor, at=at)
    if was_away and (line is None or line.check_of_id != check.pk):
        name = f"kit {grouped(kit.code)}"
        raise Refused(
            f"{sentence.split(' It is written down')[0]} Scan a part of {name}, or press the"
            " button when its parcel is here.",
            field="scan",
        )
    return sentence, line

"""A parcel is back: note its arrival, check it line by line, close the check. Also: a kit that
never comes back.
"""

from __future__ import annotations

from datetime import date, datetime

from django.utils import timezone

from rentals import transaction
from rentals.counts import pieces
from rentals.dates import short_date
from rentals.errors import Refused
from rentals.laid_files import LaidFile
from rentals.lifecycle import Verb
from rentals.models import (
    Kit,
    Loan,
    LoanStage,
    Message,
    PackingLine,
    Part,
    PartKind,
    ReturnCheck,
    ReturnLine,
    Shortfall,
)
from rentals.next_acts.occasions import REMINDERS
from rentals.planning.settlement import replacement_cost
from rentals.selectors.arrival import asked_of_student
from rentals.selectors.losses import lines_still_out
from rentals.selectors.returns import unfinished
from rentals.states import PartEnd

from .arrival import arrival_moment
from .came_before import count_back_what_came, found_already, keep_as_spares
from .discard import discard_unsent
from .draft import draft_by_itself
from .faults import hold_as_reported
from .found import note_home_again
from .issue import refuse_clearance
from .line_photos import add_photos
from .record import Actor, lock_kit, lock_open_loan, record_kit, state_word
from .register import lock_part, mark_damaged, remove_part
from .replaced_back import begin_with_replaced, book_replaced, lose_replaced
from .restock import put_back

Outcome = ReturnLine.Outcome
#: Mails that make sense only while the kit is out there.
_WHILE_AWAY = (
    Message.Occasion.ON_ITS_WAY,
    *REMINDERS,
)


@transaction.atomic
def arrive(
    kit: Kit, *, on: date | None = None, actor: Actor = None, at: datetime | None = None
) -> ReturnCheck:
    """The parcel stands on the desk since the day `on` (today): the kit loses its clearance and
    waits for its check; with the rest of a kit that came in part its check goes on. Safe to repeat.

    Raises
    ------
    Refused
        If the kit is not away, or cannot have come on that day.
    """
    kit = lock_kit(kit)
    loan = lock_open_loan(kit)
    at = at or timezone.now()
    if loan.stage == LoanStage.CHECK:
        return loan.return_check
    if loan.stage != LoanStage.AWAY:
        state = state_word(kit)
        raise Refused(f"Kit {kit.code} is {state}, not away: there is nothing to receive.")
    arrived_at = arrival_moment(loan, on, at)
    loan.stage, loan.arrived_at = LoanStage.CHECK, arrived_at
    loan.save(update_fields=["stage", "arrived_at"])
    check = ReturnCheck.objects.filter(loan=loan).first()
    more = check is not None
    if check is None:
        check = ReturnCheck.objects.create(loan=loan, started_at=at)
    # With the rest of a kit there may be lines that were sent after its first parcel came.
    unlisted = loan.packing_lines.filter(return_line__isnull=True)
    ReturnLine.objects.bulk_create(_new_line(check, line) for line in unlisted)
    count_back_what_came(check)
    # The bench counts captures from here on: those of the days before were taken without the kit.
    kit.returned_at = at
    kit.not_cleared_reason = "It has come back and was not tested since: test it."
    back = "More of it is back" if more else "Back"
    text = f"{back} from {loan.enrolment.student.name}{_since(arrived_at, at)}."
    record_kit(kit, Verb.ARRIVED, text, actor=actor, loan=loan, at=at)
    begin_with_replaced(check, actor=actor, at=at)
    discard_unsent(loan, _WHILE_AWAY, reason="The kit is back.", at=at)
    return check


def _since(arrived_at: datetime, now: datetime) -> str:
    """Words for a parcel that came on a day before it is opened."""
    day = timezone.localtime(arrived_at).date()
    return "" if day == timezone.localtime(now).date() else f", here since {short_date(day)}"


def _new_line(check: ReturnCheck, packed: PackingLine) -> ReturnLine:
    outcome = Outcome.OPEN if packed.comes_back else Outcome.USED_UP
    return ReturnLine(check_of=check, packing_line=packed, outcome=outcome)


def lock_check(check: ReturnCheck) -> ReturnCheck:
    """A check under way, locked with its kit loaded; Refused where it is finished."""
    checks = ReturnCheck.objects.select_for_update(of=("self",)).select_related("loan__kit")
    check = checks.get(pk=check.pk)
    if check.finished_at:
        raise Refused(f"The check of kit {check.loan.kit.code} is finished; its lines stand.")
    return check


@transaction.atomic
def note_line(
    line: ReturnLine,
    outcome: str,
    *,
    quantity_back: int | None = None,
    damaged_lead: str = "",
    note: str = "",
    cleaned: bool | None = None,
    charged: bool | None = None,
    photo: LaidFile | None = None,
    actor: Actor = None,
) -> ReturnLine:
    """Write down what became of one line.

    Raises
    ------
    Refused
        If a single-use part is counted back in, the number back is not between 0 and what went out,
        or it contradicts the outcome; if there are too many photos.
    """
    if photo is not None:
        add_photos(line.packing_line, [photo], field="photo", actor=actor)
    lock_check(line.check_of)
    line = ReturnLine.objects.select_related("packing_line").get(pk=line.pk)
    packed = line.packing_line
    if fault := _outcome_fault(packed, outcome):
        raise Refused(fault, field="outcome")
    if quantity_back is None:
        quantity_back = packed.quantity if outcome == Outcome.BACK else 0
    if fault := _quantity_fault(packed, outcome, quantity_back):
        raise Refused(fault, field="quantity_back")
    counts_back = outcome in (Outcome.BACK, Outcome.DAMAGED)
    broken_leads = outcome == Outcome.DAMAGED and packed.part_kind == PartKind.LEAD_SET
    line.outcome = outcome
    line.quantity_back = quantity_back if counts_back else 0
    line.damaged_lead = damaged_lead if broken_leads else ""
    line.note = note.strip()[:300]
    line.cleaned = line.cleaned if cleaned is None else cleaned
    line.charged = line.charged if charged is None else charged
    line.save()
    return line


def _outcome_fault(packed: PackingLine, outcome: str) -> str:
    """Why a line cannot have this outcome; empty where it can."""
    if outcome not in Outcome.values:
        return "Say what became of it: back, missing, damaged or used up."
    if packed.single_use and outcome not in (Outcome.USED_UP, Outcome.OPEN):
        return f"{packed.name} is single-use: it is never counted back in. Throw it away."
    if packed.comes_back and outcome == Outcome.USED_UP:
        return f"{packed.name} must come back: call it back, missing or damaged."
    return ""


def _quantity_fault(packed: PackingLine, outcome: str, quantity_back: int) -> str:
    """Why so many pieces cannot be back sound with this outcome; empty where they can."""
    name, sent = packed.name, packed.quantity
    if not 0 <= quantity_back <= sent:
        return f"{name}: {sent} went out, so 0 to {sent} can be back."
    if outcome == Outcome.BACK and quantity_back == 0:
        return f"{name}: none is back, so call it missing."
    if outcome == Outcome.DAMAGED and quantity_back == sent:
        return f"{name}: all {quantity_back} are sound, so call it back."
    return ""


@transaction.atomic
def finish_check(check: ReturnCheck, *, actor: Actor = None, at: datetime | None = None) -> Loan:
    """Close a return check: parts and stock are booked, shortfalls opened, the kit goes to the
    bench.

    Raises
    ------
    Refused
        If a line was not looked at, or a part was not cleaned or put on charge (names each).
    """
    kit = lock_kit(ReturnCheck.objects.get(pk=check.pk).loan.kit_id)
    check = ReturnCheck.objects.select_for_update().get(pk=check.pk)
    loan = Loan.objects.select_for_update(no_key=True).get(pk=check.loan_id)
    if check.finished_at:
        return loan
    lacks = unfinished(check)
    if lacks:
        raise Refused(" ".join(lacks), field="lines")
    at = at or timezone.now()
    lines = check.lines.select_related(
        "packing_line__part", "packing_line__stock_item", "packing_line__batch"
    )
    for line in lines:
        _book(line, loan, kit, actor=actor, at=at)
    book_replaced(loan, kit, actor=actor, at=at)
    back = [line.packing_line.part_id for line in lines if line.outcome == Outcome.BACK]
    note_home_again(filter(None, back), actor=actor, at=at)
    check.finished_at = at
    check.save(update_fields=["finished_at"])
    loan.stage, loan.closed_at = LoanStage.RETURNED, at
    loan.save(update_fields=["stage", "closed_at"])
    kit = lock_kit(kit)
    short = loan.shortfalls.count()
    text = _check_summary(short, check.found.count())
    record_kit(kit, Verb.CHECKED, text, actor=actor, loan=loan, at=at)
    hold_as_reported(kit, loan, actor=actor, at=at)
    if loan.fault:
        reason = f"It was sent back as faulty: {loan.fault}. Mend that, then test it."
        refuse_clearance(kit, reason=reason, actor=actor, at=at)
    if short:
        draft_by_itself(Message.Occasion.SHORTFALL, loan, actor=actor, at=at)
    return loan


def _check_summary(short: int, found_count: int) -> str:
    completeness = f"{short} short." if short else "complete."
    summary = f"Return checked: {completeness}"
    return f"{summary} {found_count} found." if found_count else summary


def _book(line: ReturnLine, loan: Loan, kit: Kit, *, actor: Actor, at: datetime) -> None:
    packed = line.packing_line
    if packed.part is not None:
        _book_part(line, packed, kit, actor=actor, at=at)
    elif packed.stock_item is not None and packed.comes_back and not packed.is_replaced:
        put_back(packed.stock_item, line.quantity_back, packed.batch)
    lacking = packed.quantity - line.quantity_back
    if not packed.comes_back or lacking <= 0:
        return
    kind = Shortfall.Kind.DAMAGED if line.outcome == Outcome.DAMAGED else Shortfall.Kind.MISSING
    short = asked_of_student(packed, kind, lacking)
    if short < lacking:
        which = pieces(lacking - short, packed.name)
        text = f"{which}: missing or damaged on arrival already, never asked of the student."
        record_kit(lock_kit(kit), Verb.NOTED, text, actor=actor, loan=loan, at=at)
    if not short:
        return
    lead = f"lead {line.damaged_lead}" if line.damaged_lead else ""
    detail = ": ".join(text for text in (lead, line.note) if text)
    Shortfall.objects.create(
        loan=loan,
        packing_line=packed,
        kind=kind,
        quantity=short,
        detail=detail[:200],
        amount=replacement_cost(packed.replacement_price, short),
        opened_at=at,
    )
    which_lead = f" ({lead})" if lead else ""
    text = f"{pieces(short, packed.name)} {kind.label}{which_lead}."
    record_kit(lock_kit(kit), Verb.SHORTFALL, text, actor=actor, loan=loan, part=packed.part, at=at)


def _book_part(
    line: ReturnLine, packed: PackingLine, kit: Kit, *, actor: Actor, at: datetime
) -> None:
    assert packed.part is not None
    part = lock_part(packed.part)
    if part.kit_id != kit.pk:
        return
    if line.outcome == Outcome.MISSING:
        reason = "did not come back"
        remove_part(kit, part, to=Part.Place.MISSING, reason=reason, actor=actor, at=at)
    elif line.outcome == Outcome.DAMAGED:
        mark_damaged(part, line.note, lead=line.damaged_lead, actor=actor, at=at)
    if line.charged and packed.part_kind == PartKind.BATTERY_PACK:
        pack = part.batterypack
        pack.charge_count += 1
        pack.save(update_fields=["charge_count"])


@transaction.atomic
def write_off(kit: Kit, *, reason: str, actor: Actor = None, at: datetime | None = None) -> Loan:
    """The kit will not come back: all that should have becomes a shortfall, the kit is out of
    use.
    """
    kit = lock_kit(kit)
    loan = lock_open_loan(kit)
    at = at or timezone.now()
    if loan.stage != LoanStage.AWAY:
        state = state_word(kit)
        raise Refused(f"Kit {kit.code} is {state}: only a kit that is away can be written off.")
    if ReturnCheck.objects.filter(loan=loan).exists():
        raise Refused(
            f"Part of kit {kit.code} is here already: go on with its check, and mark what does not"
            " come as missing."
        )
    if not reason.strip():
        raise Refused("Say why the kit is written off.", field="reason")
    here = found_already(loan)
    for packed in lines_still_out(loan).select_related("part"):
        asked = asked_of_student(packed, Shortfall.Kind.MISSING, packed.quantity)
        if not asked:
            continue
        Shortfall.objects.create(
            loan=loan,
            packing_line=packed,
            kind=Shortfall.Kind.MISSING,
            quantity=asked,
            detail="kit written off",
            amount=replacement_cost(packed.replacement_price, asked),
            opened_at=at,
        )
    keep_as_spares(here, actor=actor, at=at)
    Part.objects.filter(kit=kit).update(
        kit=None,
        place=Part.Place.LOST,
        ended_on=timezone.localdate(at),
        ended_as=PartEnd.LOST,
    )
    loan.stage, loan.closed_at = LoanStage.LOST, at
    loan.save(update_fields=["stage", "closed_at"])
    record_kit(kit, Verb.LOST, f"Written off: {reason.strip()}", actor=actor, loan=loan, at=at)
    lose_replaced(loan, actor=actor, at=at)
    discard_unsent(loan, _WHILE_AWAY, reason="The kit was written off.", at=at)
    return loan

"""Dispatching a pile of packed parcels by scanning: a kit, its tracking number, the next kit."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from rentals.codes import grouped, looks_like_code, parse_code
from rentals.errors import Refused
from rentals.models import OPEN_STAGES, Kit, Loan, LoanStage
from rentals.selectors.search import loans_by_tracking, parts_with_serial
from rentals.states import KitState

from .dispatch import dispatch, tracking_as_kept
from .record import Actor, state_word

SHORTEST_NUMBER = 5


@dataclass(frozen=True)
class DispatchScan:
    """What a scan came to: a sentence, the kit that waits for its number, the loan that is on its
    way now.
    """

    sentence: str
    waiting: str = ""
    sent: Loan | None = None


def scan_for_dispatch(
    text: str,
    waiting: str = "",
    *,
    carrier: str = "",
    actor: Actor = None,
    at: datetime | None = None,
) -> DispatchScan:
    """Take the next scan of the pile; `waiting` is the code of the kit scanned before, `carrier`
    takes it; without one the carrier that its parcel names. Safe to repeat.

    Raises
    ------
    Refused
        For what is neither a packed kit nor a tracking number, and for a number before its kit. The
        kit that waits goes on waiting.
    """
    try:
        code = parse_code(text)
    except ValueError as unreadable:
        if looks_like_code(text) or "://" in text:
            raise Refused(str(unreadable), field="scan") from unreadable
        return _number_scanned(text, waiting, carrier, actor, at)
    return _kit_scanned(code, waiting)


def _kit_scanned(code: str, waiting: str) -> DispatchScan:
    kit = Kit.objects.filter(code=code).first()
    if kit is None:
        raise Refused(f"{grouped(code)} is the label of no kit. Scan a kit.", field="scan")
    if kit.state != KitState.PACKED:
        raise Refused(
            f"Kit {grouped(code)} is {state_word(kit)}: only a packed kit is dispatched.",
            field="scan",
        )
    sentence = f"Kit {grouped(code)}: scan its tracking number."
    if waiting and waiting != code:
        sentence = f"Kit {grouped(waiting)} has no number yet and stays packed. {sentence}"
    return DispatchScan(sentence, waiting=code)


def _number_scanned(
    text: str, waiting: str, carrier: str, actor: Actor, at: datetime | None
) -> DispatchScan:
    number = tracking_as_kept(text)
    part = parts_with_serial(text).first()
    if part is not None:
        what = f"{part.get_kind_display()} {grouped(part.code)}"
        raise Refused(f"{number} is the serial number of {what}, no tracking number.", field="scan")
    if len(number) < SHORTEST_NUMBER:
        raise Refused(f"“{number}” is too short to be a tracking number.", field="scan")
    known = loans_by_tracking(number).filter(tracking_number__iexact=number, stage__in=OPEN_STAGES)
    holder = known.exclude(stage=LoanStage.ASSIGNED).select_related("kit").first()
    if holder is not None and not waiting:
        return DispatchScan(f"{number} is noted for kit {grouped(holder.kit.code)} already.")
    if holder is not None:
        raise Refused(
            f"{number} belongs to the parcel of kit {grouped(holder.kit.code)}. Scan the number of"
            f" kit {grouped(waiting)}.",
            field="scan",
        )
    if not waiting:
        raise Refused(
            f"{number} is no kit of this desk. Scan the kit first, then its tracking number.",
            field="scan",
        )
    kept = Loan.objects.filter(kit__code=waiting, stage=LoanStage.PACKED).first()
    carrier = carrier or (kept.carrier if kept else "")
    loan = dispatch(waiting, tracking_number=number, carrier=carrier, actor=actor, at=at)
    sentence = f"Kit {grouped(waiting)} is on its way to {loan.enrolment.student.name}: {number}."
    return DispatchScan(sentence, sent=loan)

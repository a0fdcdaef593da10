"""For which stage of a loan a mail to a student makes sense, by the mail's occasion as it is on
file, and what overtakes one that was written earlier.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from rentals.dates import short_date
from rentals.states import LoanStage

_OVER = (LoanStage.RETURNED, LoanStage.LOST, LoanStage.SETTLED)
_BACK = (LoanStage.CHECK, LoanStage.RETURNED, LoanStage.SETTLED)
#: Mails that ask something of a student who has the kit; of these the latest alone waits.
REMINDERS = ("arrived", "recharge", "due_soon", "overdue")

#: Those of them that make no sense once a part of the kit is back.
OF_WHOLE_KITS = ("arrived", "recharge")

MAIL_STAGES: dict[str, tuple[LoanStage, ...]] = {
    "packing_list": (LoanStage.PACKED, LoanStage.AWAY),
    "on_its_way": (LoanStage.AWAY,),
    "arrived": (LoanStage.AWAY,),
    "recharge": (LoanStage.AWAY,),
    "due_soon": (LoanStage.AWAY,),
    "overdue": (LoanStage.AWAY,),
    "shortfall": _OVER,
    "statement": _OVER,
}


@dataclass(frozen=True)
class LoanStanding:
    """What a mail must still agree with on the day it leaves; ``lacks`` while a shortfall is not
    settled, ``partly_back`` while the rest of the kit is awaited, ``arrival_told``
    once the student has sent the arrival check.
    """

    stage: LoanStage
    due_on: date
    on_its_way_back: bool = False
    lacks: bool = False
    partly_back: bool = False
    arrival_told: bool = False


def fits_occasion(occasion: str, stage: LoanStage) -> bool:
    """Whether a mail of this occasion can be written to the student of a loan in this stage."""
    return stage in MAIL_STAGES[occasion]


def overtaken(occasion: str, loan: LoanStanding, today: date) -> str:
    """The sentence that says why a mail of an occasion would be untrue today; empty where it would
    not.
    """
    if not fits_occasion(occasion, loan.stage):
        is_back = loan.stage in _BACK
        return "The kit is back." if is_back else f"The kit is {loan.stage.label} now."
    if occasion == "shortfall" and not loan.lacks:
        return "Nothing lacks, or it is settled."
    return _reminder_overtaken(occasion, loan, today) if occasion in REMINDERS else ""


def _reminder_overtaken(occasion: str, loan: LoanStanding, today: date) -> str:
    if loan.on_its_way_back:
        return "The kit is on its way back."
    if loan.arrival_told and occasion == "arrived":
        return "The student has said what arrived."
    if loan.partly_back and occasion in OF_WHOLE_KITS:
        return "Part of the kit is back."
    day = short_date(loan.due_on)
    if occasion == "overdue":
        return f"The kit is not overdue: it is due on {day}." if today <= loan.due_on else ""
    return f"The day the kit was due back, {day}, has passed." if today > loan.due_on else ""

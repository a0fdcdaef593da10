"""For which stage of a loan a mail to a whole run makes sense, by the mail's occasion as it is on
file.
"""

from __future__ import annotations

from rentals.states import LoanStage

_OVER = (LoanStage.RETURNED, LoanStage.LOST, LoanStage.SETTLED)

MAIL_STAGES: dict[str, tuple[LoanStage, ...]] = {
    "packing_list": (LoanStage.PACKED, LoanStage.AWAY),
    "on_its_way": (LoanStage.AWAY,),
    "arrived": (LoanStage.AWAY,),
    "due_soon": (LoanStage.AWAY,),
    "overdue": (LoanStage.AWAY,),
    "shortfall": _OVER,
    "statement": _OVER,
}


def fits_occasion(occasion: str, stage: LoanStage) -> bool:
    """Whether a mail of this occasion can be written to the student of a loan in this stage."""
    return stage in MAIL_STAGES[occasion]

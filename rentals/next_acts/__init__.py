"""What is next: the act that may and should be done now with a kit, loan, shortfall, mail or run.

One table a noun, each in a room of its own. State and facts go in as plain values; out come the
button's words, the page where the act is done, and the sentence. Pages, scans, lists and the day's
work all ask here, so that the same kit never asks for two things. Routes are names:
`rentals.selectors.next_steps` makes addresses of them.
"""

from __future__ import annotations

from .kits import (
    KIT_ACTS,
    KitSituation,
    kit_act,
    kit_sentence,
    not_to_pack,
    shows_clearance,
    shows_refusal,
    wants_clearance,
)
from .loans import LOAN_ACTS, SHORTFALL_ACTS, LoanSituation, enrolment_act, loan_act, to_ask_for
from .mails import (
    APPROVE_MAIL,
    MESSAGE_ACTS,
    may_change,
    may_end_by_hand,
    message_act,
    message_sentence,
)
from .parts import PART_ACTS
from .runs import RunSituation, run_act, run_sentence
from .ways import Argument, NextAct, Way

__all__ = [
    "APPROVE_MAIL",
    "KIT_ACTS",
    "LOAN_ACTS",
    "MESSAGE_ACTS",
    "PART_ACTS",
    "SHORTFALL_ACTS",
    "Argument",
    "KitSituation",
    "LoanSituation",
    "NextAct",
    "RunSituation",
    "Way",
    "enrolment_act",
    "kit_act",
    "kit_sentence",
    "loan_act",
    "may_change",
    "may_end_by_hand",
    "message_act",
    "message_sentence",
    "not_to_pack",
    "run_act",
    "run_sentence",
    "shows_clearance",
    "shows_refusal",
    "to_ask_for",
    "wants_clearance",
]

"""What is next: the act that may and should be done now with a kit, loan, shortfall, mail or run.

One table a noun, each in a room of its own. State and facts go in as plain values; out come the
button's words, the page where the act is done, and the sentence. Pages, scans, lists and the day's
work all ask here, so that the same kit never asks for two things. Routes are names:
`rentals.selectors.next_steps` makes addresses of them.
"""

from __future__ import annotations

from .arrival import SEE_TO_ARRIVAL
from .benches import PackingPage, ReceivingPage, packing_page, receiving_page
from .faults import FAULT_ACTS, may_answer
from .found import (
    KEEP_ASIDE,
    MOVE_TO_KIT,
    FoundSituation,
    found_act,
    found_sentence,
)
from .kits import (
    DISPATCH,
    GO_TO_BENCH,
    KIT_ACTS,
    PACK,
    KitSituation,
    kit_act,
    kit_sentence,
    not_to_pack,
    shows_clearance,
    shows_refusal,
    wants_clearance,
    way_elsewhere,
)
from .loans import (
    ASSIGN,
    LOAN_ACTS,
    SHORTFALL_ACTS,
    LoanSituation,
    enrolment_act,
    loan_act,
    may_check,
    may_come_back,
    may_note_payment,
    may_replace_kit,
    may_replace_part,
    may_send_packing_list,
    may_settle,
    may_take_deposit,
    may_turn_up,
    may_unassign,
    shortfall_act,
    sooner_way,
    to_ask_for,
    withdrawal_effect,
)
from .mails import (
    APPROVE_MAIL,
    MESSAGE_ACTS,
    may_change,
    may_end_by_hand,
    may_have_arrived,
    message_act,
    message_sentence,
)
from .money import money_way
from .parts import PART_ACTS
from .replacements import CANCEL_REPLACEMENT, ReplacementSituation, replacement_act
from .runs import (
    ASSIGN_KITS,
    IMPORT_ROSTER,
    KitWaits,
    RunSituation,
    on_the_run,
    run_act,
    run_sentence,
)
from .stock import RESTOCK
from .ways import Argument, NextAct, Way

__all__ = [
    "APPROVE_MAIL",
    "ASSIGN",
    "ASSIGN_KITS",
    "CANCEL_REPLACEMENT",
    "DISPATCH",
    "FAULT_ACTS",
    "GO_TO_BENCH",
    "IMPORT_ROSTER",
    "KEEP_ASIDE",
    "KIT_ACTS",
    "LOAN_ACTS",
    "MESSAGE_ACTS",
    "MOVE_TO_KIT",
    "PACK",
    "PART_ACTS",
    "RESTOCK",
    "SEE_TO_ARRIVAL",
    "SHORTFALL_ACTS",
    "Argument",
    "FoundSituation",
    "KitSituation",
    "KitWaits",
    "LoanSituation",
    "NextAct",
    "PackingPage",
    "ReceivingPage",
    "ReplacementSituation",
    "RunSituation",
    "Way",
    "enrolment_act",
    "found_act",
    "found_sentence",
    "kit_act",
    "kit_sentence",
    "loan_act",
    "may_answer",
    "may_change",
    "may_check",
    "may_come_back",
    "may_end_by_hand",
    "may_have_arrived",
    "may_note_payment",
    "may_replace_kit",
    "may_replace_part",
    "may_send_packing_list",
    "may_settle",
    "may_take_deposit",
    "may_turn_up",
    "may_unassign",
    "message_act",
    "message_sentence",
    "money_way",
    "not_to_pack",
    "on_the_run",
    "packing_page",
    "receiving_page",
    "replacement_act",
    "run_act",
    "run_sentence",
    "shortfall_act",
    "shows_clearance",
    "shows_refusal",
    "sooner_way",
    "to_ask_for",
    "wants_clearance",
    "way_elsewhere",
    "withdrawal_effect",
]

"""Every situation of kits, loans and runs, and every answer of the tables to them."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from itertools import product

from rentals.next_acts import (
    PART_ACTS,
    KitSituation,
    LoanSituation,
    NextAct,
    RunSituation,
    enrolment_act,
    kit_act,
    loan_act,
    message_act,
    shortfall_act,
)
from rentals.states import (
    KitState,
    LoanStage,
    MessageState,
    ShortfallState,
)

BOTH = (False, True)


def kits() -> Iterator[KitSituation]:
    for state, cleared, overridden, lent in product(KitState, BOTH, BOTH, BOTH):
        whom = {"student": "Ann Lee", "run": "Spring", "post_by": "3 May"} if lent else {}
        yield KitSituation(
            "K0014E",
            state,
            cleared=cleared,
            overridden=overridden,
            hold_reason="wet charger",
            due="due in 5 days",
            **whom,
        )


def loans() -> Iterator[LoanSituation]:
    for stage, *facts in product(LoanStage, *[BOTH] * 7):
        names = ("overdue", "sent_back", "asked_for", "short", "held", "mail_waits", "to_bench")
        yield LoanSituation(stage, **dict(zip(names, facts, strict=True)))


def runs() -> Iterator[RunSituation]:
    names = [field.name for field in dataclasses.fields(RunSituation)]
    for counts in product((0, 3), repeat=len(names) - 1):
        for waits in BOTH:
            facts = dict(zip(names[:-1], counts, strict=True))
            yield RunSituation(**facts, roster_waits=waits)


def all_answers() -> Iterator[NextAct]:
    yield from (kit_act(kit) for kit in kits())
    yield from (loan_act(loan) for loan in loans())
    yield from (enrolment_act(withdrawn=withdrawn) for withdrawn in BOTH)
    yield from (kit_act(KitSituation("K0014E", state, unfitted=True)) for state in KitState)
    for shortfall, may_come_back in product(ShortfallState, BOTH):
        yield shortfall_act(shortfall, may_come_back=may_come_back)
    yield from PART_ACTS.values()
    for state, fault, held in product(MessageState, BOTH, BOTH):
        yield message_act(state, address_fault=fault, held=held)

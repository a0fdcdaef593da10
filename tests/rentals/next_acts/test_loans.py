"""What is next with a loan."""

from __future__ import annotations

from rentals.next_acts import (
    Argument,
    loan_act,
    to_ask_for,
)
from rentals.states import (
    OPEN_STAGES,
    LoanStage,
)

from .situations import loans


def test_an_overdue_kit_is_asked_for_unless_it_is_on_its_way_back():
    for loan in loans():
        answer = loan_act(loan)
        if loan.stage is not LoanStage.AWAY or not loan.overdue:
            assert not to_ask_for(loan) and answer.there.act != "Chase"
            continue
        assert answer.there.act == "Chase"
        assert to_ask_for(loan) == (not loan.sent_back)
        words = "Read the mail that asks for it" if loan.asked_for else "Write and ask for it"
        assert answer.here.act == ("Receive" if loan.sent_back else words)


def test_a_loan_with_a_shortfall_is_settled_after_it():
    for loan in loans():
        if loan.stage in OPEN_STAGES or loan.held:
            continue
        settles = loan_act(loan).here
        if loan.short:
            assert settles.argument is Argument.SHORTFALL
        else:
            assert settles is None or settles.route == "rentals:loan_settle"

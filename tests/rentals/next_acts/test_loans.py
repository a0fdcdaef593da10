"""What is next with a loan."""

from __future__ import annotations

from rentals import next_acts
from rentals.lifecycle import Verb, may
from rentals.next_acts import (
    Argument,
    LoanSituation,
    loan_act,
    to_ask_for,
)
from rentals.states import (
    OPEN_STAGES,
    KitState,
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
        if loan.stage is LoanStage.RETURNED and (loan.mail_waits or loan.to_bench):
            continue
        settles = loan_act(loan).here
        if loan.short:
            assert settles.argument is Argument.SHORTFALL
        else:
            assert settles is None or settles.route == "rentals:loan_settle"


def test_after_the_check_the_mail_comes_first_then_the_bench_then_the_money():
    facts = {"stage": LoanStage.RETURNED, "short": True}
    acts = [
        loan_act(LoanSituation(**facts, mail_waits=True, to_bench=True)).here,
        loan_act(LoanSituation(**facts, to_bench=True)).here,
        loan_act(LoanSituation(**facts)).here,
    ]
    routes = ["rentals:message", "readiness:kit_bench", "rentals:shortfall"]
    assert [act.route for act in acts] == routes
    settled = LoanSituation(LoanStage.SETTLED, mail_waits=True, to_bench=True)
    assert loan_act(settled).here is None


def test_what_may_be_done_with_a_loan_follows_its_kit():
    for stage in OPEN_STAGES:
        state = KitState(stage)
        assert next_acts.may_unassign(stage) == may(Verb.UNASSIGNED, state)
        assert next_acts.may_check(stage) == may(Verb.CHECKED, state)
        closed = not may(Verb.PACKED, state) and not may(Verb.CHECKED, state)
        assert next_acts.may_send_packing_list(stage) == closed
    for stage in set(LoanStage) - set(OPEN_STAGES):
        assert not next_acts.may_unassign(stage)
        assert not next_acts.may_send_packing_list(stage)


def test_a_student_who_leaves_frees_a_kit_that_is_in_the_house_and_keeps_owing_another():
    effects = {stage: next_acts.withdrawal_effect(stage, "K0014E") for stage in LoanStage}
    assert effects.pop(LoanStage.ASSIGNED) == "Kit K0014E is free again."
    owing = "Kit K0014E stays on loan until it is back and checked."
    assert {stage for stage, effect in effects.items() if effect == owing} == {
        LoanStage.AWAY,
        LoanStage.CHECK,
    }
    assert set(effects.values()) == {owing, ""}

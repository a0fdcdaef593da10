"""The table of next acts under every state and every combination of facts."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from itertools import product

import pytest
from django.urls import get_resolver

from rentals import next_acts
from rentals.lifecycle import ALLOWED, Verb
from rentals.next_acts import (
    KIT_ACTS,
    LOAN_ACTS,
    MESSAGE_ACTS,
    PART_ACTS,
    SHORTFALL_ACTS,
    Argument,
    KitSituation,
    LoanSituation,
    NextAct,
    RunSituation,
    Way,
    enrolment_act,
    kit_act,
    kit_sentence,
    loan_act,
    message_act,
    not_to_pack,
    run_act,
    run_sentence,
    to_ask_for,
)
from rentals.next_acts import kits as kits_room
from rentals.next_acts import loans as loans_room
from rentals.next_acts import mails as mails_room
from rentals.next_acts import parts as parts_room
from rentals.states import (
    OPEN_STAGES,
    KitState,
    LoanStage,
    MessageState,
    PartPlace,
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
    for stage, *facts in product(LoanStage, *[BOTH] * 5):
        names = ("overdue", "sent_back", "asked_for", "short", "held")
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
    yield from SHORTFALL_ACTS.values()
    yield from PART_ACTS.values()
    for state, fault in product(MessageState, BOTH):
        yield message_act(state, address_fault=fault)


@pytest.mark.parametrize(
    ("table", "states"),
    [
        (KIT_ACTS, KitState),
        (LOAN_ACTS, LoanStage),
        (SHORTFALL_ACTS, ShortfallState),
        (MESSAGE_ACTS, MessageState),
        (PART_ACTS, PartPlace),
    ],
)
def test_every_state_has_a_row(table, states):
    assert set(table) == set(states)


def test_every_answer_is_an_act_or_a_reason_for_none():
    for answer in all_answers():
        assert (answer.here is None) == bool(answer.reason)
        assert answer.there.act and answer.there.route


def every_way() -> set[Way]:
    ways = {answer.there for answer in all_answers()}
    ways |= {answer.here for answer in all_answers() if answer.here}
    ways |= {way for run in runs() if (way := run_act(run))}
    return ways


PLACES = {
    Argument.NOTHING: [],
    Argument.NAME_OF_RUN: [],
    Argument.KIT: ["code"],
    Argument.PART: ["code"],
    Argument.ROSTER: ["run_pk", "pk"],
}


def test_every_route_leads_somewhere_with_the_argument_it_is_given():
    for way in every_way():
        namespace, name = way.route.split(":")
        _, resolver = get_resolver().namespace_dict[namespace]
        [(pattern, *_)] = resolver.reverse_dict.getlist(name)
        [(_, arguments)] = pattern
        assert len(arguments) == len(PLACES.get(way.argument, ["pk"])), way
        assert ("code" in arguments) == (way.argument in (Argument.KIT, Argument.PART)), way


def test_every_way_that_is_written_is_in_use():
    rooms = (kits_room, loans_room, mails_room, parts_room)
    written = {way for room in rooms for way in vars(room).values() if isinstance(way, Way)}
    assert written <= every_way()


def test_a_kit_that_the_gate_stops_goes_to_the_bench_before_it_is_packed():
    for kit in kits():
        if kit.state is KitState.ASSIGNED:
            wanted = "Pack" if kit.may_go_out else "Bench"
            assert kit_act(kit).here.act == wanted


@pytest.mark.parametrize(
    ("act", "verb"),
    [
        ("Dispatch", Verb.DISPATCHED),
        ("Receive", Verb.ARRIVED),
        ("Check", Verb.CHECKED),
        ("Release", Verb.RELEASED),
        ("Pack", Verb.PACKED),
        ("Bench", Verb.CLEARED),
    ],
)
def test_the_life_table_allows_the_act_that_is_asked_for(act, verb):
    states = {kit.state for kit in kits() if (here := kit_act(kit).here) and here.act == act}
    assert states and states <= ALLOWED[verb]


def test_the_sentences_of_a_kit_say_why_there_is_nothing_to_pack():
    held = KitSituation("K0014E", KitState.HELD, hold_reason="wet charger")
    assert not_to_pack(held) == "Kit K0014E is held: wet charger"
    assert kit_sentence(held) == "Held: wet charger"
    at_bench = not_to_pack(KitSituation("K0014E", KitState.BENCH))
    assert at_bench == "Kit K0014E waits for the bench, is not cleared, and is assigned to nobody."
    on_shelf = not_to_pack(KitSituation("K0014E", KitState.SHELF))
    assert on_shelf == "Kit K0014E is on the shelf, is not cleared, and is assigned to nobody."
    for kit in kits():
        assert "K0014E" in not_to_pack(kit)
        assert not kit.student or kit.state is KitState.HELD or "Ann Lee" in kit_sentence(kit)


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


def test_a_mail_with_a_fault_in_its_address_is_mended_only_while_it_can_be():
    for state in MessageState:
        mended = message_act(state, address_fault=True).here
        changeable = state in (MessageState.DRAFT, MessageState.FAILED)
        assert (mended is not None and mended.act == "Mend the address") == changeable
        assert next_acts.may_change(state) == changeable


def test_a_mail_that_moves_or_has_gone_is_not_ended_by_hand():
    ended = {state for state in MessageState if next_acts.may_end_by_hand(state)}
    assert ended == {
        MessageState.DRAFT,
        MessageState.APPROVED,
        MessageState.QUEUED,
        MessageState.FAILED,
    }


def test_only_a_mail_in_trouble_has_a_sentence():
    troubled = {state for state in MessageState if next_acts.message_sentence(state, "Refused.")}
    assert troubled == {MessageState.FAILED, MessageState.UNCERTAIN}


def test_a_run_asks_for_one_thing_at_a_time_in_the_order_of_the_work():
    order = [
        "Finish the roster",
        "Import the roster",
        "Assign kits",
        "Pack",
        "Dispatch",
        "Check returns",
        "See what is overdue",
    ]
    for run in runs():
        waiting = [
            run.roster_waits,
            not run.students,
            run.without_kit,
            run.to_pack,
            run.to_dispatch,
            run.to_check,
            run.overdue,
        ]
        acts = [act for act, waits in zip(order, waiting, strict=True) if waits]
        way = run_act(run)
        assert (way.act if way else None) == (acts[0] if acts else None)


def test_a_run_says_how_far_it_has_come():
    assert run_sentence(RunSituation()) == "Nobody is on this run yet."
    assert run_sentence(RunSituation(students=1, to_pack=1)) == "1 student, 1 to pack."
    far = RunSituation(
        students=9, without_kit=1, to_dispatch=2, away=3, overdue=1, to_check=1, to_settle=2
    )
    assert run_sentence(far) == (
        "9 students, 1 without a kit, 2 to dispatch, 3 away (1 overdue), 1 back to check,"
        " 2 to settle."
    )


def test_clearance_is_said_where_it_matters():
    shown = {state for state in KitState if next_acts.shows_clearance(state)}
    assert set(KitState) - shown == {KitState.AWAY, KitState.CHECK, KitState.RETIRED}
    assert {state for state in KitState if next_acts.wants_clearance(state)} < shown
    refused = {state for state in KitState if next_acts.shows_refusal(state)}
    assert set(KitState) - refused == {KitState.AWAY, KitState.RETIRED}

"""What is next with a mail, and what stands against it."""

from __future__ import annotations

from rentals import next_acts
from rentals.next_acts import (
    message_act,
)
from rentals.states import (
    MessageState,
)


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


def test_a_draft_that_is_held_is_read_again_before_it_goes():
    act = message_act(MessageState.DRAFT, held=True).here
    assert act is not None
    assert act.act == "Read and change"
    assert message_act(MessageState.SENT, held=True) == message_act(MessageState.SENT)


def test_only_a_mail_in_trouble_has_a_sentence():
    troubled = {state for state in MessageState if next_acts.message_sentence(state, "Refused.")}
    assert troubled == {
        MessageState.FAILED,
        MessageState.UNCERTAIN,
        MessageState.DRAFT,
        MessageState.DISCARDED,
    }
    assert next_acts.message_sentence(MessageState.DRAFT, "") == ""


def test_a_mail_may_have_arrived_once_it_was_handed_over():
    arrived = {state for state in MessageState if next_acts.may_have_arrived(state)}
    assert arrived == {MessageState.SENT, MessageState.UNCERTAIN}

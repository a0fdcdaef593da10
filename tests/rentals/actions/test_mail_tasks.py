"""Mail is sent in the background, once the act that lets it go has been written down."""

from __future__ import annotations

import pytest
from django.db import transaction

from rentals.actions.mail_tasks import send_soon, send_what_is_due
from tests.rentals.letters import approved, states

A, B = "ada@strings.example", "refused@strings.example"


@pytest.mark.django_db(transaction=True)
def test_mails_go_when_the_transaction_is_through_and_not_before(smtp_server):
    with transaction.atomic():
        approved(A)
        send_soon()
        assert states() == {A: "approved"}
    assert states() == {A: "sent"}


@pytest.mark.django_db(transaction=True)
def test_an_act_that_is_taken_back_sends_nothing(smtp_server):
    with pytest.raises(ZeroDivisionError), transaction.atomic():
        send_soon()
        raise ZeroDivisionError
    approved(A)
    assert states() == {A: "approved"}


@pytest.mark.django_db(transaction=True)
def test_the_task_says_what_became_of_the_mails(smtp_server):
    smtp_server.refuse[B] = "550 no such box"
    approved(A, B)
    assert send_what_is_due.call() == "1 sent, 0 later, 1 failed, 0 uncertain"

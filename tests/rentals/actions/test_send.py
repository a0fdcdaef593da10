"""A real mail server that refuses, delays, hangs up and answers 4xx: every mail is in exactly one
known state.
"""

from __future__ import annotations

from datetime import timedelta
from threading import Thread

import pytest
from django.db import connection
from django.utils import timezone

from rentals.actions.approve import resend
from rentals.actions.claim_mail import (
    FIRST_WAIT,
    NO_SERVER_WAIT,
    TRIES,
    give_up_expired_claims,
    lease,
)
from rentals.actions.note_sent import note_sent
from rentals.actions.send import send_due_mails
from rentals.models import Message
from rentals.post import line
from tests.rentals.letters import approved, mail_to, states, steps

pytestmark = pytest.mark.django_db(transaction=True)
A, B, C = "ada@strings.example", "ben@strings.example", "cleo@strings.example"


def _subjects_arrived(server) -> list[str]:
    return [mail.recipients[0] for mail in server.received]


def test_each_mail_goes_to_one_recipient_in_the_order_of_approval(smtp_server):
    approved(A, B, C)
    done = send_due_mails()
    assert (done.sent, done.failed, done.later, done.uncertain) == (3, 0, 0, 0)
    assert [mail.recipients for mail in smtp_server.received] == [(A,), (B,), (C,)]
    assert set(states().values()) == {"sent"}


def test_a_5xx_fails_with_the_server_s_own_sentence_and_does_not_stop_the_rest(smtp_server):
    smtp_server.refuse[B] = "550 5.1.1 no such box here"
    _, second, _ = approved(A, B, C)
    send_due_mails()
    assert states() == {A: "sent", B: "failed", C: "sent"}
    assert steps(second)[-1] == "Not sent. The mail server answered: 550 5.1.1 no such box here"
    assert _subjects_arrived(smtp_server) == [A, C]
    send_due_mails(now=timezone.now() + timedelta(days=1))
    assert smtp_server.attempts == 2  # a permanent refusal is not tried again


def test_a_4xx_is_tried_three_times_with_doubling_waits(smtp_server):
    smtp_server.refuse[A] = "451 4.7.1 greylisted, come back later"
    (mail,) = approved(A)
    now = timezone.now()
    waits = []
    for _ in range(TRIES):
        send_due_mails(now=now)
        mail.refresh_from_db()
        if mail.next_try_at is not None:
            waits.append(mail.next_try_at - now)
            send_due_mails(now=mail.next_try_at - timedelta(seconds=1))
            mail.refresh_from_db()
            assert mail.attempts == len(waits)  # not before its time
            now = mail.next_try_at
    assert waits == [FIRST_WAIT, 2 * FIRST_WAIT]
    assert (mail.state, mail.attempts) == ("failed", 3)
    assert "451 4.7.1 greylisted" in mail.last_error


def test_a_mail_that_was_put_off_goes_at_its_next_try(smtp_server):
    smtp_server.refuse[A] = "451 later"
    (mail,) = approved(A)
    send_due_mails()
    smtp_server.refuse.clear()
    send_due_mails(now=timezone.now() + FIRST_WAIT)
    assert states() == {A: "sent"}
    assert _subjects_arrived(smtp_server) == [A]
    assert steps(mail)[0].startswith("Try 1 of 3: The mail server answered: 451 later")


def test_a_line_that_breaks_before_the_mail_was_handed_over_is_tried_again(smtp_server):
    smtp_server.drop = "at-recipient"
    (mail,) = approved(A)
    send_due_mails()
    mail.refresh_from_db()
    assert (mail.state, mail.attempts) == ("queued", 1)
    smtp_server.drop = None
    send_due_mails(now=timezone.now() + FIRST_WAIT)
    assert states() == {A: "sent"}
    assert _subjects_arrived(smtp_server) == [A]


def test_a_line_that_breaks_after_the_mail_was_handed_over_leaves_it_uncertain(smtp_server):
    smtp_server.drop = "after-data"
    (mail,) = approved(A)
    done = send_due_mails()
    assert (states(), done.uncertain) == ({A: "uncertain"}, 1)
    assert len(smtp_server.received) == 1  # it did arrive: sending it again would have doubled it
    smtp_server.drop = None
    send_due_mails(now=timezone.now() + timedelta(days=2))
    assert len(smtp_server.received) == 1
    assert "May have been sent" in steps(mail)[-1]


def test_a_resend_keeps_its_message_id(smtp_server):
    smtp_server.drop = "after-data"
    (mail,) = approved(A)
    send_due_mails()
    smtp_server.drop = None
    mail.refresh_from_db()
    resend(mail)
    assert states() == {A: "sent"}
    first, second = (received.message["Message-ID"] for received in smtp_server.received)
    assert first == second == mail.message_id


def test_an_uncertain_mail_can_be_noted_as_sent(smtp_server):
    smtp_server.drop = "after-data"
    (mail,) = approved(A)
    send_due_mails()
    mail.refresh_from_db()
    note_sent(mail, how="She says it came.")
    send_due_mails(now=timezone.now() + timedelta(days=2))
    assert (states(), len(smtp_server.received)) == ({A: "sent"}, 1)


def test_a_slow_server_is_waited_for(smtp_server, settings, monkeypatch):
    settings.EMAIL_TIMEOUT = 0.5
    monkeypatch.setattr(line, "PATIENCE", 20)
    smtp_server.delay_s = 1.5
    approved(A)
    send_due_mails()
    assert (states(), len(smtp_server.received)) == ({A: "sent"}, 1)


def test_a_server_that_never_answers_leaves_the_mail_uncertain(smtp_server, settings, monkeypatch):
    settings.EMAIL_TIMEOUT = 0.5
    monkeypatch.setattr(line, "PATIENCE", 1)
    smtp_server.delay_s = 2.0
    approved(A)
    send_due_mails()
    assert states() == {A: "uncertain"}


def test_a_refusal_after_the_whole_mail_is_believed(smtp_server):
    smtp_server.data_reply = "554 looks like junk"
    approved(A)
    send_due_mails()
    assert states() == {A: "failed"}


def test_no_server_costs_no_try_and_is_asked_once_for_all(smtp_server, settings):
    settings.EMAIL_PORT = 1  # nobody listens there
    mails = approved(A, B, C)
    done = send_due_mails()
    assert done.later == 1
    assert {mail.attempts for mail in Message.objects.all()} == {0}
    waiting = Message.objects.filter(state__in=["queued", "approved"], next_try_at__isnull=False)
    assert waiting.count() == 3
    assert all("cannot be reached" in mail.last_error for mail in waiting)
    settings.EMAIL_PORT = smtp_server.port
    send_due_mails(now=timezone.now() + NO_SERVER_WAIT + timedelta(seconds=1))
    assert set(states().values()) == {"sent"}
    assert len(mails) == len(smtp_server.received)


def test_a_bad_address_fails_by_itself_and_nothing_goes_over_the_wire(smtp_server):
    mail = mail_to("jörg@strings.example")
    Message.objects.filter(pk=mail.pk).update(state="approved")
    approved(A)
    send_due_mails()
    assert states() == {A: "sent", "jörg@strings.example": "failed"}
    assert smtp_server.attempts == 1


@pytest.mark.parametrize(
    "facts",
    [
        {"subject": "a\nBcc: x@evil.example"},
        {"to_name": "Viola\r\nBcc: x@evil.example"},
        {"subject": "a\x0bb"},
    ],
)
def test_a_header_cannot_be_injected(smtp_server, facts):
    mail = mail_to(A, **facts)
    Message.objects.filter(pk=mail.pk).update(state="approved")
    send_due_mails()
    assert (states(), smtp_server.attempts) == ({A: "failed"}, 0)
    assert "line break" in steps(mail)[-1]


def test_a_claim_of_a_dead_worker_becomes_uncertain_only_after_its_lease(smtp_server):
    (mail,) = approved(A)
    now = timezone.now()
    Message.objects.filter(pk=mail.pk).update(state="sending", claimed_at=now)
    assert give_up_expired_claims(now=now + lease().duration) == 0
    assert give_up_expired_claims(now=now + lease().duration + timedelta(seconds=1)) == 1
    send_due_mails(now=now + timedelta(days=1))
    assert (states(), smtp_server.attempts) == ({A: "uncertain"}, 0)


@pytest.mark.parametrize("seconds", [5, 20, 120])
def test_a_claim_outlasts_the_patience_of_a_living_worker(settings, seconds):
    settings.EMAIL_TIMEOUT = seconds
    assert lease().duration >= timedelta(minutes=30)
    assert lease().duration.total_seconds() > 2 * line.PATIENCE * seconds


def test_four_workers_at_once_send_each_mail_once(smtp_server):
    addresses = [f"student{n}@strings.example" for n in range(40)]
    approved(*addresses)
    problems: list[BaseException] = []

    def work() -> None:
        try:
            send_due_mails()
        except BaseException as problem:
            problems.append(problem)
        finally:
            connection.close()

    workers = [Thread(target=work) for _ in range(4)]
    for worker in workers:
        worker.start()
    for worker in workers:
        worker.join()
    assert problems == []
    assert sorted(_subjects_arrived(smtp_server)) == sorted(addresses)
    assert set(states().values()) == {"sent"}

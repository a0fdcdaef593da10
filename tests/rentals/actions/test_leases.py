"""Claims: one worker of many, taken over only when expired, tried again with doubling waits."""

from datetime import timedelta

import pytest
from django.utils import timezone

from rentals.actions.leases import Lease
from rentals.models import Message
from tests.rentals.letters import mail_to

pytestmark = pytest.mark.django_db
MINUTE = timedelta(minutes=1)
LEASE = Lease(Message, "state", "sending", duration=10 * MINUTE, tries=3, first_wait=5 * MINUTE)
NOW = timezone.now()


@pytest.fixture
def mail():
    return mail_to("ada@strings.example", state="queued")


def queued(mail):
    return Message.objects.filter(pk=mail.pk, state="queued")


def claimed(mail, at=NOW):
    assert LEASE.claim(queued(mail), at)
    mail.refresh_from_db()
    return mail


def test_of_two_workers_one_claims_and_the_claim_counts_as_a_try(mail):
    assert LEASE.claim(queued(mail), NOW)
    assert not LEASE.claim(queued(mail), NOW + MINUTE)
    mail.refresh_from_db()
    assert (mail.state, mail.attempts, mail.claimed_at) == ("sending", 1, NOW)


def test_the_claim_is_the_workers_own_until_it_is_ended(mail):
    claimed(mail)
    assert LEASE.under_claim_of(mail).update(state="sent", sent_at=NOW) == 1
    assert LEASE.under_claim_of(mail).update(state="failed") == 0


def test_a_claim_that_was_taken_over_is_seen_by_its_first_worker(mail):
    first_worker = claimed(mail)
    second_worker = Message.objects.get(pk=mail.pk)
    assert LEASE.claim(LEASE.expired(NOW + 11 * MINUTE), NOW + 11 * MINUTE)
    second_worker.refresh_from_db()
    assert not LEASE.under_claim_of(first_worker).exists()
    assert LEASE.under_claim_of(second_worker).exists()


def test_a_late_outcome_counts_in_the_states_it_is_allowed_in(mail):
    claimed(mail)
    LEASE.under_claim_of(mail).update(state="uncertain")
    assert not LEASE.under_claim_of(mail).exists()
    assert LEASE.under_claim_of(mail, or_in=["uncertain"]).exists()


def test_a_claim_expires_when_its_lease_is_over_and_not_before(mail):
    claimed(mail)
    assert not LEASE.expired(NOW + 10 * MINUTE).exists()
    assert list(LEASE.expired(NOW + 10 * MINUTE + timedelta(seconds=1))) == [mail]


def test_what_is_not_held_never_expires(mail):
    Message.objects.filter(pk=mail.pk).update(state="uncertain", claimed_at=NOW)
    assert not LEASE.expired(NOW + timedelta(days=1)).exists()


@pytest.mark.parametrize(
    ("attempts", "minutes", "used_up"), [(1, 5, False), (2, 10, False), (3, 20, True)]
)
def test_each_wait_is_twice_the_one_before_and_tries_end(mail, attempts, minutes, used_up):
    mail.attempts = attempts
    assert LEASE.wait_after(mail) == minutes * MINUTE
    assert LEASE.is_used_up(mail) is used_up

"""A mail that asks for what lacks chases it from the moment it was sent."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.utils import timezone

from rentals.actions import chase as chase_module
from rentals.actions.chase import chase_asked_for
from rentals.actions.settle import waive
from rentals.models import Message, Shortfall
from tests.rentals.actions.acts import shortfall_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def short() -> Shortfall:
    return shortfall_of("charger")


def state(short: Shortfall) -> str:
    return Shortfall.objects.get(pk=short.pk).state


def change_mail(**changes: object) -> None:
    """Make the mail that asks for what lacks a sent one, with these changes."""
    sent = {"state": Message.State.SENT, "sent_at": timezone.now()}
    mails = Message.objects.filter(occasion=Message.Occasion.SHORTFALL)
    assert mails.update(**sent | changes) == 1


def test_what_a_sent_mail_asks_for_is_chased_once(short):
    assert chase_asked_for() == 0
    change_mail()
    assert chase_asked_for() == 1
    assert state(short) == "chased"
    assert chase_asked_for() == 0


@pytest.mark.parametrize("changes", [{"state": "draft", "sent_at": None}, {"occasion": "overdue"}])
def test_no_other_mail_chases_anything(short, changes):
    change_mail(**changes)
    assert chase_asked_for() == 0
    assert state(short) == "open"


def test_a_mail_of_before_does_not_ask_for_what_came_to_light_later(short):
    change_mail(drafted_at=timezone.now() - timedelta(days=1))
    assert chase_asked_for() == 0


def test_a_shortfall_that_ends_at_the_same_moment_stays_ended(short, monkeypatch):
    change_mail()
    chase = chase_module.chase

    def ended_a_moment_ago(shortfall: Shortfall):
        waive(shortfall, reason="worn out")
        return chase(shortfall)

    monkeypatch.setattr(chase_module, "chase", ended_a_moment_ago)
    assert chase_asked_for() == 0
    assert state(short) == "waived"

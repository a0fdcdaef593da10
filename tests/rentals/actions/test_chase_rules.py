"""What lacks is asked for by rule, again by the next rule, and never twice by one."""

from datetime import timedelta

import pytest
from django.utils import timezone

from rentals.actions.chase_rules import chase_by_rule
from rentals.actions.settle import recover
from rentals.models import Message, Practice, ReminderRule, Shortfall
from rentals.selectors.charging import is_to_charge
from tests.rentals.actions.acts import shortfall_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def short():
    for days in (7, 21):
        ReminderRule.objects.create(days=days, moment="shortfall")
    return shortfall_of("charger")


def _sent() -> None:
    Message.objects.update(state="sent", sent_at=timezone.now())


def test_each_rule_asks_once_and_the_later_one_again(short):
    opened = short.opened_at
    after = {days: opened + timedelta(days=days) for days in (5, 10, 11, 24, 60)}
    assert chase_by_rule(now=after[10]) == 0, "the mail of the check still waits"
    _sent()
    assert [chase_by_rule(now=after[days]) for days in (5, 10, 11)] == [0, 1, 0]
    first = Message.objects.get(state="draft")
    assert first.occasion == "shortfall" and "Charger" in first.body_text
    _sent()
    assert [chase_by_rule(now=after[days]) for days in (11, 24, 60)] == [0, 1, 0]


def test_nothing_is_asked_for_that_has_come_or_is_here_damaged(short):
    _sent()
    later = short.opened_at + timedelta(days=30)
    Shortfall.objects.update(kind="damaged")
    assert chase_by_rule(now=later) == 0
    Shortfall.objects.update(kind="missing")
    recover(short)
    assert chase_by_rule(now=later) == 0


def test_a_rule_that_sends_by_itself_approves_its_mail(short):
    _sent()
    ReminderRule.objects.update(automatic=True)
    assert chase_by_rule(now=short.opened_at + timedelta(days=30)) == 1
    assert not Message.objects.filter(state="draft").exists()


def test_what_was_asked_for_long_enough_is_proposed_for_charging(short, signed_in):
    today = timezone.localdate(short.opened_at) + timedelta(days=30)
    assert not is_to_charge(short, today, Practice())
    assert is_to_charge(short, today, Practice(charge_after_days=30))
    assert not is_to_charge(short, today, Practice(charge_after_days=31))
    Practice.objects.update_or_create(pk=1, defaults={"charge_after_days": 0})
    page = signed_in.get("/").content.decode()
    assert "proposed for charging" in page and f"/shortfalls/{short.pk}/charge/" in page
    page = signed_in.get(f"/shortfalls/{short.pk}/").content.decode()
    assert "Asked for long enough." in page

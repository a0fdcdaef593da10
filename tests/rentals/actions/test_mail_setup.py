"""Setup keeps wordings, reminder rules and private calendar addresses."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.utils import timezone

from rentals.actions.mail_setup import (
    USUAL_RULES,
    add_usual_rules,
    drop_wording,
    make_calendar_link,
    note_calendar_read,
    remove_rule,
    renew_calendar_link,
    revoke_calendar_link,
    save_rule,
    save_wording,
)
from rentals.errors import Refused
from rentals.models import CalendarLink, MailWording, ReminderRule
from rentals.post.usual_wording import USUAL
from rentals.selectors.wordings import wordings_of

pytestmark = pytest.mark.django_db
STATEMENT = "statement"


def own_wording(**words: str) -> MailWording:
    return MailWording(
        **{"occasion": STATEMENT, "subject": "Ended", "text": "Dear {student}", **words}
    )


def test_an_own_wording_takes_the_place_of_the_usual_one_until_it_is_dropped():
    save_wording(own_wording())
    save_wording(own_wording(subject="  Your loan has ended "))
    assert MailWording.objects.get().subject == "Your loan has ended"
    assert wordings_of(STATEMENT).wording("en").subject == "Your loan has ended"
    drop_wording(STATEMENT)
    assert wordings_of(STATEMENT).wording("en") == USUAL[STATEMENT]


@pytest.mark.parametrize(
    ("words", "field"),
    [({"text": "Dear {studnet}"}, "text"), ({"subject": "Ended {"}, "subject")],
)
def test_a_wording_that_could_not_be_filled_in_is_not_kept(words, field):
    with pytest.raises(Refused) as refusal:
        save_wording(own_wording(**words))
    assert refusal.value.field == field
    assert not MailWording.objects.exists()


def test_the_usual_rules_are_added_once_and_a_changed_one_stays():
    assert add_usual_rules() == len(USUAL_RULES)
    changed = ReminderRule.objects.first()
    changed.automatic = True
    save_rule(changed)
    remove_rule(ReminderRule.objects.last())
    assert add_usual_rules() == 1
    assert ReminderRule.objects.filter(automatic=True).get() == changed


def test_the_same_rule_twice_is_refused_and_the_desk_goes_on():
    facts = {"days": 3, "moment": ReminderRule.Moment.AFTER_DUE}
    save_rule(ReminderRule(**facts))
    with pytest.raises(Refused, match="such a rule already") as refusal:
        save_rule(ReminderRule(**facts))
    assert refusal.value.field == "days"
    assert ReminderRule.objects.count() == 1


def test_every_calendar_link_has_a_token_of_its_own_that_is_kept_nowhere(owner):
    tokens = {make_calendar_link(" Phone ", actor=owner) for _ in range(2)}
    assert len(tokens) == 2
    link = CalendarLink.objects.first()
    assert (link.name, link.made_by) == ("Phone", owner)
    assert not tokens & {str(value) for value in vars(link).values()}


def _link() -> CalendarLink:
    make_calendar_link("Phone")
    return CalendarLink.objects.get()


def test_a_link_is_revoked_once_and_keeps_the_first_moment():
    link = _link()
    first = timezone.now()
    assert revoke_calendar_link(link, at=first) == 1
    assert revoke_calendar_link(link, at=first + timedelta(hours=1)) == 0
    link.refresh_from_db()
    assert link.revoked_at == first


def test_a_link_is_made_anew_under_its_name_unless_it_was_revoked():
    link = _link()
    renew_calendar_link(link)
    old, new = CalendarLink.objects.order_by("pk")
    assert old.revoked_at and not new.revoked_at and new.name == "Phone"
    with pytest.raises(Refused, match="was revoked"):
        renew_calendar_link(link)
    assert CalendarLink.objects.count() == 2


def test_reading_the_calendar_is_noted_once_a_day():
    link = _link()
    noon = timezone.now().replace(hour=12, minute=0)
    read_at = []
    for moment in (noon, noon + timedelta(hours=1), noon + timedelta(days=1)):
        note_calendar_read(CalendarLink.objects.get(), at=moment)
        read_at.append(CalendarLink.objects.get(pk=link.pk).read_at)
    assert read_at == [noon, noon, noon + timedelta(days=1)]

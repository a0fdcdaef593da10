"""What is read of students' links."""

from datetime import timedelta

import pytest
from django.utils import timezone

from rentals.actions.dispatch import dispatch
from rentals.actions.issue import unassign
from rentals.actions.setup import save_practice
from rentals.actions.student_links import ensure_link, stop_link
from rentals.models import Practice
from rentals.selectors.student_links import (
    link_of_token,
    link_state,
    marked_page,
    token_of_link,
)
from rentals.student_tokens import has_marker
from tests.factories import assigned_loan, packed_loan

pytestmark = pytest.mark.django_db
SITE = "https://desk.example"


def practice_with_site() -> Practice:
    return save_practice(Practice(name="Ease", site_url=SITE))


def test_only_the_whole_token_finds_its_link():
    loan = dispatch(packed_loan().kit)
    token = token_of_link(loan.student_links.get())
    assert link_of_token(token).loan == loan
    for wrong in ("", token[:-1], token + "A", token.swapcase(), str(loan.pk), "x" * 4000):
        assert link_of_token(wrong) is None


def test_a_link_made_under_another_key_opens_but_cannot_be_written_again(settings):
    link = ensure_link(assigned_loan())
    token = token_of_link(link)
    settings.SECRET_KEY = "another key than before"
    assert token_of_link(link) == "" and link_of_token(token) == link


def test_nothing_is_written_of_a_page_that_nobody_could_open():
    today = timezone.localdate()
    loan = dispatch(packed_loan().kit)
    assert marked_page(loan, Practice.current(), today) == ""
    assert link_state(loan, Practice.current(), today).no_site
    practice = practice_with_site()
    assert marked_page(loan, practice, today).startswith(f"{SITE}/my-kit/")
    assert has_marker(marked_page(loan, practice, today))
    stop_link(loan)
    assert marked_page(loan, practice, today) == ""
    state = link_state(loan, practice, today)
    assert state.stopped and state.link is None and not state.ended


def test_a_kit_that_was_never_sent_has_no_page():
    loan = assigned_loan()
    ensure_link(loan)
    unassign(loan.kit)
    loan.refresh_from_db()
    state = link_state(loan, practice_with_site(), timezone.localdate())
    assert state.ended


def test_the_page_ends_some_days_after_the_loan():
    practice = practice_with_site()
    loan = dispatch(packed_loan().kit)
    loan.closed_at = timezone.now()
    closed_on = timezone.localdate(loan.closed_at)
    state = link_state(loan, practice, closed_on)
    assert state.ends_on == closed_on + timedelta(days=30) and not state.ended
    assert link_state(loan, practice, closed_on + timedelta(days=31)).ended

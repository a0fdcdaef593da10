"""Making, renewing and stopping the link to a student's page, and how it gets into a mail."""

import pytest
from django.db import IntegrityError, connection, transaction

from rentals.actions.approve import approve
from rentals.actions.dispatch import dispatch
from rentals.actions.draft import draft
from rentals.actions.edit_mail import edit_mail
from rentals.actions.issue import unassign
from rentals.actions.send import send_due_mails
from rentals.actions.setup import save_practice
from rentals.actions.student_links import ensure_link, note_link_used, renew_link, stop_link
from rentals.errors import Refused
from rentals.models import Message, Practice, StudentLink
from rentals.selectors.student_links import link_of_token, token_of_link
from rentals.student_tokens import has_marker, page_address
from rentals.verify import verify
from tests.factories import assigned_loan, packed_loan

SITE = "https://desk.example"


@pytest.fixture
def practice(db) -> Practice:
    return save_practice(Practice(name="Ease", site_url=SITE, email="ease@desk.example"))


def away_loan():
    return dispatch(packed_loan().kit)


def every_text() -> str:
    """All that stands in any column of any table."""
    found = []
    with connection.cursor() as cursor:
        for table in connection.introspection.table_names(cursor):
            cursor.execute(f"SELECT * FROM {connection.ops.quote_name(table)}")
            found += [str(value) for row in cursor.fetchall() for value in row]
    return "\n".join(found)


@pytest.mark.django_db(transaction=True)
def test_the_token_leaves_in_the_mail_and_stands_in_no_table(practice, smtp_server, caplog):
    loan = away_loan()
    mail = draft(Message.Occasion.ON_ITS_WAY, loan)
    token = token_of_link(loan.student_links.get())
    assert has_marker(mail.body_text) and has_marker(mail.body_html)
    approve(mail)
    send_due_mails()
    mail.refresh_from_db()
    assert mail.state == Message.State.SENT and has_marker(mail.body_text)
    sent = smtp_server.received[-1].message
    faces = [part.get_content() for part in sent.walk() if part.get_content_maintype() == "text"]
    assert len(faces) == 2 and all(page_address(SITE, token) in face for face in faces)
    assert token not in every_text() and token not in caplog.text


@pytest.mark.django_db
def test_without_an_address_that_students_can_open_no_mail_speaks_of_the_page():
    mail = draft(Message.Occasion.ON_ITS_WAY, away_loan())
    assert "my-kit" not in mail.body_text and "own page" not in mail.body_text


@pytest.mark.django_db
def test_a_loan_has_one_link_in_force_however_often_it_is_made(practice):
    loan = assigned_loan()
    first = ensure_link(loan)
    assert ensure_link(loan) == first
    twin = {"loan": loan, "nonce": "n", "made_at": first.made_at}
    with pytest.raises(IntegrityError), transaction.atomic():
        StudentLink.objects.create(token_sha256="other", **twin)


@pytest.mark.django_db
def test_a_new_link_stops_the_one_before(practice):
    loan = away_loan()
    old = token_of_link(loan.student_links.get())
    new = renew_link(loan)
    assert link_of_token(old).revoked_at and link_of_token(new).revoked_at is None
    assert loan.events.filter(text__startswith="A new link").exists() and verify() == []


@pytest.mark.django_db
def test_a_stopped_link_stays_stopped_and_leaves_the_mails(practice):
    loan = away_loan()
    mail = draft(Message.Occasion.ON_ITS_WAY, loan)
    stop_link(stop_link(loan))
    assert loan.events.filter(text__contains="was stopped").count() == 1
    mail.refresh_from_db()
    assert not has_marker(mail.body_text)
    assert ensure_link(loan) is None
    assert not has_marker(draft(Message.Occasion.DUE_SOON, loan).body_text)
    renew_link(loan)
    mail.refresh_from_db()
    assert has_marker(mail.body_text)


@pytest.mark.django_db(transaction=True)
def test_a_link_of_another_key_is_made_anew_when_a_mail_leaves(practice, smtp_server, settings):
    loan = away_loan()
    mail = draft(Message.Occasion.ON_ITS_WAY, loan)
    settings.SECRET_KEY = "another key than before"
    approve(mail)
    send_due_mails()
    token = token_of_link(loan.student_links.get(revoked_at=None))
    text = smtp_server.received[-1].message.get_body(("plain",)).get_content()
    assert page_address(SITE, token) in text


@pytest.mark.django_db(transaction=True)
def test_a_mail_with_a_stopped_link_in_words_of_ones_own_does_not_leave(practice, smtp_server):
    loan = away_loan()
    mail = draft(Message.Occasion.ON_ITS_WAY, loan)
    words = {"to_name": mail.to_name, "to_address": mail.to_address, "subject": mail.subject}
    mail = edit_mail(mail, body_text=f"{mail.body_text}\nSee you.", **words)
    stop_link(loan)
    edit_mail(mail, body_text=mail.body_text, **words)
    approve(mail)
    send_due_mails()
    mail.refresh_from_db()
    assert mail.state == Message.State.FAILED and "was stopped" in mail.last_error
    assert not smtp_server.received


@pytest.mark.django_db
def test_no_new_link_for_a_loan_that_has_ended(practice):
    loan = assigned_loan()
    unassign(loan.kit)
    with pytest.raises(Refused, match="has ended"):
        renew_link(loan)


@pytest.mark.django_db
def test_opening_is_noted_once_a_day(practice, django_assert_num_queries):
    link = ensure_link(assigned_loan())
    note_link_used(link)
    link.refresh_from_db()
    assert link.last_used_at is not None
    with django_assert_num_queries(0):
        note_link_used(link)

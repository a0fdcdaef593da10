"""Messages for their screens."""

import pytest
from django.utils import timezone

from rentals.models import Message, MessageBatch
from rentals.selectors.messages import (
    batch_progress,
    batch_troubles,
    drafts_among,
    mail_page,
    mail_row,
    messages_listed,
)
from tests.factories import packed_loan
from tests.rentals.letters import mail_to

pytestmark = pytest.mark.django_db
A, B = "ada@strings.example", "ben@strings.example"


def test_mails_are_found_by_words_state_occasion_and_kit():
    loan = packed_loan()
    about_loan = Message.objects.get()
    ada = mail_to(A, subject="A string", state="failed")
    assert set(messages_listed({})) == {about_loan, ada}
    for filters in ({"q": "ADA@"}, {"q": "a string"}, {"state": "failed"}):
        assert list(messages_listed(filters)) == [ada]
    code = f"{loan.kit.code[:2]} {loan.kit.code[2:]}"
    assert list(messages_listed({"q": code, "occasion": "packing_list"})) == [about_loan]
    assert messages_listed({"state": "nonsense", "run": "9" * 30}).count() == 2


def test_drafts_are_counted_where_the_filter_leaves_it_open(django_assert_num_queries):
    for name, state in ((A, "draft"), (B, "draft"), (A, "failed")):
        mail_to(name, state=state)
    mails = messages_listed({})
    with django_assert_num_queries(1):
        assert drafts_among(mails, {"state": ""}, 3) == 2
    with django_assert_num_queries(0):
        assert drafts_among(mails, {"state": "draft"}, 2) == 2
        assert drafts_among(mails, {"state": "failed"}, 1) == 0


def test_drafts_are_picked_out_of_numbers_that_are_known(django_assert_num_queries):
    first, *_, failed = [mail_to(A, state=state) for state in ("draft", "draft", "failed")]
    mails = messages_listed({"q": "whatever"})
    with django_assert_num_queries(1):
        assert drafts_among(mails, {}, 2, [first.pk, failed.pk]) == 1
    with django_assert_num_queries(0):
        assert drafts_among(mails, {}, 0, []) == 0


def test_a_mail_says_what_can_be_done_with_it():
    draft, failed = mail_to(A), mail_to(B, state="failed", last_error="No such box.")
    assert mail_row(draft).draft and not mail_row(failed).draft
    page = mail_page(draft, fault="")
    assert page.approve and page.next is None and page.may_change and page.may_end
    faulty = mail_page(draft, fault="No domain.")
    assert (faulty.approve, faulty.next.act) == ("", "Mend the address")
    stuck = mail_page(failed, fault="")
    assert "No such box." in stuck.sentence and stuck.next.act == "Send again"


def test_a_batch_counts_each_mail_once():
    batch = MessageBatch.objects.create(at=timezone.now())
    for number, (state, facts) in enumerate(
        [
            ("sent", {"sent_at": timezone.now()}),
            ("queued", {"next_try_at": timezone.now()}),
            ("queued", {}),
            ("failed", {}),
            ("uncertain", {}),
        ]
    ):
        mail_to(f"student{number}@strings.example", state=state, batch=batch, **facts)
    progress = batch_progress(batch)
    assert (progress.total, progress.sent, progress.waiting) == (5, 1, 1)
    assert (progress.failed, progress.uncertain, progress.done) == (1, 1, 4)
    assert [mail.state for mail in batch_troubles(batch)] == ["queued", "failed", "uncertain"]

"""The screens of the post room through the client, with real rows."""

from __future__ import annotations

import uuid

import pytest

from rentals.actions.dispatch import dispatch
from rentals.actions.mail_tasks import send_what_is_due
from rentals.models import Message, MessageBatch, Practice
from tests.factories import packed_loan
from tests.hour import most
from tests.rentals.letters import mail_to, states

pytestmark = pytest.mark.django_db(transaction=True)
A, B, C = "ada@strings.example", "ben@strings.example", "cleo@strings.example"


def _text(answer) -> str:
    return answer.content.decode()


def press(client, **query):
    """Open the page that shows who is meant, and press its button."""
    page = client.get("/messages/approve/", query, follow=True)
    if "page" not in (page.context or {}) or not page.request["PATH_INFO"].endswith("approve/"):
        return page
    shown = page.context["form"]["shown"].value()
    address = f"{page.request['PATH_INFO']}?{page.request['QUERY_STRING']}"
    return client.post(address, {"shown": shown, "form_key": uuid.uuid4()}, follow=True)


def test_who_gets_the_mails_is_shown_first_and_nobody_else_gets_one(signed_in, smtp_server):
    mail_to(A), mail_to(B)
    address = "/messages/approve/?do=all"
    page = signed_in.get(address)
    assert page.context["page"].submit == "Approve 2 drafts"
    assert A in _text(page) and B in _text(page)
    shown = page.context["form"]["shown"].value()
    mail_to(C)
    refused = signed_in.post(address, {"shown": shown})
    assert refused.status_code == 422
    assert "have changed" in _text(refused) and C in _text(refused)
    assert set(states().values()) == {"draft"}
    form = {"shown": refused.context["form"]["shown"].value(), "form_key": uuid.uuid4()}
    signed_in.post(address, form)
    assert set(states().values()) == {"sent"}
    assert signed_in.post(address, form).url == MessageBatch.objects.get().get_absolute_url()


def test_all_drafts_go_at_once_and_the_batch_is_watched(signed_in, smtp_server):
    smtp_server.refuse[B] = "550 no such box"
    for address in (A, B, C, "jörg@strings.example"):
        mail_to(address)
    listed = _text(signed_in.get("/messages/?state=draft"))
    assert "Approve all 4 drafts" in listed
    answer = press(signed_in, do="all")
    assert states() == {A: "sent", B: "failed", C: "sent", "jörg@strings.example": "draft"}
    batch = MessageBatch.objects.get()
    assert answer.redirect_chain[-1][0] == batch.get_absolute_url()
    page = _text(answer)
    assert "Stays a draft" in page and "jörg@strings.example" in page
    assert "550 no such box" in page
    assert "<b data-progress-done>3</b> of <b data-progress-total>3</b>" in page


def test_many_mails_with_one_bad_box_among_them(signed_in, smtp_server):
    smtp_server.refuse["student7@strings.example"] = "550 no such box"
    count = most(60, 300)
    for number in range(count):
        mail_to(f"student{number}@strings.example")
    press(signed_in, do="all")
    assert sorted(states().values()) == ["failed"] + ["sent"] * (count - 1)
    assert len({mail.recipients for mail in smtp_server.received}) == count - 1
    page = _text(
        signed_in.get(MessageBatch.objects.get().get_absolute_url(), headers={"HX-Request": "true"})
    )
    assert page.count("<html") == 0
    done = f"<b data-progress-done>{count}</b> of <b data-progress-total>{count}</b>"
    assert done in page
    assert "hx-trigger" not in page  # done: nothing asks again


def test_only_the_ticked_ones_go(signed_in, smtp_server):
    first, second = mail_to(A), mail_to(B)
    press(signed_in, do="ticked", pk=[first.pk])
    assert states() == {A: "sent", B: "draft"}
    press(signed_in, do="discard", pk=[first.pk, second.pk, "x", "9" * 30])
    assert states() == {A: "sent", B: "discarded"}
    assert "No draft was ticked" in _text(press(signed_in, do="ticked"))


def test_all_means_all_that_the_filter_shows(signed_in, smtp_server):
    mail_to(A, subject="Kit one"), mail_to(B, subject="Kit two")
    press(signed_in, do="all", q="two")
    assert states() == {A: "draft", B: "sent"}


def test_approving_twice_sends_once(signed_in, smtp_server):
    mail, key = mail_to(A), uuid.uuid4()
    for form_key in (key, key, uuid.uuid4()):
        signed_in.post(f"/messages/{mail.pk}/approve/", {"form_key": form_key})
    assert (states(), len(smtp_server.received)) == ({A: "sent"}, 1)


def test_without_a_mail_server_the_file_is_named(signed_in, settings):
    settings.EMAIL_BACKEND = "kitdesk.mail_files.EmlBackend"
    mail = mail_to(A)
    assert "reaches nobody" in _text(signed_in.get(mail.get_absolute_url()))
    signed_in.post(f"/messages/{mail.pk}/approve/")
    (file,) = settings.KITDESK_OUTBOX.glob("*.eml")
    mail.refresh_from_db()
    assert (mail.state, mail.written_to) == ("sent", str(file))
    page = _text(signed_in.get(mail.get_absolute_url()))
    assert file.name in page and "It has reached nobody" in page
    assert mail.mark.word == "written to a file" and mail.mark.tone != "ready"
    second = mail_to(B)
    batch = press(signed_in, do="all")
    assert "Written to a file, reached nobody" in _text(batch) and "All went" not in _text(batch)
    second.refresh_from_db()
    assert second.batch.get_absolute_url() == batch.request["PATH_INFO"]


def test_a_practice_without_an_address_is_told_that_answers_reach_nobody(signed_in):
    mail = mail_to(A)
    assert "Answers to this mail reach nobody" in _text(signed_in.get(mail.get_absolute_url()))
    practice = Practice.current()
    practice.email = "desk@quietbow.example"
    practice.save()
    assert "reach nobody:" not in _text(signed_in.get(mail.get_absolute_url()))


def test_a_draft_can_be_changed_and_nothing_typed_is_lost(signed_in, smtp_server):
    mail = mail_to("nobody at all", subject="Old")
    typed = {
        "to_name": "Ada",
        "to_address": "still wrong",
        "subject": "New words",
        "body_text": "Hello\n\n<b>you</b>",
    }
    refused = signed_in.post(f"/messages/{mail.pk}/edit/", typed)
    assert refused.status_code == 422
    assert "still wrong" in _text(refused) and "New words" in _text(refused)
    assert 'href="#id_to_address"' in _text(refused)
    kept = signed_in.post(f"/messages/{mail.pk}/edit/", {**typed, "to_address": A})
    assert kept.status_code == 302
    mail.refresh_from_db()
    assert (mail.to_address, mail.subject, mail.state) == (A, "New words", "draft")
    assert "<p>&lt;b&gt;you&lt;/b&gt;</p>" in mail.body_html
    signed_in.post(f"/messages/{mail.pk}/approve/")
    (received,) = smtp_server.received
    assert received.message["Subject"] == "New words"
    signed_in.post(f"/messages/{mail.pk}/edit/", {**typed, "to_address": B})
    mail.refresh_from_db()
    assert mail.to_address == A  # its words stand once it is gone


def test_a_failed_mail_becomes_a_draft_again_when_its_address_is_mended(signed_in, smtp_server):
    smtp_server.refuse[B] = "550 no such box"
    mail = mail_to(B)
    signed_in.post(f"/messages/{mail.pk}/approve/")
    assert "550 no such box" in _text(signed_in.get(mail.get_absolute_url()))
    typed = {"to_name": "Ben", "to_address": A, "subject": "Kit", "body_text": "Hello"}
    signed_in.post(f"/messages/{mail.pk}/edit/", typed)
    assert states() == {A: "draft"}
    signed_in.post(f"/messages/{mail.pk}/approve/")
    assert states() == {A: "sent"}


@pytest.mark.parametrize("act", ["discard", "resend", "sent"])
def test_each_act_asks_first_and_then_does_it(signed_in, smtp_server, act):
    mail = mail_to(A)
    if act == "resend":
        signed_in.post(f"/messages/{mail.pk}/approve/")
    asked = signed_in.get(f"/messages/{mail.pk}/{act}/")
    assert asked.status_code == 200
    signed_in.post(f"/messages/{mail.pk}/{act}/", {"how": "by phone"})
    assert states() == {A: {"discard": "discarded", "resend": "sent", "sent": "sent"}[act]}
    assert len(smtp_server.received) == {"discard": 0, "resend": 2, "sent": 0}[act]
    assert _text(signed_in.get(mail.get_absolute_url())).count("<time datetime=") >= 1


def test_the_page_of_a_mail_on_its_way_follows_by_itself(signed_in):
    mail = mail_to(A)
    Message.objects.update(state="queued")
    page = _text(signed_in.get(mail.get_absolute_url()))
    assert 'hx-trigger="every 2s"' in page
    fragment = signed_in.get(mail.get_absolute_url(), headers={"HX-Request": "true"})
    assert "<html" not in _text(fragment) and 'id="happened"' in _text(fragment)
    send_what_is_due.enqueue()
    settled = signed_in.get(mail.get_absolute_url(), headers={"HX-Request": "true"})
    assert settled.headers["HX-Refresh"] == "true"


@pytest.mark.parametrize("rows", [2, 12])
def test_the_list_takes_the_same_few_queries_however_long_it_is(
    signed_in, django_assert_max_num_queries, rows
):
    for number in range(rows):
        mail_to(f"student{number}@strings.example")
    with django_assert_max_num_queries(9):
        assert signed_in.get("/messages/").status_code == 200


def test_a_mail_of_any_occasion_can_be_written_from_the_loan(signed_in):
    loan = dispatch(packed_loan().kit)
    page = _text(signed_in.get(loan.get_absolute_url()))
    assert f"/loans/{loan.pk}/mail/" in page
    answer = signed_in.post(f"/loans/{loan.pk}/mail/", {"occasion": "due_soon"}, follow=True)
    mail = Message.objects.get(occasion="due_soon")
    assert answer.redirect_chain[-1][0] == mail.get_absolute_url()
    assert signed_in.post(f"/loans/{loan.pk}/mail/", {"occasion": "nonsense"}).status_code == 422


def test_the_attachment_of_a_draft_is_printed_as_the_loan_stands(signed_in):
    packed_loan()
    paper = Message.objects.get().attachments.get()
    assert bytes(paper.content) == b""
    answer = signed_in.get(f"/messages/attachments/{paper.pk}/")
    assert answer.content.startswith(b"%PDF")
    assert paper.file_name in answer.headers["Content-Disposition"]


def test_nothing_of_the_post_room_opens_without_signing_in(client):
    mail = mail_to(A)
    for address in ("/messages/", mail.get_absolute_url(), "/setup/mail/", "/setup/reminders/"):
        assert client.get(address).status_code == 302
    assert client.post(f"/messages/{mail.pk}/approve/").status_code == 302
    assert states() == {A: "draft"}


def test_the_list_opens_on_the_drafts_as_long_as_there_are_any(signed_in):
    first, second = mail_to(A), mail_to(B)
    press(signed_in, do="discard", pk=[first.pk])
    opened = _text(signed_in.get("/messages/"))
    assert B in opened and A not in opened
    assert A in _text(signed_in.get("/messages/?state="))
    press(signed_in, do="discard", pk=[second.pk])
    assert A in _text(signed_in.get("/messages/"))

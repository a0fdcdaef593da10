"""The post room in a real browser: read a draft, approve it, watch it leave, change a wording with
its preview.
"""

from __future__ import annotations

import io

import pypdf
import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect

from rentals.actions.send import send_due_mails
from rentals.models import MailWording, Message, MessageBatch
from tests.browser_driver import faults
from tests.factories import packed_loan
from tests.rentals.letters import mail_to, states

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
A, B = "ada@strings.example", "ben@strings.example"


def test_a_packing_list_is_read_approved_and_arrives(browser_page: Page, smtp_server) -> None:
    page, loan = browser_page, packed_loan()
    page.goto(f"/pack/{loan.kit.code}/")
    page.locator(f'a[href="{Message.objects.get().get_absolute_url()}"]').click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("what is in the parcel")
    assert faults(page) == []
    page.get_by_role("button", name="Approve and send").click()
    expect(page.locator(".page-title")).to_contain_text("sent")
    expect(page.get_by_text("Sent: the mail server took it.")).to_be_visible()
    assert faults(page) == []
    (received,) = smtp_server.received
    (pdf,) = [part.get_content() for part in received.message.iter_attachments()]
    assert loan.enrolment.student.name in pypdf.PdfReader(io.BytesIO(pdf)).pages[0].extract_text()


def test_the_page_follows_a_mail_that_a_worker_sends(browser_page: Page, smtp_server) -> None:
    page, mail = browser_page, mail_to(A)
    Message.objects.update(state="approved")
    page.goto(mail.get_absolute_url())
    expect(page.get_by_text("this page follows by itself")).to_be_visible()
    send_due_mails()
    expect(page.get_by_text("Sent: the mail server took it.")).to_be_visible()
    expect(page.locator(".page-title")).to_contain_text("sent")


def test_the_bar_follows_while_a_worker_sends(browser_page: Page, smtp_server) -> None:
    page = browser_page
    smtp_server.refuse[B] = "451 later"
    batch = MessageBatch.objects.create(at=timezone.now())
    for address in (A, B):
        mail_to(address, batch=batch)
    Message.objects.update(state="approved")
    page.goto(batch.get_absolute_url())
    expect(page.get_by_role("progressbar")).to_have_attribute("value", "0")
    assert faults(page) == []
    send_due_mails()
    expect(page.get_by_role("progressbar")).to_have_attribute("value", "2")
    expect(page.get_by_text("Wait for their next try")).to_be_visible()
    expect(page.get_by_text("Next try at")).to_be_visible()
    assert faults(page) == []


def test_all_drafts_go_with_a_bar_and_the_bad_one_is_named(phone_page: Page, smtp_server) -> None:
    page = phone_page
    smtp_server.refuse[B] = "550 no such box"
    for address in (A, B, "jörg@strings.example"):
        mail_to(address)
    page.goto("/messages/?state=draft")
    assert faults(page) == []
    page.get_by_role("button", name="Approve all 3 drafts").click()
    expect(page.locator(".effects")).to_contain_text("jörg@strings.example")
    assert set(states().values()) == {"draft"}
    assert faults(page) == []
    page.get_by_role("button", name="Approve 3 drafts").click()
    expect(page.get_by_role("progressbar")).to_have_attribute("value", "2")
    expect(page.get_by_text("Stays a draft")).to_contain_text("before the @")
    expect(page.get_by_text("550 no such box")).to_be_visible()
    assert faults(page) == []
    page.get_by_role("link", name="Open").click()
    expect(page.locator(".page-action").get_by_role("link")).to_have_text("Send again")
    assert faults(page) == []


def test_the_button_counts_what_the_filter_shows(browser_page: Page, smtp_server) -> None:
    page = browser_page
    mail_to(A, subject="Kit one"), mail_to(B, subject="Kit two")
    page.goto("/messages/")
    page.get_by_label("Kit, student, address or run").fill("two")
    button = page.get_by_role("button", name="Approve the draft")
    expect(button).to_be_visible()
    button.click()
    page.get_by_role("button", name="Approve 1 draft").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Mails approved")
    assert dict(Message.objects.values_list("to_address", "state")) == {A: "draft", B: "sent"}
    page.goto("/messages/")
    page.get_by_label("Kit, student, address or run").fill("nothing like it")
    expect(page.get_by_text("No messages here")).to_be_visible()
    expect(page.locator(".page-action button")).to_have_count(0)


def test_a_wording_is_seen_while_it_is_typed(browser_page: Page) -> None:
    page, loan = browser_page, packed_loan()
    page.goto("/setup/mail/due_soon/")
    assert faults(page) == []
    page.get_by_label("Text").fill("Hello {student}, bring {kit}.")
    preview = page.locator("#preview")
    expect(preview.locator("pre")).to_contain_text(f"Hello {loan.enrolment.student.name}, bring K")
    page.get_by_label("Text").press_sequentially(" {oops}")
    expect(preview).to_contain_text("{oops} stands for nothing here")
    page.get_by_role("button", name="Keep").click()
    expect(page.get_by_role("alert")).to_contain_text("{oops} stands for nothing here")
    assert faults(page) == []
    page.get_by_label("Text").fill("Hello {student}.")
    page.get_by_role("button", name="Keep").click()
    expect(page.get_by_text("own wording", exact=True)).to_be_visible()
    assert MailWording.objects.get().text == "Hello {student}."


@pytest.mark.parametrize(
    "address",
    [
        "/setup/mail/",
        "/setup/reminders/",
        pytest.param("/setup/calendar/", marks=pytest.mark.night),
        pytest.param("/setup/reminders/new/", marks=pytest.mark.night),
    ],
)
def test_setup_of_mail_has_no_fault(browser_page: Page, phone_page: Page, address: str) -> None:
    packed_loan()
    for page in (browser_page, phone_page):
        page.goto(address)
        assert faults(page) == []

"""How few acts a task of the day takes: clicks, scans and words typed are counted in a real
browser, and the table stands at the end of the test run.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Locator, Page, expect

from rentals.actions.dispatch import dispatch
from rentals.models import Loan, Message, Practice
from tests.browser_driver import faults
from tests.factories import (
    CourseRunFactory,
    EnrolmentFactory,
    assigned_loan,
    complete_kit,
    packed_loan,
)
from tests.hour import most
from tests.readiness.rounds import saved_recordings

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


class CountedPage:
    """A page whose user's acts are counted: a click, a scan with its Enter, a field filled in."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.acts = 0

    def click(self, place: Locator) -> None:
        place.click()
        self.acts += 1

    def scan(self, text: str) -> None:
        """A hand scanner types into the box that has the focus and ends with Enter."""
        self.page.keyboard.type(text)
        self.page.keyboard.press("Enter")
        self.acts += 1

    def scan_anywhere(self, text: str) -> None:
        """Scan into the box that every page carries."""
        self.page.locator("#scan-box").focus()
        self.scan(text)

    def choose(self, field: Locator, files: list[Path]) -> None:
        """Files marked together and chosen, or dropped, in one go."""
        field.set_input_files(files)
        self.acts += 1

    def fill(self, field: Locator, words: str) -> None:
        field.fill(words)
        self.acts += 1


@pytest.fixture
def note_acts(record_property) -> Callable[[str, CountedPage, int], Any]:
    """Put a task into the table, and fail where it took more acts than its goal."""

    def note(task: str, counted: CountedPage, goal: int) -> None:
        record_property("acts", (task, counted.acts, goal))
        assert counted.acts <= goal, f"{task}: {counted.acts} acts, the goal is {goal}"

    return note


def pack(counted: CountedPage, loan) -> None:
    page = counted.page
    page.goto("/")
    counted.scan_anywhere(loan.kit.code)
    expect(page.locator("#id_scan")).to_be_focused()
    for part in loan.kit.parts.all():
        counted.scan(part.code)
    expect(page.get_by_text("5 of 8 in the parcel")).to_be_visible()
    counted.click(page.get_by_role("button", name="The counted rest is in"))
    expect(page.locator("#id_tracking_number")).to_be_focused()
    assert faults(page) == []


def test_packing_one_kit(browser_page: Page, smtp_server, note_acts) -> None:
    Practice.objects.create(pk=1, opens_packing_list=True, mails_leave_at_once=True)
    loan, page = assigned_loan(), browser_page
    counted = CountedPage(page)
    pack(counted, loan)
    with page.expect_download() as opened:
        counted.scan("AB 12 34")
    assert opened.value.suggested_filename == f"packing-list-{loan.kit.code}.pdf"
    expect(page.get_by_text("is packed and on its way to")).to_be_visible()
    assert faults(page) == []
    note_acts("pack one kit; papers, mail and dispatch by themselves", counted, 11)
    loan.refresh_from_db()
    assert (loan.stage, loan.tracking_number) == ("away", "AB1234")
    assert Message.objects.get().state == "sent" and len(smtp_server.received) == 1


def test_receiving_one_complete_kit(phone_page: Page, note_acts) -> None:
    loan, page = dispatch(packed_loan().kit), phone_page
    counted = CountedPage(page)
    page.goto("/")
    counted.scan_anywhere(loan.kit.code)
    expect(page.get_by_text("or scan the first part out of it")).to_be_visible()
    assert faults(page) == []
    for part in loan.kit.parts.all():
        expect(page.locator("#part-scan")).to_be_focused()
        counted.scan(part.code)
        expect(page.get_by_text(f"{part.code}: back.")).to_be_visible()
    rest = page.locator("#check-rest")
    expect(rest).to_contain_text("Only counted: 2 × Wrist band, Shipping box.")
    assert faults(page) == []
    counted.click(rest.get_by_label("Clean: 2 × Wrist band"))
    counted.click(rest.get_by_label("On charge: Battery pack"))
    counted.click(rest.get_by_role("button", name="The rest is back: finish the check"))
    expect(page.get_by_text("is checked: complete. It goes to the bench.")).to_be_visible()
    note_acts("receive one complete kit", counted, 9)
    loan.refresh_from_db()
    assert loan.stage == "returned" and not loan.shortfalls.exists()


@pytest.mark.night
def test_packing_one_kit_with_a_mail_that_is_read_first(
    browser_page: Page, smtp_server, note_acts
) -> None:
    loan, page = assigned_loan(), browser_page
    counted = CountedPage(page)
    pack(counted, loan)
    counted.scan("AB 12 34")
    expect(page.get_by_text("is packed and on its way to")).to_be_visible()
    counted.click(page.locator(f'a[href="{Message.objects.get().get_absolute_url()}"]'))
    counted.click(page.locator(".page-action").get_by_role("button", name="Approve and send"))
    expect(page.locator(".page-title")).to_contain_text("sent")
    note_acts("pack one kit; the mail is read and approved", counted, 11)
    assert loan.messages.get().approved_by


def test_benching_one_kit(browser_page: Page, tmp_path, note_acts) -> None:
    kit, page = complete_kit(cleared=False), browser_page
    files = saved_recordings(tmp_path)
    page.clock.install()
    page.goto("/bench/")
    expect(page.get_by_label("The kit at hand")).to_be_focused()
    counted = CountedPage(page)
    counted.scan(kit.parts.get(kind="amplifier").serial)
    expect(page.locator("[data-timer-title]")).to_contain_text("Test 1 of 3")
    counted.click(page.get_by_role("button", name="Start"))
    page.clock.run_for(3 * 13_000 + 2 * 20_000)
    expect(page.locator("[data-timer-words]")).to_have_text("Done")
    counted.choose(page.get_by_label("Capture files"), files)
    counted.click(page.get_by_role("button", name="Send the files"))
    expect(page.get_by_text("First by time.")).to_be_visible()
    assert faults(page) == []
    counted.click(page.get_by_role("button", name="Confirm and score"))
    expect(page.get_by_role("link", name="Next kit")).to_be_visible()
    note_acts("bench one kit, its files named by nothing", counted, 5)
    kit.refresh_from_db()
    assert kit.cleared


def test_mailing_a_whole_run(browser_page: Page, smtp_server, note_acts) -> None:
    run, page = CourseRunFactory(), browser_page
    for _ in range(3):
        enrolment = EnrolmentFactory(run=run)
        dispatch(packed_loan(complete_kit(run.kit_type), enrolment).kit)
    page.goto("/runs/")
    counted = CountedPage(page)
    counted.click(page.get_by_role("link", name=run.name))
    counted.click(page.get_by_role("link", name="Mail the whole run"))
    counted.click(page.get_by_role("link", name="Did it arrive?"))
    expect(page.get_by_text("3 of 3 students ticked")).to_be_visible()
    assert faults(page) == []
    counted.click(page.get_by_role("button", name="Approve and send"))
    expect(page.get_by_role("progressbar")).to_have_attribute("value", "3")
    note_acts("mail a whole run, any occasion", counted, 4)
    assert len(smtp_server.received) == 3


def test_dispatching_a_pile_of_packed_parcels(browser_page: Page, note_acts) -> None:
    run, page, count = CourseRunFactory(), browser_page, most(6, 15)
    kits = [complete_kit(run.kit_type) for _ in range(count)]
    for kit in kits:
        packed_loan(kit, EnrolmentFactory(run=run))
    page.goto("/pack/")
    page.get_by_role("link", name="Dispatch a pile by scanning").click()
    expect(page.locator("#id_scan")).to_be_focused()
    counted = CountedPage(page)
    # The next is scanned before the answer to the last one is there: no scan may be lost.
    for number, kit in enumerate(kits):
        counted.scan(kit.code)
        counted.scan(f"RR 1000 {number:02}")
    expect(page.get_by_text(f"{count} parcels on the way")).to_be_visible()
    expect(page.get_by_text("No packed parcel waits.")).to_be_visible()
    assert faults(page) == []
    note_acts(f"dispatch {count} packed parcels, 2 a parcel", counted, 2 * count)
    numbers = Loan.objects.filter(stage="away").order_by("tracking_number")
    assert [loan.kit_id for loan in numbers] == [kit.pk for kit in kits]
    page.get_by_role("button", name="Undo").click()
    expect(page.get_by_text(f"RR1000{count - 1:02} is taken back")).to_be_visible()
    expect(page.locator("#dispatch-now")).to_contain_text("scan its tracking number")

"""The plan in a browser: bars are links, the run form says its days as they change, and a phone
reads the list.
"""

from datetime import timedelta

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect

from rentals.actions.dispatch import dispatch
from rentals.models import Loan
from tests.browser_driver import PHONE, faults
from tests.factories import EnrolmentFactory, complete_kit, packed_loan

pytestmark = pytest.mark.browser


def test_a_bar_opens_its_loan_and_a_phone_shows_the_list_first(browser_page: Page) -> None:
    page, today = browser_page, timezone.localdate()
    loan = dispatch(packed_loan().kit)
    Loan.objects.filter(pk=loan.pk).update(
        post_by=today - timedelta(days=9), due_on=today - timedelta(days=1)
    )
    complete_kit(loan.kit.kit_type)
    EnrolmentFactory(run=loan.enrolment.run)
    page.goto("/plan/")
    choice = page.get_by_label("Kit type", exact=True)
    expect(choice).to_be_visible()
    drawing = page.get_by_role("region", name="Drawing of the plan")
    expect(drawing.get_by_text("1 day overdue", exact=True)).to_be_visible()
    assert faults(page) == []
    who = loan.enrolment.student.name
    drawing.get_by_role("link", name=f"{who}, with the student").focus()
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_have_text(who)
    page.set_viewport_size(PHONE)
    page.goto("/plan/")
    expect(choice).to_be_hidden()
    page.get_by_text("Narrow the plan").click()
    expect(choice).to_be_visible()
    page.goto("/plan/")
    kits = page.get_by_role("heading", name="Kits", exact=True)
    assert kits.bounding_box()["y"] < drawing.bounding_box()["y"]
    assert drawing.evaluate("box => box.scrollWidth > box.clientWidth")
    page.get_by_text("Why these days").first.click()
    expect(page.get_by_text("the day it was dispatched")).to_be_visible()
    assert faults(page) == []
    page.goto("/runs/new/")
    page.get_by_label("Starts on").fill("2027-03-15")
    page.get_by_label("Starts on").blur()
    proposed = page.locator("#proposed-days")
    expect(proposed).to_contain_text("3 working days before the run starts on Mon 15 Mar 2027")
    expect(proposed).to_contain_text("10 Mar 2027")
    assert faults(page) == []

"""A student goes through the help by symptom on a phone without scripts, with a recording, to a
fault report that the instructor reads.
"""

import pytest
from playwright.sync_api import Page, expect

from rentals.selectors.student_links import token_of_link
from tests.browser_driver import PHONE
from tests.readiness.captures import capture_bytes
from tests.rentals.guide import lent

pytestmark = pytest.mark.browser


def answered(page: Page, title: str, answer: str) -> None:
    expect(page.get_by_role("heading", level=1)).to_have_text(title)
    page.get_by_role("button", name=answer, exact=True).click()


@pytest.mark.usefixtures("clean_cache")
def test_a_symptom_without_scripts_from_the_first_step_to_the_report(open_page, signed_in) -> None:
    loan = lent()
    token = token_of_link(loan.student_links.get(revoked_at=None))
    page: Page = open_page(None, PHONE, java_script_enabled=False)
    page.goto(f"/my-kit/{token}/help/")
    page.get_by_role("button", name="It works on one wrist only").click()
    answered(page, "Press the plugs in", "No, it is as before")
    answered(page, "Compare the sockets", "I could not do this")
    answered(page, "Swap the wrists", "Yes")
    answered(page, "Look along the leads", "No")
    page.get_by_role("link", name="Send the recording").click()
    file = {"name": "mine.csv", "mimeType": "text/csv", "buffer": capture_bytes("worn")}
    page.get_by_label("The file of your recording").set_input_files(file)
    page.get_by_role("button", name="Send it").click()
    expect(page.get_by_text("Both leads answer")).to_be_visible()
    page.get_by_role("link", name="Back to the steps").click()
    page.reload()
    answered(page, "Send ten seconds of your trace", "No, it is as before")
    page.get_by_role("link", name="Tell your instructor").click()
    page.get_by_label("Anything else?").fill("The left one.")
    page.get_by_role("button", name="Send the report").click()
    expect(page.get_by_text("Your instructor has your report since")).to_be_visible()
    desk: Page = open_page(signed_in)
    desk.goto("/")
    desk.get_by_role("link", name="Read the report").first.click()
    expect(desk.get_by_text("The left one.")).to_be_visible()
    expect(desk.get_by_role("heading", name="mine.csv")).to_be_visible()
    expect(desk.get_by_role("cell", name="No plug was half out.")).to_be_visible()

"""Reports in the browser: on a phone, on paper, and narrowed by their filter without a script."""

import io

import pypdf
import pytest
from playwright.sync_api import expect

from tests.browser_driver import PHONE, faults
from tests.readiness.selectors.measured import measured
from tests.rentals.selectors.reports.ended import POSTED, ended_loan

pytestmark = pytest.mark.browser
PAGES = ("", "losses/", "use-by-student/", "costs-by-loan/", "fleet/", "caught/")


def test_reports_fit_a_phone_and_paper_and_need_no_script(open_page, signed_in) -> None:
    loan = ended_loan("lead_set", days=10)
    measured(loan.kit, POSTED.replace(day=14), "excess_noise", noise_uv=4.0)
    page = open_page(signed_in, size=PHONE, java_script_enabled=False)
    for name in PAGES:
        page.goto(f"/reports/{name}")
        assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"], name
    page.get_by_label("From").fill("2026-03-13")
    page.get_by_role("button", name="Show").click()
    expect(page.get_by_text("Nothing in these days yet")).to_be_visible()
    expect(page.get_by_label("From")).to_have_value("2026-03-13")
    page.goto("/reports/losses/")
    sheet = "".join(one.extract_text() for one in pypdf.PdfReader(io.BytesIO(page.pdf())).pages)
    assert "1 of 1 loan came back short" in " ".join(sheet.split())
    assert "What is counted" in sheet
    assert "Show" not in sheet
    page = open_page(signed_in)
    for name in ("losses/", "fleet/"):
        page.goto(f"/reports/{name}")
        assert faults(page) == [], name

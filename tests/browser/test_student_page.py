"""The student's page on a phone, with and without JavaScript, from the link in the mail to the
parcel on its way back.
"""

from __future__ import annotations

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from rentals.actions.setup import save_practice
from rentals.models import Loan, Practice
from rentals.selectors.student_links import token_of_link
from tests.browser_driver import PHONE, faults
from tests.rentals.arrivals import loan_away

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
PLACE = {"street": "Hauptplatz 1", "city": "Linz", "postcode": "4020", "country": "AT"}


def goes_through(page: Page, loan: Loan, language: str, *, scripts: bool) -> None:
    """Every page in a language: read, the arrival check sent, the kit posted. Where scripts run,
    each page is looked at for faults as well.
    """
    token = token_of_link(loan.student_links.get())
    page.goto(reverse("rentals:my_kit", args=[token]))
    expect(page.locator("html")).to_have_attribute("lang", language)
    charger = loan.packing_lines.get(part_kind="charger")
    page.locator(".next-step a").click()
    page.locator(f'input[name="line{charger.pk}-outcome"][value="missing"]').check()
    page.locator(f'input[name="line{charger.pk}-note"]').fill("Ø")
    assert not scripts or faults(page) == []
    page.locator('button[name="all_here"]').click()
    expect(page.locator(".next-step")).to_be_visible()
    for route in ("my_kit_use", "my_kit_sheet", "my_kit_return"):
        page.goto(reverse(f"rentals:{route}", args=[token]))
        expect(page.locator("h1")).to_be_visible()
        assert not scripts or faults(page) == []
    page.locator('input[name="tracking_number"]').fill("RR 123 AT")
    page.locator('button[type="submit"]').click()
    expect(page.locator(".lede")).to_contain_text("RR123AT")
    loan.refresh_from_db()
    assert loan.on_its_way_back
    assert loan.arrival_check.lines.get(missing=1).packing_line == charger


@pytest.mark.parametrize(
    ("language", "scripts"),
    [
        ("en-gb", False),
        ("de", True),
        # The words of all languages are held by tests of their own.
        pytest.param("fr", False, marks=pytest.mark.night),
        pytest.param("es", True, marks=pytest.mark.night),
    ],
)
def test_a_student_goes_all_the_way_on_a_phone(open_page, language: str, scripts: bool) -> None:
    save_practice(Practice(name="Ease", site_url="https://desk.example", **PLACE))
    loan = loan_away()
    student = loan.enrolment.student
    student.language = "en" if language == "en-gb" else language
    student.save()
    page = open_page(size=PHONE, java_script_enabled=scripts)
    goes_through(page, loan, language, scripts=scripts)

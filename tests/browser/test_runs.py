"""A roster file in a real browser: preview, corrections, import, assignment."""

import pytest
from playwright.sync_api import Page, expect

from rentals.models import Enrolment, Loan, RosterDraft, Student
from tests.browser_driver import faults
from tests.factories import CourseRunFactory, complete_kit

pytestmark = pytest.mark.browser

ROSTER = (
    "Vorname;Nachname;E-Mail;Straße;PLZ;Ort;Land\n"
    "Ada;Größe;ada@x.example;Bogenweg 1;01067;Rosinburg;Deutschland\n"
    "Bea;Test;not an address;Bogenweg 2;01067;Rosinburg;Deutschland\n"
    "Cai;Test;cai@x.example;Bogenweg 3;1067;Rosinburg;Narnia\n"
    "Ada;Twin;ADA@x.example;;;;\n"
).encode("utf-16")


def imported_roster(page: Page, run) -> None:
    page.goto(run.get_absolute_url())
    page.locator(".page-action").get_by_role("link", name="Import the roster").click()
    page.get_by_label("Roster file").set_input_files(
        {"name": "herbst.csv", "mimeType": "text/csv", "buffer": ROSTER}
    )
    page.get_by_role("button", name="Look at it").click()
    expect(page.get_by_text("3 rows stand in the way")).to_be_visible()
    expect(page.get_by_text("Cell C3: “not an address” is not an e-mail address")).to_be_visible()
    assert faults(page) == []
    page.locator("#id_row_3_email").fill("bea@x.example")
    page.locator("#id_row_4_country").fill("DE")
    page.get_by_label("Leave row 5 out").check()
    page.locator(".page-action").get_by_role("button", name="Save corrections").click()
    expect(page.get_by_text("3 students to enrol, 3 of them new; 1 left out.")).to_be_visible()
    expect(page.get_by_text("A spreadsheet may have dropped a leading zero.")).to_be_visible()
    assert faults(page) == []


@pytest.mark.parametrize(
    "size", [pytest.param("browser_page", marks=pytest.mark.night), "phone_page"]
)
def test_a_roster_becomes_students_with_kits(request: pytest.FixtureRequest, size: str) -> None:
    page: Page = request.getfixturevalue(size)
    run = CourseRunFactory()
    for _ in range(3):
        complete_kit(run.kit_type)
    imported_roster(page, run)
    page.get_by_role("button", name="Import 3 students").click()
    expect(page.get_by_text("3 enrolled, 3 of them new")).to_be_visible()
    assert Student.objects.get(email="ada@x.example").name == "Ada Größe"
    assert faults(page) == []
    page.locator(".page-action").get_by_role("link", name="Assign kits").click()
    expect(page.get_by_label("Ada Größe")).not_to_have_value("")
    assert faults(page) == []
    page.get_by_role("button", name="Assign 3 kits").click()
    expect(page.locator(".page-action").get_by_role("link", name="Pack")).to_be_visible()
    assert Loan.objects.filter(enrolment__run=run, stage="assigned").count() == 3


def test_what_was_typed_into_the_preview_outlives_a_reload(browser_page: Page) -> None:
    run = CourseRunFactory()
    page = browser_page
    page.goto(f"{run.get_absolute_url()}import/")
    page.get_by_label("Roster file").set_input_files(
        {"name": "herbst.csv", "mimeType": "text/csv", "buffer": ROSTER}
    )
    page.get_by_role("button", name="Look at it").click()
    page.locator("#id_row_3_email").fill("bea@x.exam")
    page.reload()
    expect(page.locator("#id_row_3_email")).to_have_value("bea@x.exam")
    assert RosterDraft.objects.count() == 1 and not Enrolment.objects.exists()

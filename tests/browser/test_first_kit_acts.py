"""From an empty desk to the first kit packed: every field, press and scan is counted, from the
owner's first sign-in to the closed parcel.
"""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.contrib.auth.models import User
from playwright.sync_api import Page, expect

from rentals.models import Kit, Loan
from tests.browser.test_acts import CountedPage, note_acts  # noqa: F401
from tests.browser_driver import faults
from tests.conftest import OWNER_NAME, OWNER_PASSWORD
from tests.readiness.captures import capture_bytes

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

KINDS = ("Amplifier", "Licence key", "Lead set", "Battery pack", "Charger")
FLEET = "\n".join(
    ["Kit\tKind\tSerial", *(f"{kit}\t{kind}\t{kind[:2]}-{kit}" for kit in "123" for kind in KINDS)]
)
ROSTER = "Name\tE-mail\nAda Test\tada@strings.example"


def action(page: Page, words: str):
    """The page's one next action."""
    return page.locator(".page-action, .form-foot").get_by_text(words, exact=True)


def sign_in(counted: CountedPage) -> None:
    page = counted.page
    page.goto("/")
    counted.fill(page.locator("#id_login"), OWNER_NAME)
    counted.fill(page.locator("#id_password"), OWNER_PASSWORD)
    counted.click(page.locator("main form button.act"))
    expect(page.get_by_text("This desk is empty")).to_be_visible()
    assert faults(page) == []


def make_kit_type(counted: CountedPage) -> None:
    """The ready one, with the electrodes that are here."""
    page = counted.page
    counted.click(action(page, "Start from a ready kit type"))
    counted.fill(page.locator("#id_gel_here"), "600")
    counted.fill(page.locator("#id_gel_batch"), "GE-1")
    in_a_year = date.today() + timedelta(days=365)
    counted.fill(page.locator("#id_gel_expires"), in_a_year.isoformat())
    assert faults(page) == []
    counted.click(action(page, "Make this kit type"))
    counted.click(action(page, "Add its kits and parts"))


def enter_fleet(counted: CountedPage) -> None:
    page = counted.page
    counted.fill(page.locator("#id_table"), FLEET)
    counted.click(action(page, "Look at it"))
    expect(page.get_by_text("3 new kits, 15 new parts.")).to_be_visible()
    assert faults(page) == [] and not Kit.objects.exists()
    counted.click(action(page, "Register 3 kits and 15 parts"))
    expect(page.get_by_text("15 new parts are registered, 15 fitted")).to_be_visible()


def plan_run(counted: CountedPage) -> None:
    """A run with its four days, and its pasted roster."""
    page, starts = counted.page, date.today() + timedelta(days=14)
    counted.click(page.locator(".nav").get_by_role("link", name="Runs"))
    counted.click(action(page, "Plan a run"))
    counted.fill(page.get_by_label("Name", exact=True), "Ease at the Instrument")
    for label, days in (
        ("Starts on", 0),
        ("Ends on", 70),
        ("Parcels posted by", -7),
        ("Kits due back by", 77),
    ):
        counted.fill(page.get_by_label(label), (starts + timedelta(days=days)).isoformat())
    counted.click(action(page, "Save the run"))
    counted.click(action(page, "Import the roster"))
    counted.fill(page.locator("#id_table"), ROSTER)
    counted.click(action(page, "Look at it"))
    expect(page.get_by_text("1 student to enrol, 1 of them new")).to_be_visible()
    counted.click(action(page, "Import 1 student"))
    expect(page.get_by_text("1 enrolled")).to_be_visible()


def bench(counted: CountedPage, kit: Kit) -> None:
    """The gate lets out no kit that has not passed: one kit's captures, dropped together."""
    page = counted.page
    counted.click(page.locator(".nav").get_by_role("link", name="Bench"))
    page.get_by_label("Capture files").set_input_files(
        [
            {
                "name": f"{test}.csv",
                "mimeType": "text/csv",
                "buffer": capture_bytes(test, kit=kit.code),
            }
            for test in ("still", "flex", "lift", "ground")
        ]
    )
    counted.acts += 1
    counted.click(page.get_by_role("button", name="Score"))
    expect(page.get_by_text("All 4 files scored")).to_be_visible()


def assign(counted: CountedPage) -> None:
    page = counted.page
    counted.click(page.locator(".nav").get_by_role("link", name="Today"))
    counted.click(page.get_by_role("link", name="Assign").first)
    counted.click(page.locator(".page-action").get_by_role("button"))
    expect(page.get_by_text("1 kit assigned.")).to_be_visible()


def pack(counted: CountedPage, kit: Kit) -> None:
    """By the serials that the makers have printed: no label is needed for the first parcel."""
    page = counted.page
    counted.scan_anywhere(kit.code)
    expect(page.locator("#id_scan")).to_be_focused()
    for kind in KINDS:
        counted.scan(f"{kind[:2]}-1")
    expect(page.get_by_text("5 of 14 in the parcel")).to_be_visible()
    counted.click(page.get_by_role("button", name="The counted rest is in"))
    expect(page.locator("#id_tracking_number")).to_be_focused()
    counted.scan("AB 12 34")
    expect(page.get_by_text("is packed and on its way to")).to_be_visible()


def test_from_an_empty_desk_to_the_first_kit_packed(
    open_page,
    owner: User,
    clean_cache: None,
    note_acts,  # noqa: F811
) -> None:
    counted = CountedPage(open_page())
    sign_in(counted)
    make_kit_type(counted)
    enter_fleet(counted)
    plan_run(counted)
    kit = Kit.objects.get(note="1")
    bench(counted, kit)
    assign(counted)
    pack(counted, kit)
    note_acts("empty desk to first kit packed", counted, 40)
    loan = Loan.objects.get()
    assert (loan.kit, loan.stage, loan.override_reason) == (kit, "away", "")
    assert loan.packing_lines.filter(part_kind="electrodes", single_use=True).exists()

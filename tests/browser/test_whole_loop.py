"""The whole loop as the instructor walks it, in Chromium: out, back, checked, benched, refused,
mended, out again.
"""

from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from playwright.sync_api import Page, expect

from rentals.codes import grouped
from rentals.models import Enrolment, Kit, Loan, Shortfall
from tests.browser_driver import faults
from tests.factories import spare
from tests.flows.desk import ROSTER, attached_text, captures, house

pytestmark = pytest.mark.browser


def action(page: Page):
    """The page's one next action."""
    return page.locator(".page-action")


def scan_anywhere(page: Page, code: str) -> None:
    page.keyboard.press("Escape")
    page.locator("#scan-box").fill(code)
    page.locator("#scan-box").press("Enter")


def import_roster(page: Page, run) -> None:
    page.goto(f"{run.get_absolute_url()}import/")
    page.get_by_label("Roster file").set_input_files(
        {"name": "roster.csv", "mimeType": "text/csv", "buffer": ROSTER}
    )
    page.get_by_role("button", name="Look at it").click()
    expect(page.get_by_text("“not an address” is not an e-mail address")).to_be_visible()
    assert not Enrolment.objects.exists()
    page.get_by_role("button", name="Leave out this row").click()
    action(page).get_by_role("button", name="Import 1 student").click()
    expect(page.get_by_text("1 enrolled")).to_be_visible()


def assign(page: Page, run, student: str, kit: Kit) -> None:
    page.goto(f"{run.get_absolute_url()}assign/")
    page.get_by_label(student).fill(kit.code)
    action(page).get_by_role("button").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text(run.name)


def scan_in(page: Page, code: str) -> None:
    page.locator("#id_scan").fill(code)
    page.locator("#id_scan").press("Enter")


def pack(page: Page, kit: Kit, stranger) -> None:
    scan_anywhere(page, kit.code)
    expect(page.get_by_role("heading", level=1)).to_contain_text("Pack")
    scan_in(page, stranger.code)
    expect(page.get_by_role("alert")).to_contain_text(f"belongs to kit {stranger.kit.code}")
    for part in kit.parts.all():
        scan_in(page, part.code.lower())
        expect(page.locator("#scan-said")).to_contain_text(f"{part.code} ticked")
    for name in ("Gel electrodes", "Wrist band", "Shipping box"):
        page.locator(".checklist button", has_text=name).click()
    expect(page.get_by_text("All in the parcel")).to_be_visible()
    action(page).get_by_role("button", name="Pack").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Dispatch")


def mail_and_dispatch(page: Page, smtp_server) -> str:
    page.locator("li", has_text="Mail to").get_by_role("link").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("what is in the parcel")
    assert faults(page) == []
    action(page).get_by_role("button").first.click()
    expect(page.get_by_text("sent", exact=True).first).to_be_visible()
    page.go_back()
    page.locator("#id_tracking_number").fill("RR 42")
    action(page).get_by_role("button", name="Dispatch").click()
    expect(page.get_by_text("is on its way")).to_be_visible()
    (arrived,) = smtp_server.received
    return attached_text(arrived)


@contextmanager
def kept(page: Page) -> Iterator[None]:
    """A press at the return check: done once the answer has taken the row's place, not when it has
    only arrived.
    """
    with page.expect_response(lambda answer: "/lines/" in answer.url):
        yield
    expect(page.locator("[aria-busy]")).to_have_count(0)


def receive(page: Page, kit: Kit) -> None:
    scan_anywhere(page, kit.code)
    action(page).get_by_role("button", name="The parcel is here").click()
    expect(page.get_by_text("Look at every line")).to_be_visible()
    check = Loan.objects.get(kit=kit, stage="check").return_check
    for line in check.lines.select_related("packing_line").filter(packing_line__comes_back=True):
        kind = line.packing_line.part_kind
        outcome = {"licence_key": "missing", "lead_set": "damaged"}.get(kind, "back")
        # Each press is kept at once and the row answers: wait for the answer before the next.
        with kept(page):
            page.locator(f"#line-{line.pk} .choice-option", has_text=outcome).click()
        for box in ("Cleaned", "On charge"):
            tick = page.locator(f"#line-{line.pk}").get_by_label(box)
            if tick.count():
                with kept(page):
                    tick.check()
        if kind == "lead_set":
            with kept(page):
                page.locator(f"#line-{line.pk}").get_by_label("Which lead").select_option("B")
    assert faults(page) == []
    page.get_by_role("button", name="Finish the check").first.click()
    expect(page.get_by_role("heading", name="Shortfalls")).to_be_visible()


def drop(page: Page, files: list[tuple[str, bytes]]) -> None:
    page.goto("/bench/")
    page.get_by_label("Capture files").set_input_files(
        [
            {"name": name, "mimeType": "application/octet-stream", "buffer": data}
            for name, data in files
        ]
    )
    page.get_by_role("button", name="Score").click()
    expect(page.get_by_text("All 3 files scored")).to_be_visible()


def test_the_whole_loop(browser_page: Page, smtp_server) -> None:
    page = browser_page
    run, next_run, kit, other = house()
    import_roster(page, run)
    assign(page, run, "Zoë Álvarez-Ruíz", kit)
    pack(page, kit, other.parts.get(kind="charger"))
    printed = mail_and_dispatch(page, smtp_server)
    assert "Zoë Álvarez-Ruíz" in printed
    assert kit.parts.get(kind="lead_set").serial in printed

    receive(page, kit)
    assert set(Shortfall.objects.values_list("packing_line__part_kind", "kind", "detail")) == {
        ("licence_key", "missing", ""),
        ("lead_set", "damaged", "lead B"),
    }
    drop(page, captures(kit, seed=1, broken=True))
    expect(page.locator("tbody tr").first).to_contain_text("Lead B opens when flexed")

    page.goto(f"/runs/{next_run.pk}/enrol/")
    page.get_by_label("Name", exact=True).fill("Ben Quint")
    page.get_by_label("E-mail").fill("ben@strings.example")
    page.locator(".form-foot button, .page-action button").first.click()
    expect(page.get_by_role("heading", level=1)).to_contain_text(next_run.name)
    assign(page, next_run, "Ben Quint", kit)
    scan_anywhere(page, kit.code)
    expect(page.get_by_role("heading", name="This kit may not go out yet")).to_be_visible()
    expect(page.locator("#gate")).to_contain_text("Intermittent lead B")
    expect(action(page).get_by_role("button", name="Pack")).to_have_count(0)

    new_leads, new_key = spare("lead_set"), spare("licence_key")
    page.goto(kit.get_absolute_url())
    page.get_by_role("link", name="Swap Lead set").click()
    page.get_by_label(f"{grouped(new_leads.code)} Lead set").check()
    page.get_by_label("The old part goes to").select_option("retired")
    page.get_by_label("Why").fill("kinked by lead B")
    page.get_by_role("button", name="Swap", exact=True).click()
    page.get_by_role("link", name="Fit Licence key").click()
    page.get_by_label(f"{grouped(new_key.code)} Licence key").check()
    page.get_by_role("button", name="Fit", exact=True).click()
    expect(page.get_by_role("link", name="Swap Licence key")).to_be_visible()
    drop(page, captures(kit, seed=2, broken=False))
    kit.refresh_from_db()
    assert (kit.state, kit.cleared) == ("assigned", True)
    pack(page, kit, other.parts.get(kind="charger"))
    assert Loan.objects.get(kit=kit, enrolment__run=next_run).stage == "packed"

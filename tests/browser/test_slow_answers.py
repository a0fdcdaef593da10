"""What a page does while an answer is under way: it says so, and touches nothing that is being
typed or focused; and how it looks to a finger and in forced colours.
"""

import io

import pytest
from django.core.files.storage import default_storage
from PIL import Image
from playwright.sync_api import Page, Route, expect

from rentals.models import ReturnLine
from tests.factories import assigned_loan

from .test_lost_connection import checked_loan, row

pytestmark = pytest.mark.browser


class HeldAnswers:
    """Requests that wait until the test lets them through."""

    def __init__(self, page: Page, address: str) -> None:
        self.routes: list[Route] | None = []
        page.route(address, self._meet)

    def _meet(self, route: Route) -> None:
        if self.routes is None:
            route.continue_()
        else:
            self.routes.append(route)

    def let_through(self) -> None:
        """Answer what waits, and hold nothing any more."""
        held, self.routes = self.routes or [], None
        for route in held:
            route.continue_()


def test_letters_typed_during_a_slow_answer_are_all_there(browser_page: Page) -> None:
    page, loan = browser_page, checked_loan()
    page.goto(f"/receive/{loan.kit.code}/")
    leads = row(page, "Lead set")
    note = leads.get_by_label("What is wrong")
    leads.locator("summary").click()
    held = HeldAnswers(page, "**/lines/**")
    leads.locator(".choice-option", has_text="damaged").click()
    # The row shows at once that it is at work.
    expect(leads).to_have_attribute("aria-busy", "true")
    note.focus()
    page.keyboard.type("Cable fr")
    held.let_through()
    expect(leads).not_to_have_attribute("aria-busy", "true")
    expect(page.get_by_text("1 of 7 looked at")).to_be_visible()
    expect(note).to_be_focused()
    page.keyboard.type("ayed")
    expect(note).to_have_value("Cable frayed")
    # Still on its way with the first letters: what was typed and left is newer than that answer.
    held = HeldAnswers(page, "**/lines/**")
    page.keyboard.press("Tab")
    photo = io.BytesIO()
    Image.new("RGB", (40, 30), "tan").save(photo, "JPEG")
    picked = {"name": "plug.jpg", "mimeType": "image/jpeg", "buffer": photo.getvalue()}
    leads.get_by_label("Photo").set_input_files(picked)
    note.fill("Cable frayed at the plug")
    page.keyboard.press("Tab")
    held.let_through()
    expect(page.locator("[aria-busy]")).to_have_count(0)
    expect(note).to_have_value("Cable frayed at the plug")
    line = ReturnLine.objects.get(check_of__loan=loan, packing_line__part_kind="lead_set")
    assert (line.outcome, line.note) == ("damaged", "Cable frayed at the plug")
    # The photo was still on its way when the note followed: it is sent and stored once.
    assert leads.get_by_label("Photo").input_value() == ""
    assert [f"damage/{name}" for name in default_storage.listdir("damage")[1]] == [
        line.packing_line.photos.get().file.name
    ]


def test_the_keyboard_keeps_its_place_and_is_marked(browser_page: Page) -> None:
    page, loan = browser_page, checked_loan()
    page.goto(f"/receive/{loan.kit.code}/")
    key = row(page, "Licence key")
    key.get_by_role("radio", name="back").focus()
    page.keyboard.press("ArrowRight")
    expect(page.get_by_text("1 of 7 looked at")).to_be_visible()
    missing = key.get_by_role("radio", name="missing")
    expect(missing).to_be_checked()
    expect(missing).to_be_focused()
    marked = key.locator(".choice-option", has_text="missing")
    assert marked.evaluate("option => getComputedStyle(option).outlineStyle") == "solid"
    assert key.evaluate("row => getComputedStyle(row).outlineStyle") == "none"
    # The chosen one is told from the others by the shape of its dot, not by an ink.
    dots = key.get_by_role("radio").evaluate_all(
        "all => all.map(one => [one.checked, getComputedStyle(one).borderTopWidth])"
    )
    assert dots == [[False, "2px"], [True, "7px"], [False, "2px"]]


def test_a_pressed_button_shows_that_it_works(phone_page: Page) -> None:
    page, loan = phone_page, assigned_loan()
    page.goto(f"/pack/{loan.kit.code}/")
    tick = page.locator(".checklist button", has_text="Licence key")
    held = HeldAnswers(page, "**/tick/")
    tick.tap()
    expect(tick).to_have_attribute("aria-busy", "true")
    pack = page.locator(".page-action").get_by_role("button")
    pack.tap()
    # Waits its turn behind the tick, in the page's action and in the form alike.
    expect(pack).to_have_text("Packing …")
    for button in (pack, page.locator("#close-form button")):
        expect(button).to_have_attribute("aria-busy", "true")
        assert button.evaluate("button => getComputedStyle(button).outlineStyle") == "dashed"
    held.let_through()
    expect(page.get_by_role("alert")).to_contain_text("7 not ticked yet")
    expect(page.locator("[aria-busy]")).to_have_count(0)
    assert tick.get_attribute("aria-pressed") == "true"


def test_a_finger_leaves_no_hover_and_forced_colours_keep_the_marks(phone_page: Page) -> None:
    page, loan = phone_page, assigned_loan()
    page.goto(f"/pack/{loan.kit.code}/")
    tick = page.locator(".checklist button", has_text="Licence key")
    tick.tap()
    expect(tick).to_have_attribute("aria-pressed", "true")
    ground = "row => getComputedStyle(row).backgroundColor"
    assert tick.evaluate(ground) == "rgba(0, 0, 0, 0)"
    page.emulate_media(forced_colors="active")
    current = page.locator(".nav a[aria-current]")
    edge = "link => getComputedStyle(link).borderBottomWidth"
    assert current.evaluate(edge) == "3px"
    done = Image.open(io.BytesIO(page.locator("progress").screenshot(caret="initial"))).convert(
        "RGB"
    )
    middle = done.height // 2
    assert done.getpixel((4, middle)) != done.getpixel((done.width - 4, middle))

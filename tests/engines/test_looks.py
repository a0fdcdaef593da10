"""What one engine once drew otherwise than the others."""

from __future__ import annotations

import io

import pytest
from PIL import Image, ImageChops

from rentals.actions.dispatch import dispatch
from rentals.actions.receive import arrive
from tests.browser.test_layout import BESIDE_OR_BELOW
from tests.conftest import OWNER_NAME, OWNER_PASSWORD
from tests.engines.window import LAPTOP, PHONE, Window
from tests.factories import assigned_loan, packed_loan

pytestmark = [
    pytest.mark.engines,
    pytest.mark.django_db(transaction=True),
    pytest.mark.usefixtures("owner", "clean_cache"),
]

IN_LINE = """return [...document.querySelectorAll(".choice")].every((line) => {
  const [what, options] = [...line.children].map((part) => part.getBoundingClientRect());
  return what.right <= options.left && options.top < what.bottom && what.top < options.bottom;
})"""
BARE_LISTS = """return [...document.querySelectorAll("ul, ol")]
  .filter((list) => getComputedStyle(list).listStyleType === "none")
  .filter((list) => list.getAttribute("role") !== "list")
  .map((list) => list.className)"""
STAYING = """return [".nav", ".page-action", ".count-stays"]
  .filter((bar) => ["fixed", "sticky"].includes(
    getComputedStyle(document.querySelector(bar)).position))"""


def drawn(window: Window) -> Image.Image:
    return Image.open(io.BytesIO(window.picture())).convert("RGB")


def ring(window: Window, value: str) -> float:
    """How thick the ring of the first radio button of a value is, in CSS pixels."""
    return window.run(
        f"return parseFloat(getComputedStyle(document.querySelector('[value={value}]'))"
        ".borderTopWidth)"
    )


def test_lines_of_receive(engine: str, open_window) -> None:
    loan = arrive(dispatch(packed_loan().kit).kit).loan
    window = open_window(engine, LAPTOP)
    window.sign_in(OWNER_NAME, OWNER_PASSWORD)
    window.open(f"/receive/{loan.kit.code}/")
    assert window.run(IN_LINE)
    window.press(".choice-option", "back")
    window.settled()
    assert ring(window, "back") > 2 * ring(window, "missing")
    assert window.run(BARE_LISTS) == []


def test_a_phone(engine: str, open_window) -> None:
    loan = assigned_loan()
    window = open_window(engine, PHONE)
    window.sign_in(OWNER_NAME, OWNER_PASSWORD)
    window.open("/runs/")
    before = drawn(window)
    window.press(".nav-more summary")
    window.sees("Setup")
    assert ImageChops.difference(before, drawn(window)).getbbox()
    window.press("h1")
    window.wait_for(lambda: not window.run("return !!document.querySelector('.nav-more [open]')"))
    nav = window.run("return document.querySelector('.nav').getBoundingClientRect().top")
    window.wait_for(
        lambda: not ImageChops.difference(before, drawn(window)).crop((0, 120, 390, nav)).getbbox()
    )
    run, kit = loan.enrolment.run, loan.kit
    addresses = ("/", "/kits/", run.get_absolute_url(), kit.get_absolute_url())
    for address in (*addresses, f"/pack/{kit.code}/"):
        window.open(address)
        window.run("document.documentElement.style.fontSize = '200%'")
        assert window.run("return document.documentElement.scrollWidth") <= PHONE[0], address
        assert window.run(f"return ({BESIDE_OR_BELOW})()"), address
    window.open(f"/pack/{kit.code}/")
    assert ".nav" in window.run(STAYING)
    window.resize((640, 400))
    window.wait_for(lambda: window.run(STAYING) == [])


@pytest.mark.parametrize("engine", ["firefox"], indirect=True)
def test_touch_and_forced_colours(engine: str, open_window) -> None:
    loan = assigned_loan()
    # 1: a finger, that cannot hover; 2: the system's colours for every page.
    chosen = {"ui.primaryPointerCapabilities": 1, "browser.display.document_color_use": 2}
    window = open_window(engine, PHONE, **chosen)
    window.sign_in(OWNER_NAME, OWNER_PASSWORD)
    window.open(f"/pack/{loan.kit.code}/")
    assert window.run("return matchMedia('(forced-colors: active) and (hover: none)').matches")
    row = ".checklist button.checklist-what"
    for done in ("1 of 8", "0 of 8"):
        window.press(row)
        window.sees(done)
        window.settled()
    pressed, untouched = window.run(
        f"return [...document.querySelectorAll('{row}')].slice(0, 2)"
        ".map((row) => getComputedStyle(row).backgroundColor)"
    )
    assert pressed == untouched
    current = "getComputedStyle(document.querySelector('.nav [aria-current]'))"
    assert window.run(f"return {current}.borderBottomWidth") == "3px"
    window.press(row)
    window.sees("1 of 8")
    window.settled()
    left, right = (
        drawn(window).getpixel((round(x), round(y)))
        for x, y in window.run(
            "const bar = document.querySelector('progress').getBoundingClientRect();"
            # The drawing is of the whole page, however far it was scrolled.
            "const y = bar.top + scrollY + 4; return [[bar.left + 8, y], [bar.right - 8, y]]"
        )
    )
    assert left != right

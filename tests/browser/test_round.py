"""A guided round in a real browser: begun by a press, led through, its files confirmed; with and
without a script.
"""

import pytest
from playwright.sync_api import Page, expect

from readiness.models import Capture, GuidedRound
from tests.browser_driver import PHONE, faults
from tests.factories import complete_kit
from tests.readiness.captures import DEFAULT
from tests.readiness.rounds import saved_recordings

pytestmark = pytest.mark.browser


def test_one_press_leads_through_all_tests_and_their_files_are_confirmed(
    browser_page: Page, tmp_path
) -> None:
    page, kit = browser_page, complete_kit(cleared=False)
    page.clock.install(time=0)
    page.goto(f"/bench/kits/{kit.code}/round/")
    page.clock.pause_at(3_600_000)
    words, title = page.locator("[data-timer-words]"), page.locator("[data-timer-title]")
    expect(title).to_have_text("Test 1 of 3: Still: nothing is touched")
    page.evaluate("scrollTo(0, document.body.scrollHeight)")
    with page.expect_response("**/round/begin/") as begun:
        page.keyboard.press("Space")
    assert begun.value.status == 200
    expect(words).to_be_in_viewport(ratio=1)
    assert GuidedRound.objects.get().kit == kit
    expect(page.get_by_text("files in a watched folder are proposed here")).to_be_visible()
    expect(page.locator("#round-files")).to_have_attribute("hx-trigger", "every 5s")
    page.clock.run_for(3200)
    expect(words).to_have_text("Hands off")
    page.clock.run_for(10_000)
    expect(words).to_have_text("Save it")
    expect(page.locator("[data-timer-how]")).to_contain_text("Hold the bar in your bare hand")
    page.get_by_role("button", name="Wait").click()
    page.clock.run_for(60_000)
    expect(words).to_have_text("Save it")
    page.get_by_role("button", name="Count on").click()
    page.clock.run_for(20_000 + 3200)
    expect(words).to_have_text("Hold still")
    page.clock.run_for(2500)
    expect(words).to_have_text("Flex lead A")
    page.clock.run_for(8000)
    page.get_by_role("button", name="Go on").click()
    expect(title).to_have_text("Test 3 of 3: Lift: one snap after the other")
    page.clock.run_for(3200 + 10_000)
    expect(words).to_have_text("Done")
    assert GuidedRound.objects.count() == 1
    page.clock.resume()
    page.get_by_label("Capture files").set_input_files(saved_recordings(tmp_path))
    page.get_by_role("button", name="Send the files").click()
    expect(page.get_by_role("heading", name="Proposed for this round")).to_be_visible()
    rows = page.locator("#round-confirm tbody tr")
    expect(rows).to_have_count(3)
    for row, (name, test) in enumerate(zip("cab", DEFAULT, strict=True)):
        expect(rows.nth(row)).to_contain_text(f"{name}.csv")
        expect(rows.nth(row).locator("select")).to_have_value(test)
    assert faults(page) == []
    page.get_by_role("button", name="Confirm and score").click()
    expect(page.get_by_role("link", name="Next kit")).to_be_visible()
    kit.refresh_from_db()
    assert kit.cleared
    assert faults(page) == []


def test_without_a_script_the_round_works_on_the_phone(open_page, signed_in, tmp_path) -> None:
    kit = complete_kit(cleared=False)
    page = open_page(signed_in, size=PHONE, java_script_enabled=False)
    page.goto("/bench/")
    page.get_by_label("The kit at hand").fill(kit.code)
    page.get_by_role("button", name="Open", exact=True).click()
    page.get_by_role("button", name="Begin the round").click()
    expect(page.get_by_text("is begun")).to_be_visible()
    expect(page.get_by_text("5 to 7.5 s: Lift lead B.")).to_be_visible()
    page.get_by_label("Capture files").set_input_files(saved_recordings(tmp_path))
    page.get_by_role("button", name="Send the files").click()
    # No script tells their times: by their names they are proposed wrongly, and put right.
    for name, test in zip("cab", DEFAULT, strict=True):
        page.get_by_label(f"Test of {name}.csv").select_option(test)
    page.get_by_role("button", name="Confirm and score").click()
    expect(page.get_by_text("3 files are scored as confirmed.")).to_be_visible()
    kit.refresh_from_db()
    assert kit.cleared and Capture.objects.filter(status="scored").count() == 3

"""The bench in a real browser: drop, answer, read the verdict, time ten seconds; on the laptop and
on the phone.
"""

import pytest
from playwright.sync_api import Page, expect

from readiness.actions.upload import store_upload
from rentals.models import PartKind
from tests.browser_driver import PHONE, faults
from tests.factories import complete_kit
from tests.readiness.captures import INTERMITTENT_B, capture_bytes, capture_file, kit_files

pytestmark = pytest.mark.browser


def stopped_clock(page: Page, address: str) -> None:
    """Open a page whose time stands still and goes on by ``run_for`` alone, however slow the
    machine is.
    """
    page.clock.install(time=0)
    page.goto(address)
    page.clock.pause_at(3_600_000)


def payload(name: str, data: bytes) -> dict[str, object]:
    return {"name": name, "mimeType": "text/csv", "buffer": data}


def test_captures_are_dropped_asked_about_and_judged(browser_page: Page) -> None:
    page, sound, broken = browser_page, complete_kit(cleared=False), complete_kit(cleared=False)
    page.goto("/bench/")
    expect(page.get_by_text("To record: still, flex, lift.")).to_have_count(2)
    assert faults(page) == []
    files = [
        payload(f"{kit.code} {test}.csv", capture_bytes(test, kit=kit.code, seed=n, faults=found))
        for n, kit, found in ((1, sound, ()), (2, broken, INTERMITTENT_B))
        for test in ("still", "flex", "lift")
    ]
    files[2] = payload("lift of whom.csv", capture_bytes("lift", drop=("kit",)))
    files.append(payload("junk.csv", b"junk"))
    page.get_by_label("Capture files").set_input_files(files)
    expect(page.get_by_text("lift of whom.csv")).to_be_visible()
    page.get_by_role("button", name="Score").click()
    expect(page.get_by_role("heading", name="To be answered")).to_be_visible()
    assert faults(page) == []
    page.get_by_label("Kit", exact=True).fill(sound.code)
    page.get_by_role("button", name="Score with this").click()
    expect(page.get_by_role("heading", name="To be answered")).to_have_count(0)
    first = page.locator("tbody tr").first
    expect(first).to_contain_text("not fit")
    expect(first).to_contain_text("Lead B opens when flexed")
    expect(page.get_by_text("All 7 files scored")).to_be_visible()
    assert faults(page) == []
    sound.refresh_from_db()
    assert sound.cleared
    first.get_by_role("link", name="Replace lead B").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Swap the lead set")


def test_a_capture_and_its_kit_say_what_to_do(browser_page: Page) -> None:
    page, kit = browser_page, complete_kit(cleared=False)
    upload = store_upload(kit_files(kit.code, faults=INTERMITTENT_B))
    page.goto(upload.captures.get(test="flex").get_absolute_url())
    expect(page.locator(".page-action").get_by_role("link")).to_have_text("Replace lead B")
    expect(page.get_by_role("heading", name="Measurements")).to_be_visible()
    assert faults(page) == []
    page.goto(f"/bench/kits/{kit.code}/")
    expect(page.locator(".lede")).to_contain_text("Intermittent lead B (flex): replace lead B.")
    assert faults(page) == []
    page.goto(f"/kits/{kit.code}/")
    expect(page.locator("#kit-bench")).to_contain_text("Intermittent lead B (flex)")
    lead_set = kit.parts.get(kind=PartKind.LEAD_SET)
    expect(page.get_by_role("link", name="Swap Lead set")).to_have_attribute(
        "href", f"/kits/{kit.code}/swap/{lead_set.code}/"
    )


def test_the_timer_leads_through_the_ten_seconds_by_key(browser_page: Page) -> None:
    page = browser_page
    stopped_clock(page, "/bench/timer/flex/")
    words = page.locator("[data-timer-words]")
    expect(words).to_have_text("Touch here, or press the space bar")
    page.keyboard.press("Space")
    expect(words).to_have_text("Get ready")
    for seconds, expected in ((3.2, "Hold still"), (2.5, "Flex lead A"), (2.5, "Flex lead B")):
        page.clock.run_for(int(seconds * 1000))
        expect(words).to_have_text(expected)
    expect(page.locator("[data-timer-next]")).to_have_text("Next: Flex the ground lead")
    expect(page.locator("[data-now]")).to_contain_text("Flex lead B")
    page.clock.run_for(2500)
    expect(words).to_have_text("Flex the ground lead")
    page.clock.run_for(2500)
    expect(words).to_have_text("Done")
    page.keyboard.press("Space")
    expect(words).to_have_text("Get ready")
    page.keyboard.press("Escape")
    expect(words).to_have_text("Touch here, or press the space bar")


def test_the_timer_has_no_fault_at_rest_or_running(browser_page: Page) -> None:
    # With the clock running: the rules of accessibility are themselves tried by timers.
    page = browser_page
    page.goto("/bench/timer/flex/")
    assert faults(page) == []
    page.keyboard.press("Space")
    expect(page.locator("[data-timer-words]")).to_have_text("Get ready")
    assert faults(page) == []


def test_the_timer_works_by_touch_and_fits_the_phone(phone_page: Page) -> None:
    page, kit = phone_page, complete_kit(cleared=False)
    page.goto(f"/bench/timer/lift/?kit={kit.code}")
    page.locator("[data-timer-words]").tap()
    expect(page.locator("[data-timer-words]")).to_have_text("Get ready")
    expect(page.get_by_role("button", name="Stop")).to_be_in_viewport()
    page.get_by_role("button", name="Stop").tap()
    page.get_by_label("Beep at each change").check()
    expect(page.locator("[data-timer-words]")).to_have_text("Touch here, or press the space bar")
    assert faults(page) == []


def test_with_reduced_motion_the_bar_goes_by_whole_seconds(open_page, signed_in) -> None:
    page = open_page(signed_in, reduced_motion="reduce")
    stopped_clock(page, "/bench/timer/still/")
    page.keyboard.press("Enter")
    page.clock.run_for(3000 + 2450)
    assert page.locator("[data-timer-bar]").evaluate("bar => bar.value") == 2000


def test_without_a_script_the_timer_is_a_list_and_a_drop_works(open_page, signed_in) -> None:
    kit = complete_kit(cleared=False)
    page = open_page(signed_in, java_script_enabled=False)
    page.goto("/bench/timer/lift/")
    expect(page.locator("[data-timer]")).to_be_hidden()
    expect(page.get_by_text("5 to 7.5 s: Lift lead B.")).to_be_visible()
    page.goto("/bench/")
    page.get_by_label("Capture files").set_input_files(
        [
            payload("a.csv", capture_bytes("still", kit=kit.code)),
            payload("b.csv", capture_bytes("lift", drop=("kit",))),
        ]
    )
    page.get_by_role("button", name="Score").click()
    page.get_by_label("Kit", exact=True).fill(kit.code)
    page.get_by_role("button", name="Score with this").click()
    expect(page.get_by_text("All 2 files scored")).to_be_visible()


def test_other_layouts_are_read_once_their_columns_are_named(browser_page: Page) -> None:
    page, kit = browser_page, complete_kit(cleared=False)
    head, rows = capture_bytes("still", kit=kit.code, drop=("unit", "resolution", "range")).split(
        b"emg\n"
    )
    two = (
        head
        + b"left,right\n"
        + b"\n".join(line + b"," + line for line in rows.split(b"\n") if line)
        + b"\n"
    )
    page.goto("/bench/")
    page.get_by_label("Capture files").set_input_files([payload(f"{kit.code} still.csv", two)])
    page.get_by_role("button", name="Score").click()
    page.get_by_role("link", name="Say which column it is").click()
    expect(page.get_by_label("left: what it is")).to_be_visible()
    assert faults(page) == []
    page.get_by_label("left: what it is").select_option("emg")
    page.get_by_label("left: unit").select_option("uV")
    page.get_by_label("right: what it is").select_option("other")
    page.get_by_role("button", name="Keep and score").click()
    expect(page.get_by_text("All 1 file scored")).to_be_visible()
    assert kit.captures.get().status == "scored"


def test_the_phone_shows_every_page_without_sideways_scroll(phone_page: Page) -> None:
    page, kit = phone_page, complete_kit(cleared=False)
    upload = store_upload(
        [*kit_files(kit.code, faults=INTERMITTENT_B), capture_file("junk.csv", b"junk")]
    )
    capture = upload.captures.get(test="flex")
    for address in (
        "/bench/",
        upload.get_absolute_url(),
        capture.get_absolute_url(),
        f"/bench/kits/{kit.code}/",
        f"/bench/kits/{kit.code}/round/",
        f"/bench/plans/{kit.kit_type_id}/",
        "/bench/timer/worn/",
        "/bench/uploads/",
    ):
        page.goto(address)
        assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"], address
        assert faults(page) == [], address

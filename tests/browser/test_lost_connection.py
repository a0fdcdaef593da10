"""A bench without a connection, in a real browser: nothing done is lost, nothing is done twice."""

from collections.abc import Iterator
from contextlib import contextmanager
from urllib.parse import parse_qsl

import pytest
from playwright.sync_api import Dialog, Locator, Page, Request, Route, expect

from rentals.actions.dispatch import dispatch
from rentals.actions.receive import arrive
from rentals.models import FoundPart, Loan, ReturnLine
from tests.browser_driver import faults
from tests.factories import assigned_loan, packed_loan

pytestmark = pytest.mark.browser


@contextmanager
def offline(page: Page) -> Iterator[None]:
    """Without any network inside the block."""
    page.context.set_offline(True)
    yield
    page.context.set_offline(False)


def row(page: Page, name: str) -> Locator:
    return page.locator(".checklist-row", has_text=name)


def unsent(page: Page) -> Locator:
    return page.locator("#unsent")


def sent_fields(page: Page, *names: str) -> list[tuple[str, str]]:
    """What is posted from now on under these names, in its order."""
    sent: list[tuple[str, str]] = []

    def note(request: Request) -> None:
        if request.method == "POST":
            sent.extend(field for field in posted(request) if field[0] in names)

    page.on("requestfinished", note)
    return sent


def posted(request: Request) -> list[tuple[str, str]]:
    """The fields of a posted form, whichever way it is written."""
    body = (request.post_data_buffer or b"").decode("utf-8", "replace")
    if "Content-Disposition" not in body:
        return parse_qsl(body)
    fields = []
    for part in body.split("Content-Disposition: form-data; name=")[1:]:
        head, _, value = part.partition("\r\n\r\n")
        fields.append((head.split('"')[1], value.rsplit("\r\n--", 1)[0]))
    return fields


def test_packing_goes_on_through_a_lost_connection(phone_page: Page) -> None:
    page, loan = phone_page, assigned_loan()
    page.goto(f"/pack/{loan.kit.code}/")
    ticks = page.locator(".checklist button[aria-pressed]")
    first, second, *rest = ticks.evaluate_all("rows => rows.map(row => row.value)")
    ticks.nth(0).tap()
    expect(page.get_by_text("1 of 8 in the parcel")).to_be_visible()
    page.get_by_label("Parcel mass, g").fill("712")
    sent = sent_fields(page, "tick", "untick", "scan", "parcel_mass_g")
    code = loan.kit.parts.get(kind="charger").code
    with offline(page):
        for number in (0, *range(1, 8), 1):
            ticks.nth(number).tap()
        page.locator("#id_scan").fill(code)
        page.locator("#id_scan").press("Enter")
        expect(page.locator("#id_scan")).to_have_value("")
        # Eight rows and the scan box.
        expect(page.locator("[data-unsent-note]")).to_have_count(9)
        expect(ticks.nth(1)).to_have_attribute("aria-pressed", "false")
        expect(unsent(page)).to_contain_text("Not kept: no connection. 10 acts wait")
        assert faults(page) == []
        page.locator(".page-action").get_by_role("button", name="Pack").tap()
        expect(unsent(page)).to_contain_text("11 acts wait")
        expect(page.get_by_role("heading", level=1)).to_contain_text("Pack")
        expect(page.get_by_label("Parcel mass, g")).to_have_value("712")
        # Going away would lose them: the browser asks.
        questions: list[str] = []
        page.once("dialog", lambda question: keep_open(question, questions))
        page.evaluate("location.assign('/runs/')")
        expect(unsent(page)).to_contain_text("11 acts wait")
        assert questions == ["beforeunload"]
    # One row was taken back meanwhile, so the parcel is refused, with all that was typed.
    expect(page.get_by_role("alert")).to_contain_text("not ticked yet")
    expect(unsent(page)).to_be_empty()
    expect(page.get_by_label("Parcel mass, g")).to_have_value("712")
    ticked = [("tick", line) for line in (second, *rest, second)]
    assert sent == [("untick", first), *ticked, ("scan", code), ("parcel_mass_g", "712")]
    expect(page.locator(".checklist button[aria-pressed=true]")).to_have_count(7)
    page.locator(".checklist button[aria-pressed=false]").tap()
    expect(page.get_by_text("All in the parcel")).to_be_visible()
    page.locator(".page-action").get_by_role("button", name="Pack").tap()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Dispatch")
    loan.refresh_from_db()
    assert (loan.stage, loan.parcel_mass_g) == ("packed", 712)
    assert loan.events.filter(verb="packed").count() == 1


def keep_open(question: Dialog, questions: list[str]) -> None:
    """Stay on the page when the browser asks."""
    questions.append(question.type)
    question.dismiss()


def checked_loan() -> Loan:
    """A loan whose parcel is back and not looked at yet."""
    return arrive(dispatch(packed_loan().kit).kit).loan


@pytest.mark.night
def test_receiving_goes_on_through_a_lost_connection(phone_page: Page) -> None:
    page, loan = phone_page, checked_loan()
    page.goto(f"/receive/{loan.kit.code}/")
    leads, key = row(page, "Lead set"), row(page, "Licence key")
    sent = sent_fields(page, "finish", "scan", *outcomes(loan))
    with offline(page):
        leads.locator(".choice-option", has_text="damaged").tap()
        expect(leads.get_by_text("Not kept: no connection.")).to_be_visible()
        # The choice is put back to what the desk knows; what is typed stays.
        expect(leads.get_by_role("radio", name="damaged")).not_to_be_checked()
        leads.locator("summary").tap()
        leads.get_by_label("What is wrong").fill("Cable frayed")
        key.locator(".choice-option", has_text="missing").tap()
        expect(key.get_by_text("Not kept: no connection.")).to_be_visible()
        expect(leads.get_by_label("What is wrong")).to_have_value("Cable frayed")
        page.get_by_role("button", name="Finish the check").first.tap()
        expect(page.get_by_role("heading", level=1)).to_contain_text("Check kit")
        expect(unsent(page)).to_contain_text("4 acts wait")
    expect(page.get_by_role("alert")).to_contain_text("Not finished yet")
    expect(unsent(page)).to_be_empty()
    values = [value for name, value in sent if name != "finish"]
    # The choice, the note on top of it, the key, then the whole form.
    assert values[:3] == ["damaged", "damaged", "missing"]
    assert sent[-1] == ("finish", "1")
    noted = ReturnLine.objects.filter(check_of__loan=loan).exclude(outcome__in=("open", "used_up"))
    assert set(noted.values_list("packing_line__part_kind", "outcome", "note")) == {
        ("lead_set", "damaged", "Cable frayed"),
        ("licence_key", "missing", ""),
    }


def outcomes(loan: Loan) -> list[str]:
    """The names of the choices of a check's lines."""
    lines = ReturnLine.objects.filter(check_of__loan=loan)
    return [f"line{line.pk}-outcome" for line in lines]


def test_failures_are_said_and_tried_again_and_a_lost_answer_does_nothing_twice(
    browser_page: Page,
) -> None:
    page, loan = browser_page, checked_loan()
    page.clock.install()
    page.goto(f"/receive/{loan.kit.code}/")
    thing = page.get_by_label("Something else was in the parcel")
    met: list[str] = []
    ways = iter(("failed", "lost", "silent", "through"))

    def meet(route: Route) -> None:
        met.append(next(ways, "through"))
        if met[-1] == "failed":
            route.fulfill(status=500, body="<h1>Something broke</h1>")
        elif met[-1] == "lost":
            route.fetch(max_redirects=0)
            route.abort()
        elif met[-1] == "through":
            route.continue_()

    page.route("**/found/", meet)
    thing.fill("A rosin cake")
    page.get_by_role("button", name="Write it down").click()
    expect(unsent(page)).to_contain_text("Not kept: the desk failed (500).")
    expect(thing).to_have_value("A rosin cake")
    page.clock.run_for(1_000)
    expect(unsent(page)).to_contain_text("Not kept: no connection.")
    assert FoundPart.objects.count() == 1
    page.clock.run_for(2_000)
    page.wait_for_function("document.querySelector('form[aria-busy]')")
    page.clock.run_for(120_000)
    expect(unsent(page)).to_contain_text("Not kept: no answer in time.")
    page.clock.run_for(4_000)
    expect(page.locator(".work-what", has_text="A rosin cake")).to_be_visible()
    expect(thing).to_have_value("")
    assert met == ["failed", "lost", "silent", "through"]
    assert [found.text for found in FoundPart.objects.all()] == ["A rosin cake"]


def test_a_refused_form_keeps_its_text_and_a_new_sign_in_makes_no_form_stale(
    browser_page: Page,
) -> None:
    page, loan = browser_page, checked_loan()
    page.goto(f"/receive/{loan.kit.code}/")
    thing = page.get_by_label("Something else was in the parcel")
    page.route("**/found/", lambda route: route.fulfill(status=403, body="<h1>Stale</h1>"))
    thing.fill("A mute")
    page.get_by_role("button", name="Write it down").click()
    expect(page.get_by_role("alert")).to_contain_text("gone stale (403)")
    # Wherever one goes from here, the text is not counted as accepted.
    page.goto("/runs/")
    page.goto(f"/receive/{loan.kit.code}/")
    expect(thing).to_have_value("A mute")
    page.unroute("**/found/")
    # Signed in again in another tab: the token in this page is an old one.
    page.locator("[name=csrfmiddlewaretoken]").evaluate_all(
        "fields => fields.forEach(field => field.value = 'x'.repeat(64))"
    )
    page.get_by_role("button", name="Write it down").click()
    expect(page.locator(".work-what", has_text="A mute")).to_be_visible()
    expect(thing).to_have_value("")


def test_acts_wait_for_whoever_was_signed_out_meanwhile(browser_page: Page) -> None:
    page, loan = browser_page, assigned_loan()
    page.goto(f"/pack/{loan.kit.code}/")
    cookies = page.context.cookies()
    page.context.clear_cookies(name="sessionid")
    tick = page.locator(".checklist button", has_text="Licence key")
    tick.click()
    expect(unsent(page)).to_contain_text("Not kept: you are signed out.")
    expect(unsent(page).get_by_role("link", name="Sign in")).to_have_attribute("target", "_blank")
    page.context.add_cookies(cookies)
    unsent(page).get_by_role("button", name="Try now").click()
    expect(tick).to_have_attribute("aria-pressed", "true")
    # What the desk refuses for good is said at its row, and holds nothing up.
    page.route("**/tick/", lambda route: route.fulfill(status=404, body="<h1>Gone</h1>"), times=1)
    page.locator(".checklist button", has_text="Charger").click()
    page.locator(".checklist button", has_text="Shipping box").click()
    expect(row(page, "Charger").get_by_role("alert")).to_contain_text("not there any more (404)")
    expect(page.get_by_text("2 of 8 in the parcel")).to_be_visible()


def test_a_list_that_could_not_be_filtered_says_so_and_follows(browser_page: Page) -> None:
    page, loan = browser_page, assigned_loan()
    other = assigned_loan()
    page.goto("/kits/")
    with offline(page):
        page.locator("#filter-q").fill(loan.kit.code)
        expect(page.locator("#outdated")).to_contain_text("Not up to date")
        expect(page.locator("#results")).to_contain_text(other.kit.code[1:5])
    expect(page.locator("#results")).not_to_contain_text(other.kit.code[1:5])
    expect(page.locator("#outdated")).to_be_empty()

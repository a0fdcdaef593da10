"""Long tables and lists in a real browser, done by the real work: begun, left, come back to,
cancelled in the middle, and gone on with.
"""

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from rentals.actions import fleet_errand
from rentals.actions.errand_claims import ErrandProgress
from rentals.actions.errands import do_errand
from rentals.models import Errand, Kit
from rentals.states import ErrandState
from rentals.web import table_file
from tests.browser_driver import LAPTOP, PHONE, faults
from tests.factories import KitTypeFactory, complete_kit
from tests.rentals.views.test_fleet import rows

pytestmark = [pytest.mark.browser, pytest.mark.any_database]


@pytest.fixture(autouse=True)
def nobody_works(settings, monkeypatch):
    settings.TASKS = {"default": {"BACKEND": "django_tasks.backends.dummy.DummyBackend"}}
    monkeypatch.setattr("rentals.views.fleet.REGISTERED_AT_ONCE", 5)
    monkeypatch.setattr(fleet_errand, "REGISTERED_AT_ONCE", 5)


@pytest.mark.parametrize(
    "size", [PHONE, pytest.param(LAPTOP, marks=pytest.mark.night)], ids=["phone", "laptop"]
)
def test_a_fleet_is_begun_left_come_back_to_cancelled_and_gone_on_with(
    open_page, signed_in, monkeypatch, size
):
    page: Page = open_page(signed_in, size=size)
    kit_type = KitTypeFactory.create()
    page.goto(reverse("rentals:fleet"))
    page.get_by_label("Kit type").select_option(str(kit_type.pk))
    page.locator("textarea[name=table]").fill(rows("1", "2", "3"))
    page.get_by_role("button", name="Look at it").click()
    expect(page.get_by_text("registered in the background, kit by kit")).to_be_visible()
    assert faults(page) == []
    page.get_by_role("button", name="Register 3 kits and 15 parts").click()
    expect(page.get_by_text("Not begun yet")).to_be_visible()
    errand = Errand.objects.get()
    step = ErrandProgress.step

    def cancelled_on_its_page(progress: ErrandProgress, steps: int = 1) -> None:
        monkeypatch.setattr(progress, "_every_s", 0)
        if Kit.objects.count() == 2:
            _leave_come_back_and_cancel(page, errand)
        step(progress, steps)

    with monkeypatch.context() as working:
        working.setattr(ErrandProgress, "step", cancelled_on_its_page)
        assert do_errand.call(errand.pk) == ErrandState.CANCELLED
    assert Kit.objects.count() == 2
    page.reload()
    expect(page.get_by_text("2 new kits and 10 new parts are registered")).to_be_visible()
    expect(page.get_by_text("10 of 15 rows were looked at by then")).to_be_visible()
    assert faults(page) == []
    page.get_by_role("link", name="Back to where it was asked for").click()
    expect(page.get_by_text("1 new kit, 5 new parts, 10 already there.")).to_be_visible()
    assert faults(page) == []


def _leave_come_back_and_cancel(page: Page, errand: Errand) -> None:
    page.goto(reverse("rentals:fleet"))
    line = page.get_by_role("region", name="Work in the background")
    expect(line.get_by_text("5 of 15")).to_be_visible()
    assert faults(page) == []
    line.get_by_role("link", name=errand.title).click()
    expect(page.get_by_role("progressbar")).to_be_visible()
    page.get_by_role("button", name="Cancel this work").click()
    expect(page.get_by_text("stops at its next step")).to_be_visible()


def test_a_long_list_is_asked_for_and_fetched(phone_page: Page, monkeypatch):
    for _ in range(2):
        complete_kit()
    monkeypatch.setattr(table_file, "SENT_AT_ONCE", 1)
    page = phone_page
    page.goto(reverse("rentals:kits_export", args=["csv"]))
    expect(page.get_by_text("made in the background")).to_be_visible()
    assert faults(page) == []
    page.get_by_role("button", name="Make the file").click()
    expect(page.get_by_text("Not begun yet")).to_be_visible()
    do_errand.call(Errand.objects.get().pk)
    with page.expect_download() as download:
        page.get_by_role("link", name="Download").click()
    assert download.value.suggested_filename == "kits.csv"
    page.goto(reverse("rentals:kits"))
    expect(page.get_by_role("link", name="kits.csv, 2 rows")).to_be_visible()
    assert faults(page) == []

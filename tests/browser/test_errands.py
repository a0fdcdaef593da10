"""Work in the background in a real browser: begun, left, come back to, cancelled."""

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from rentals.actions.errand_claims import ErrandCancelled, ErrandProgress, claim_errand, let_go
from rentals.models import Errand
from rentals.states import ErrandState
from rentals.views import papers
from tests.browser_driver import faults
from tests.rentals.views.test_errands import run_of_two

pytestmark = pytest.mark.browser


@pytest.mark.night
@pytest.mark.any_database
def test_papers_are_begun_left_come_back_to_and_cancelled(phone_page: Page, settings, monkeypatch):
    settings.TASKS = {"default": {"BACKEND": "django_tasks.backends.dummy.DummyBackend"}}
    monkeypatch.setattr(papers, "PRINTED_AT_ONCE", 1)
    page, run = phone_page, run_of_two()
    page.goto(reverse("rentals:run_packing_lists", args=[run.pk]))
    page.get_by_role("button", name="Make the papers").click()
    expect(page.get_by_text("Not begun yet")).to_be_visible()
    errand = claim_errand(Errand.objects.get().pk)
    assert errand is not None
    work = ErrandProgress(errand, every_s=0)
    work.begin(4, "steps")
    expect(page.get_by_text("0 of 4 steps")).to_be_visible()
    expect(page.get_by_role("progressbar")).to_be_visible()
    assert faults(page) == []
    page.goto(run.get_absolute_url())
    line = page.get_by_role("region", name="Work in the background")
    expect(line.get_by_text("0 of 4")).to_be_visible()
    work.step()
    expect(line.get_by_text("1 of 4")).to_be_visible()
    assert faults(page) == []
    page.goto(reverse("rentals:errands"))
    expect(page.get_by_text("1 of 4 steps")).to_be_visible()
    assert faults(page) == []
    page.get_by_role("link", name=errand.title).click()
    page.get_by_role("button", name="Cancel this work").click()
    expect(page.get_by_text("stops at its next step")).to_be_visible()
    with pytest.raises(ErrandCancelled):
        work.step()
    let_go(errand, ErrandState.CANCELLED)
    expect(page.get_by_text("It was cancelled. No file was kept.")).to_be_visible()
    expect(page.get_by_role("link", name="Back to where it was asked for")).to_be_visible()
    assert faults(page) == []

"""The pages of work in the background: whose they are, what they say, the file."""

from __future__ import annotations

import uuid

import pytest
from django.contrib.auth.models import Group
from django.test import Client
from django.urls import reverse

from rentals.actions.errand_claims import claim_errand
from rentals.actions.errands import ErrandAsked, ask_errand, do_errand
from rentals.marks import mark_of
from rentals.models import Errand, ErrandKind, ErrandPiece, Kit, Loan, LoanStage
from rentals.states import ErrandState
from rentals.views import papers
from tests.factories import (
    CourseRunFactory,
    EnrolmentFactory,
    UserFactory,
    assigned_loan,
    complete_kit,
)
from tests.rentals.paper.reading import page_texts

pytestmark = pytest.mark.django_db

LIST = reverse("rentals:errands")
PART = {"HTTP_HX_REQUEST": "true"}


def text_of(response) -> str:
    return " ".join(response.content.decode().split())


@pytest.fixture
def nobody_works(settings):
    settings.TASKS = {"default": {"BACKEND": "django_tasks.backends.dummy.DummyBackend"}}


def run_of_two():
    run = CourseRunFactory()
    for _ in range(2):
        assigned_loan(complete_kit(run.kit_type), EnrolmentFactory(run=run))
    return run


def papers_address(run) -> str:
    return reverse("rentals:run_packing_lists", args=[run.pk])


def asked_for(client: Client, address: str):
    return client.post(address, {"form_key": str(uuid.uuid4())})


def ended(errand: Errand, **facts: object) -> Errand:
    Errand.objects.filter(pk=errand.pk).update(state=ErrandState.DONE, **facts)
    errand.refresh_from_db()
    return errand


def test_papers_of_a_large_run_are_the_same_made_in_the_background(signed_in, monkeypatch):
    run = run_of_two()
    address = papers_address(run)
    at_once = signed_in.get(address)
    monkeypatch.setattr(papers, "PRINTED_AT_ONCE", 1)
    page = text_of(signed_in.get(address))
    assert "One file with 2 lists" in page and "Make the papers" in page
    assert not Errand.objects.exists()
    answer = asked_for(signed_in, address)
    errand = Errand.objects.get()
    assert answer.url == errand.get_absolute_url()
    assert (errand.state, errand.done, errand.total) == (ErrandState.DONE, 4, 4)
    shown = text_of(signed_in.get(answer.url))
    assert "2 packing lists and what to fetch" in shown and "every 2s" not in shown
    file = signed_in.get(reverse("rentals:errand_file", args=[errand.pk]))
    assert page_texts(file.getvalue()) == page_texts(at_once.content)
    assert file["Content-Type"] == "application/pdf" and file["Cache-Control"] == "no-store"
    assert file["Content-Disposition"].startswith('attachment; filename="packing-lists-')
    assert errand.title in text_of(signed_in.get(run.get_absolute_url()))


def test_a_few_are_printed_while_one_waits(signed_in):
    assert signed_in.get(papers_address(run_of_two()))["Content-Type"] == "application/pdf"
    assert not Errand.objects.exists()


def test_what_cannot_be_printed_any_more_is_said(signed_in, monkeypatch, nobody_works):
    run = run_of_two()
    monkeypatch.setattr(papers, "PRINTED_AT_ONCE", 1)
    asked_for(signed_in, papers_address(run))
    errand = Errand.objects.get()
    Loan.objects.update(stage=LoanStage.CANCELLED)
    do_errand.call(errand.pk)
    shown = text_of(signed_in.get(errand.get_absolute_url()))
    assert "No kit is assigned to them any more" in shown and "not done" in shown


def test_a_page_that_goes_on_asks_again_and_one_that_ended_does_not(signed_in, owner, nobody_works):
    asked = ErrandAsked(ErrandKind.VERIFY, "Check of the log", about="/watching/", seen_by="/")
    errand = ask_errand(asked, actor=owner)
    address = errand.get_absolute_url()
    assert "Not begun yet" in text_of(signed_in.get(address))
    claim_errand(errand.pk)
    Errand.objects.update(done=3, total=10, at_hand="parts checked")
    for page in (address, f"{address}?strip=1", LIST, "/watching/"):
        shown = text_of(signed_in.get(page))
        assert 'hx-trigger="every 2s"' in shown and 'max="10"' in shown, page
    part = text_of(signed_in.get(address, **PART))
    assert part.startswith('<div id="errand"') and "page-action" not in part
    cancel = reverse("rentals:errand_cancel", args=[errand.pk])
    asked_for(signed_in, cancel)
    assert "stops at its next step" in text_of(signed_in.get(address))
    ended(errand, said="All in order.")
    part = text_of(signed_in.get(address, **PART))
    assert "every 2s" not in part and "All in order." in part
    assert 'id="page-action" hx-swap-oob="true"' in part
    assert "every 2s" not in text_of(signed_in.get(LIST))


def test_only_who_asked_and_the_owner_see_it(client, signed_in, nobody_works):
    packer, other = UserFactory(), UserFactory()
    group, _ = Group.objects.get_or_create(name="packer")
    for person in (packer, other):
        person.groups.add(group)
    run = run_of_two()
    asked = ErrandAsked(ErrandKind.RUN_PAPERS, "Lists", about="/", seen_by=papers_address(run))
    errand = ended(ask_errand(asked, actor=packer), file_name="a.pdf", content_type="x/y")
    ErrandPiece.objects.create(errand=errand, number=0, content=b"lists")
    file = reverse("rentals:errand_file", args=[errand.pk])
    pages = (errand.get_absolute_url(), file)
    assert [signed_in.get(page).status_code for page in pages] == [200, 200]
    client.force_login(other)
    assert [client.get(page).status_code for page in pages] == [404, 404]
    assert "Lists" not in text_of(client.get(LIST))
    client.force_login(packer)
    assert client.get(file).getvalue() == b"lists"
    assert "Lists" in text_of(client.get(LIST))
    packer.groups.clear()
    assert client.get(file).status_code == 404
    assert "may no longer see" in text_of(client.get(errand.get_absolute_url()))


def test_the_owner_has_the_log_checked(signed_in):
    assigned_loan()
    answer = asked_for(signed_in, reverse("verify_now"))
    errand = Errand.objects.get()
    assert answer.url == errand.get_absolute_url()
    shown = text_of(signed_in.get(answer.url))
    assert "All in order: 1 kit" in shown and "faults found" not in shown
    kit = Kit.objects.get()
    Kit.objects.filter(pk=kit.pk).update(note="changed behind the log's back")
    asked_for(signed_in, reverse("verify_now"))
    errand = Errand.objects.first()
    shown = text_of(signed_in.get(errand.get_absolute_url()))
    assert errand.named == [f"Kit {kit.pk} is not as the log has it."]
    assert "1 fault in 1 kit" in shown and errand.named[0] in shown
    for page in (errand.get_absolute_url(), LIST, "/watching/"):
        assert f"{mark_of(ErrandState.FAULTS).word}</span>" in text_of(signed_in.get(page)), page
    assert mark_of(ErrandState.FAULTS).tone != mark_of(ErrandState.DONE).tone

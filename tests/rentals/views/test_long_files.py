"""Long lists become files, and many labels sheets, in the background: the same as at once, for whom
they are, with no query half read meanwhile.
"""

from __future__ import annotations

import io
import uuid

import openpyxl
import pytest
from django.contrib.auth.models import Group
from django.db import connection
from django.test import Client
from django.urls import reverse

from rentals.actions.errand_claims import ErrandProgress
from rentals.actions.errands import do_errand
from rentals.models import Errand, Kit
from rentals.selectors import export
from rentals.states import ErrandState
from rentals.views import labels
from rentals.web import table_file
from tests.factories import KitTypeFactory, UserFactory, assigned_loan, complete_kit
from tests.rentals.paper.reading import codes_in, picture

pytestmark = pytest.mark.django_db

KITS = reverse("rentals:kits_export", args=["csv"])


@pytest.fixture(autouse=True)
def nobody_works(settings, monkeypatch):
    settings.TASKS = {"default": {"BACKEND": "django_tasks.backends.dummy.DummyBackend"}}
    monkeypatch.setattr(table_file, "SENT_AT_ONCE", 1)
    monkeypatch.setattr(labels, "PRINTED_AT_ONCE", 1)


def text_of(response) -> str:
    return " ".join(response.content.decode().split())


def asked(client: Client, address: str) -> Errand:
    """What the page of an address asks for, confirmed."""
    page = text_of(client.get(address))
    assert "made in the background" in page and not Errand.objects.exists()
    answer = client.post(address, {"form_key": str(uuid.uuid4())})
    errand = Errand.objects.get()
    assert answer.url == errand.get_absolute_url()
    return errand


def work_off(errand: Errand) -> Errand:
    do_errand.call(errand.pk)
    errand.refresh_from_db()
    return errand


def file_of(client: Client, errand: Errand) -> bytes:
    answer = client.get(reverse("rentals:errand_file", args=[errand.pk]))
    assert answer["Content-Disposition"] == f'attachment; filename="{errand.file_name}"'
    return answer.getvalue()


def test_how_much_is_made_at_once(monkeypatch):
    monkeypatch.undo()
    assert (table_file.SENT_AT_ONCE, labels.PRINTED_AT_ONCE) == (2000, 200)


def test_a_long_list_is_the_same_file_made_in_the_background(signed_in, monkeypatch):
    for note in ("one", "two", "other"):
        Kit.objects.filter(pk=complete_kit().pk).update(note=note)
    wanted = f"{KITS}?q=o&sort=-code"
    monkeypatch.setattr(table_file, "SENT_AT_ONCE", 3)
    at_once = signed_in.get(wanted).getvalue()
    assert at_once.count(b"\r\n") == 4
    monkeypatch.setattr(table_file, "SENT_AT_ONCE", 2)
    errand = work_off(asked(signed_in, wanted))
    assert (errand.state, errand.done, errand.total) == (ErrandState.DONE, 3, 3)
    assert errand.said == "One file with 3 rows." and errand.file_name == "kits.csv"
    assert file_of(signed_in, errand) == at_once
    assert errand.title in text_of(signed_in.get(reverse("rentals:kits")))


@pytest.mark.parametrize(
    ("name", "args", "home"),
    [
        ("rentals:out_export", ["xlsx"], "rentals:receive"),
        ("rentals:report_use_by_student_file", ["xlsx"], "rentals:report_use_by_student"),
        ("bench_reports:fleet_file", ["xlsx"], "bench_reports:fleet"),
    ],
)
def test_every_list_can_be_made_so(signed_in, monkeypatch, name, args, home):
    assigned_loan()
    monkeypatch.setattr(table_file, "SENT_AT_ONCE", -1)
    errand = work_off(asked(signed_in, reverse(name, args=args)))
    assert errand.state == ErrandState.DONE, errand.problem
    openpyxl.load_workbook(io.BytesIO(file_of(signed_in, errand)))
    assert errand.title in text_of(signed_in.get(reverse(home)))


def test_a_list_is_made_as_whoever_asked_may_see_it_then(client, monkeypatch):
    monkeypatch.setattr(table_file, "SENT_AT_ONCE", -1)
    packer = UserFactory()
    group, _ = Group.objects.get_or_create(name="packer")
    packer.groups.add(group)
    client.force_login(packer)
    errand = asked(client, reverse("rentals:money_export", args=["csv"]))
    packer.groups.clear()
    assert "no longer see" in work_off(errand).problem
    Errand.objects.filter(pk=errand.pk).update(state=ErrandState.WAITING, asked_by=None)
    assert "has no account any more" in work_off(errand).problem


def test_a_cancelled_list_leaves_no_file(signed_in, monkeypatch):
    for _ in range(2):
        complete_kit()
    errand = asked(signed_in, KITS)

    def stopped(progress: ErrandProgress, steps: int = 1) -> None:
        Errand.objects.filter(pk=errand.pk).update(stopping=True)
        progress.begin(2, "rows written")

    monkeypatch.setattr(ErrandProgress, "step", stopped)
    assert work_off(errand).state == ErrandState.CANCELLED
    assert not errand.pieces.exists()
    assert "No file was kept." in text_of(signed_in.get(errand.get_absolute_url()))


def test_rows_come_in_their_order_a_part_at_a_time(monkeypatch, django_assert_num_queries):
    monkeypatch.setattr(export, "ROWS_AT_ONCE", 2)
    type_ = KitTypeFactory.create()
    Kit.objects.bulk_create(Kit(code=f"K{n:06}", kit_type=type_) for n in range(5))
    newest = Kit.objects.order_by("-pk")
    with django_assert_num_queries(4):
        found = list(export.rows_in_parts(newest))
    assert found == list(newest)
    parts = export.rows_in_parts(newest)
    assert next(parts) == found[0]
    with connection.cursor() as cursor:
        cursor.execute("DELETE FROM rentals_kit WHERE id = %s", [found[2].pk])
    assert list(parts) == [found[1], found[3], found[4]]


def test_many_labels_are_made_in_the_background(signed_in):
    kits = [complete_kit() for _ in range(2)]
    sheet = signed_in.get(reverse("rentals:labels")).context["form"]["sheet"].value()
    address = f"{reverse('rentals:labels_pdf')}?kind=kit&sheet={sheet}&start=3"
    errand = work_off(asked(signed_in, address))
    assert (errand.state, errand.done, errand.total) == (ErrandState.DONE, 2, 2), errand.problem
    assert errand.said == "2 labels on one file."
    found = codes_in(picture(file_of(signed_in, errand)))
    assert len(found) == 2 and all(any(kit.code in code for code in found) for kit in kits)
    assert errand.title in text_of(signed_in.get(reverse("rentals:labels")))


def test_labels_of_what_is_gone_are_said(signed_in):
    for _ in range(2):
        complete_kit()
    sheet = signed_in.get(reverse("rentals:labels")).context["form"]["sheet"].value()
    errand = asked(signed_in, f"{reverse('rentals:labels_pdf')}?kind=kit&sheet={sheet}&start=1")
    Kit.objects.update(state="retired")
    assert "no such label" in work_off(errand).problem
    back = text_of(signed_in.get(errand.get_absolute_url()))
    assert "kind=kit&amp;sheet=" in back and "Back to where it was asked for" in back

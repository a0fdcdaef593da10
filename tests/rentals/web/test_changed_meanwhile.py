"""Two people with one form open: nobody's words overwrite another's unseen, in any form."""

from __future__ import annotations

from html import unescape
from html.parser import HTMLParser
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from readiness.models import BenchPlan
from rentals.actions.draft import draft
from rentals.actions.transit import set_transit
from rentals.errors import Refused
from rentals.forms.students import StudentForm
from rentals.models import (
    Carrier,
    LabelSheet,
    MailWording,
    OwnStep,
    Practice,
    ReminderRule,
    Student,
)
from rentals.web.changed_meanwhile import check_still_so
from tests.factories import ElectrodeBatchFactory, StockItemFactory, StudentFactory, packed_loan

pytestmark = [pytest.mark.django_db, pytest.mark.any_database]

SEEN = "Somebody has changed this since you opened the page."
Entries = dict[str, Any]


class _FormReader(HTMLParser):
    """What a browser would send of the form that carries marks, untouched."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.forms: list[Entries] = []
        self.area = self.choice = ""

    def handle_starttag(self, tag: str, pairs: list[tuple[str, str | None]]) -> None:
        facts = {name: value if value is not None else "" for name, value in pairs}
        name, value = facts.get("name") or "", facts.get("value", "on")
        if tag == "form":
            self.forms.append({})
        elif tag == "textarea":
            self.area = name
            self.forms[-1][name] = ""
        elif tag == "select":
            self.choice = name
        elif tag == "option" and self.choice and "selected" in facts:
            self.forms[-1].setdefault(self.choice, []).append(value)
        elif tag == "input" and name:
            untaken = facts.get("type") in ("checkbox", "radio") and "checked" not in facts
            if facts.get("type") not in ("file", "submit") and not untaken:
                self.forms[-1].setdefault(name, []).append(facts.get("value", "on"))

    def handle_endtag(self, tag: str) -> None:
        if tag in ("textarea", "select"):
            self.area = self.choice = ""

    def handle_data(self, data: str) -> None:
        if self.area:
            self.forms[-1][self.area] += data.removeprefix("\n")


def _shown(answer: Any) -> Entries:
    reader = _FormReader()
    reader.feed(answer.content.decode())
    [entries] = [form for form in reader.forms if "as_shown" in form]
    return entries


def _open_forms() -> list[tuple[str, Any, str, object, object]]:
    """Address of each form that changes something, its row, a column, what somebody else makes of
    it, and what the form says of it.
    """
    loan = packed_loan()
    kit_type, run = loan.kit.kit_type, loan.enrolment.run
    item = StockItemFactory()
    batch = ElectrodeBatchFactory(on_hand=7)
    sizes = dict.fromkeys(("label_width", "label_height", "pitch_across", "pitch_down"), 30)
    sheet = LabelSheet.objects.create(name="Mine", margin_left=5, margin_top=10, **sizes)
    carrier = Carrier.objects.create(name="Parcel post")
    own = OwnStep.objects.create(symptom="hum", title="Call", to_try="Call us.")
    step = kit_type.return_steps.create(words="Wipe the leads.")
    rule = ReminderRule.objects.create(days=3, moment="before_due")
    transit = set_transit("FR", days_out=3, days_back=4)
    wording = MailWording.objects.create(
        occasion="on_its_way", language="en", subject="Kit", text="Sent."
    )
    mail = draft("packing_list", loan)
    plan = BenchPlan.of(kit_type)
    plan.save()
    practice = Practice.current()
    practice.save()
    return [
        ("rentals:student", [loan.enrolment.student.pk], loan.enrolment.student, "phone", "+44 1"),
        ("rentals:practice", [], practice, "instructor", "Somebody Else"),
        ("rentals:privacy", [], practice, "months_to_keep_students", 30),
        ("rentals:own_days", [], practice, "days_to_check", 4),
        ("rentals:kit_type_edit", [kit_type.pk], kit_type, "name", "Another name"),
        ("rentals:contents_line", [kit_type.lines.last().pk], kit_type.lines.last(), "quantity", 5),
        ("rentals:run_edit", [run.pk], run, "name", "Another run"),
        ("rentals:stock_edit", [item.pk], item, "reorder_point", 99),
        ("rentals:stock_count", [item.pk], item, "on_hand", 98),
        ("rentals:stock_batch", [batch.pk], batch, "on_hand", 97),
        ("rentals:carrier", [carrier.pk], carrier, "name", "Another post"),
        ("rentals:reminder", [rule.pk], rule, "days", 9),
        ("rentals:sheet", [sheet.pk], sheet, "name", "Another sheet"),
        ("rentals:return_step", [step.pk], step, "words", "Another step"),
        ("rentals:own_step", [own.pk], own, "to_try", "Other words"),
        ("rentals:transit", ["FR"], transit, "days_out", 8),
        ("rentals:mail_wording", ["on_its_way"], wording, "subject", "Other words"),
        ("rentals:message_edit", [mail.pk], mail, "subject", "Other words"),
        ("readiness:plan", [kit_type.pk], plan, "noise_limit_uv", 3.5),
    ]


def test_every_form_shows_what_somebody_else_saved_meanwhile_and_then_keeps_what_is_chosen(
    signed_in: Client,
):
    for route, place, row, column, theirs in _open_forms():
        address = reverse(route, args=place)
        mine = _shown(signed_in.get(address))
        type(row).objects.filter(pk=row.pk).update(**{column: theirs})
        refused = signed_in.post(address, mine)
        page = unescape(refused.content.decode())
        assert (route, refused.status_code) == (route, 422)
        assert page.count(SEEN) >= 1, route
        assert str(theirs).rstrip("0").rstrip(".") in page, route
        kept = _shown(refused)
        marks = ("as_shown", "form_key", "csrfmiddlewaretoken")
        assert {**kept, **dict.fromkeys(marks)} == {**mine, **dict.fromkeys(marks)}, route
        row.refresh_from_db()
        assert str(getattr(row, column)) == str(theirs), route
        assert SEEN not in signed_in.post(address, kept).content.decode(), route


def test_the_same_words_of_both_are_no_matter_and_a_choice_is_kept(signed_in: Client):
    student = StudentFactory(phone="1", city="Oldtown")
    address = student.get_absolute_url()
    mine = _shown(signed_in.get(address)) | {"phone": "2", "city": "Mytown"}
    Student.objects.filter(pk=student.pk).update(phone="2", city="Theirtown")
    refused = signed_in.post(address, mine)
    assert list(refused.context["form"].errors) == ["city"]
    assert "Theirtown" in refused.context["form"].errors["city"][0]
    assert signed_in.post(address, _shown(refused)).status_code == 302
    student.refresh_from_db()
    assert (student.phone, student.city) == ("2", "Mytown")


def test_what_is_saved_between_the_look_and_the_lock_is_seen_too(signed_in: Client):
    student = StudentFactory(phone="1")
    form = StudentForm({}, instance=student)
    check_still_so(form)
    Student.objects.filter(pk=student.pk).update(phone="2")
    with pytest.raises(Refused, match="at the same moment"):
        check_still_so(form)
    Student.objects.filter(pk=student.pk).delete()
    with pytest.raises(Refused, match="has removed this"):
        check_still_so(form)

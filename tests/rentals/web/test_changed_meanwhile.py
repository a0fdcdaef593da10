"""Two people with one form open: nobody's words overwrite another's unseen, in any form."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from html import unescape
from html.parser import HTMLParser
from typing import Any

import pytest
import time_machine
from django.contrib.auth.models import User
from django.forms import BaseForm
from django.test import Client
from django.urls import get_resolver, reverse
from django.utils import timezone

import kitdesk.passkey_forms
import kitdesk.sign_in  # noqa: F401  (the library looks its forms up by name, late)
from kitdesk.forms import RolesForm
from kitdesk.people import roles_held, set_roles
from kitdesk.roles.role import DeskRole
from readiness.models import BenchPlan
from rentals.actions.customs import answer_customs
from rentals.actions.draft import draft
from rentals.actions.student_texts import save_student_text
from rentals.actions.transit import set_transit
from rentals.dates import short_date
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
from rentals.planning.arrival import Arrived
from rentals.web.changed_meanwhile import check_still_so, is_edit
from tests.factories import (
    ElectrodeBatchFactory,
    StockItemFactory,
    StudentFactory,
    complete_kit,
    packed_loan,
)
from tests.rentals.actions.test_found import parcel_with
from tests.rentals.arrivals import loan_away, loan_with_arrival
from tests.rentals.guide import reported
from tests.test_hostile_requests import routes

pytestmark = [pytest.mark.django_db, pytest.mark.any_database]

SEEN = "Somebody has changed this since you opened the page."
Entries = dict[str, Any]
OWN = ("kitdesk", "readiness", "rentals")
#: Forms of a model, or of a row, that only make new ones.
ALWAYS_NEW = ("HelperForm", "NewTransitForm", "OwnerForm")
#: Why a form has nothing of another person's to overwrite, and which forms.
NOTHING_TO_OVERWRITE = {
    "makes something new": (
        "NewKitsForm NewPartForm RegisterHereForm AccessTokenForm WebhookForm CalendarLinkForm"
        " RestockForm FleetForm RosterFileForm UploadForm StarterForm FoundForm NoteForm WriteForm"
        " RunMailForm PhotosForm ReplaceKitForm ReplacePartForm ChargeForm"
    ),
    "adds an entry to the ledger, where none is ever written over": (
        "MoneyForm BalancePaidForm ClaimForm"
    ),
    "an act that its state allows once: the second is refused under the lock": (
        "AnswerForm AsideForm MovedForm RoundFilesForm DamageForm FitForm SwapForm RemoveForm"
        " MoveForm NotSentForm SentBackForm CloseForm DispatchForm RunDispatchForm OverrideForm"
        " ShortDatedForm UndoForm LendForm OtherKitForm ArrivalForm AssignForm SendForm"
        " RemoveLineForm ConfirmForm ReasonForm LimitReasonForm"
    ),
    "carries a mark of all that was shown": "AcceptPlanForm ChosenDraftsForm",
    "a count or a reading of its own moment": "ScanForm DispatchScanForm RestForm VoltsForm",
    "looks for something and changes nothing": (
        "FindKitForm LabelForm LabelPhotoForm ScopeForm RunSpanForm WordingLanguageForm"
    ),
    "of a file that one person is putting in": "ColumnsForm LettersForm ColumnMapForm",
    "sent by a student of their own loan": "ArrivedLineForm ArrivalNoteForm PostedForm",
    "of one's own account, by which one signs in": (
        "SignInForm PasswordAgainForm SecondStepForm SecondStepAgainForm PasskeyForm"
        " PasskeyNameForm PasskeySignInForm PasskeySecondStepForm PasskeyAgainForm"
    ),
    "a secret, of which no page shows the old one": "NewPasswordForm",
    "keeps lines apart by `mind_others`": "ReturnLineForm",
    "only a base of others": "HashesPassword TableForm ExpiryForm",
}


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
    practice.street, practice.city, practice.postcode = "Lane 1", "Town", "10999"
    practice.country = "DE"
    practice.save()
    customs = answer_customs("de", "aland", needed=True, note="Asked at the counter.")
    text = save_student_text("page.care", "de", "Pfleglich behandeln.")
    fault = reported()
    with time_machine.travel(timezone.now() - timedelta(days=3)):
        found = parcel_with(complete_kit().parts.get(kind="charger"))
    lacking = loan_with_arrival(charger=Arrived(missing=1))
    away, back = loan_away(), found.check_of.loan
    return [
        ("rentals:customs_place", ["aland"], customs, "note", "Asked once more."),
        ("rentals:student_text", ["page.care", "de"], text, "body", "Gut behandeln."),
        ("rentals:fault_answer", [fault.pk], fault, "answer", "Charge it."),
        ("rentals:fault_close", [fault.pk], fault, "answer", "Charged."),
        ("rentals:found_aside", [found.pk], found, "lies", "shelf 9"),
        ("rentals:loan_tracking", [away.pk], away, "tracking_number", "RR 99"),
        ("rentals:loan_extend", [away.pk], away, "due_on", away.due_on + timedelta(days=9)),
        ("rentals:loan_arrival", [back.pk], back, "arrived_at", timezone.now() - timedelta(days=1)),
        ("rentals:loan_arrival_answer", [lacking.pk], lacking.arrival_check, "answer", "Posted."),
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


def _said(theirs: object) -> str:
    """As a page shows it."""
    if isinstance(theirs, date):
        return short_date(timezone.localtime(theirs) if isinstance(theirs, datetime) else theirs)
    return str(theirs).rstrip("0").rstrip(".")


def test_every_form_shows_what_somebody_else_saved_meanwhile_and_then_keeps_what_is_chosen(
    signed_in: Client,
):
    walked = set()
    for route, place, row, column, theirs in _open_forms():
        address = reverse(route, args=place)
        shown = signed_in.get(address)
        walked.add(type(shown.context["form"]))
        mine = _shown(shown)
        type(row).objects.filter(pk=row.pk).update(**{column: theirs})
        refused = signed_in.post(address, mine)
        page = unescape(refused.content.decode())
        assert (route, refused.status_code) == (route, 422)
        assert page.count(SEEN) >= 1, route
        assert _said(theirs) in page, route
        kept = _shown(refused)
        marks = ("as_shown", "form_key", "csrfmiddlewaretoken")
        assert {**kept, **dict.fromkeys(marks)} == {**mine, **dict.fromkeys(marks)}, route
        row.refresh_from_db()
        assert str(getattr(row, column)) == str(theirs), route
        assert SEEN not in signed_in.post(address, kept).content.decode(), route
    # Roles are rows of another table, and have a test of their own.
    checked = {form for form in _forms() if is_edit(form)} - {RolesForm}
    assert {form.__name__ for form in checked - walked} == set(ALWAYS_NEW)


def test_a_form_minds_others_or_says_why_it_need_not():
    """A form that changes a row is a model's form or says `edits_row`; the others stand here."""
    others = {form.__name__ for form in _forms() if not is_edit(form)}
    excused = [name for names in NOTHING_TO_OVERWRITE.values() for name in names.split()]
    assert sorted(excused) == sorted(others)


def _forms() -> set[type[BaseForm]]:
    """All forms of the desk, with every page loaded."""
    list(routes(get_resolver()))
    found, rest = set(), [BaseForm]
    while rest:
        rest += (below := rest.pop().__subclasses__())
        found |= {form for form in below if form.__module__.startswith(OWN)}
    return found


def test_two_owners_at_the_roles_of_one_person(signed_in: Client):
    person = User.objects.create_user("sam")
    set_roles(person.pk, [DeskRole.PACKER], by=None)
    address = reverse("people_roles", args=[person.pk])
    mine = _shown(signed_in.get(address)) | {"roles": ["packer", "bench"]}
    set_roles(person.pk, [DeskRole.READER], by=None)
    refused = signed_in.post(address, mine)
    assert refused.status_code == 422 and SEEN in refused.content.decode()
    assert roles_held(User.objects.get(pk=person.pk)) == {DeskRole.READER}
    assert signed_in.post(address, _shown(refused)).status_code == 302
    held = roles_held(User.objects.get(pk=person.pk))
    assert held == {DeskRole.PACKER, DeskRole.BENCH}


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

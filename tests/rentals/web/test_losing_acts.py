"""Every act that loses something, or leaves the house, says first what it will do, or is taken back
from its notice. An act that is in none of the lists below fails the last test.
"""

import html
import re
from collections.abc import Callable
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import get_resolver, reverse
from django.utils import timezone

from rentals.actions.balance import Paid
from rentals.actions.compensation import claim_compensation
from rentals.actions.dispatch import dispatch
from rentals.actions.mail_setup import make_calendar_link, save_wording
from rentals.actions.pack import tick
from rentals.actions.receive import write_off
from rentals.actions.settle import charge, settle
from rentals.actions.student_texts import save_student_text
from rentals.actions.transit import set_transit
from rentals.codes import grouped
from rentals.models import (
    CalendarLink,
    Carrier,
    LabelSheet,
    MailWording,
    OwnStep,
    ReminderRule,
    RosterDraft,
)
from tests.factories import (
    CourseRunFactory,
    StudentFactory,
    assigned_loan,
    complete_kit,
    packed_loan,
    spare,
)
from tests.rentals.actions.test_found import parcel_with
from tests.rentals.guide import reported
from tests.rentals.letters import mail_to
from tests.rentals.photos import add_pictures
from tests.rentals.web.harmless_acts import LOSES_NOTHING
from tests.rentals.web.program_acts import (
    token_page,
    webhook_call_page,
    webhook_page,
    webhook_remove_page,
)
from tests.test_hostile_requests import patterns

pytestmark = pytest.mark.django_db

Place = tuple[list[object], list[str]]


def _lost_loan():
    return write_off(dispatch(packed_loan().kit).kit, reason="It was stolen.")


def _begun_loan():
    loan = assigned_loan()
    tick(loan.packing_lines.first())
    return loan


def write_off_page() -> Place:
    loan = dispatch(packed_loan().kit)
    name = loan.enrolment.student.name
    return [loan.pk], ["Amplifier: €240.00", f"shortfall of {name}: €427.00 in all"]


def settle_page() -> Place:
    return [_lost_loan().pk], ["Deposit paid: €80.00", "Not decided yet: €427.00"]


def waive_page() -> Place:
    short = _lost_loan().shortfalls.first()
    return [short.pk], ["does not pay €240.00"]


def unassign_page() -> Place:
    loan = _begun_loan()
    return [loan.pk], [f"{loan.enrolment.student.name} has no kit", "1 ticked line will be"]


def retire_page() -> Place:
    kit = complete_kit()
    return [kit.code], [part.code for part in kit.parts.all()]


def remove_page() -> Place:
    kit = complete_kit()
    return [kit.code, kit.parts.first().code], ["incomplete until another"]


def withdraw_page() -> Place:
    loan = assigned_loan()
    return [loan.enrolment_id], [f"Kit {loan.kit.code} is free again"]


def contents_line_page() -> Place:
    loan = _begun_loan()
    return [loan.kit.kit_type.lines.first().pk], ["1 parcel that is begun goes on"]


def discard_mail_page() -> Place:
    mail = mail_to("ada@strings.example")
    return [mail.pk], ["ada@strings.example", mail.subject]


def wording_page() -> Place:
    save_wording(MailWording(occasion="statement", subject="Bye", text="Thank you, {student}!"))
    return ["statement"], ["Thank you, {student}!"]


def german_wording_page() -> Place:
    words = {"language": "pl", "subject": "Koniec", "text": "Dziękujemy, {student}!"}
    save_wording(MailWording(occasion="statement", **words))
    return ["statement", "pl"], ["Dziękujemy, {student}!", "Students who read Polish"]


def reminder_page() -> Place:
    return [ReminderRule.objects.create(days=3, moment="after_due").pk], ["drafts no more"]


def sheet_page() -> Place:
    sizes = {"label_width": 63, "label_height": 38, "pitch_across": 66, "pitch_down": 38}
    sheet = LabelSheet.objects.create(name="Mine", margin_left=5, margin_top=10, **sizes)
    return [sheet.pk], ["What was measured is lost"]


def calendar_page() -> Place:
    make_calendar_link("My phone")
    return [CalendarLink.objects.get().pk], ["get nothing from now on"]


def roster_page() -> Place:
    content = {"rows": [{}, {}], "fixes": {"1": {"name": "Ada"}}, "fields": {}, "heads": []}
    run = CourseRunFactory()
    draft = RosterDraft.objects.create(
        run=run, file_name="r.csv", content=content, at=timezone.now()
    )
    return [run.pk, draft.pk], ["2 rows read from the file", "1 row corrected here"]


def resend_page() -> Place:
    mail = mail_to("ada@strings.example")
    return [mail.pk], ["ada@strings.example", mail.subject]


def note_sent_page() -> Place:
    return [mail_to("ada@strings.example").pk], ["This desk does not send it"]


def sent_back_page() -> Place:
    return [dispatch(packed_loan().kit).pk], ["those that wait are discarded"]


def give_up_page() -> Place:
    loan = _lost_loan()
    for short in loan.shortfalls.all():
        charge(short, short.amount)
    settle(loan)
    return [loan.pk], ["Still to pay: €347.00", "The practice bears it"]


def not_compensated_page() -> Place:
    loan = claim_compensation(_lost_loan(), Paid(Decimal(50)))
    return [loan.pk], ["Not asked for any more: €50.00"]


def charge_page() -> Place:
    return [_lost_loan().shortfalls.first().pk], ["Replacement price: €240.00"]


def photo_page() -> Place:
    line = _lost_loan().packing_lines.first()
    add_pictures(line, b"jpeg")
    return [line.photos.get().pk], ["is gone for good", "stays in the history"]


def recover_page() -> Place:
    return [_lost_loan().shortfalls.first().pk], ["becomes a spare again"]


def swap_page() -> Place:
    kit = complete_kit()
    part = kit.parts.first()
    return [kit.code, part.code], [f"{grouped(part.code)} comes out"]


def move_page() -> Place:
    return [spare("charger").code], ["It is spare now"]


def carrier_page() -> Place:
    return [Carrier.objects.create(name="Parcel post").pk], ["Loans keep its name."]


def other_kit_page() -> Place:
    loan = _begun_loan()
    return [loan.pk], ["is free again; what is ticked of it is unticked", "on the same days"]


def transit_page() -> Place:
    set_transit("ES", days_out=4, days_back=7)
    return ["ES"], ["Runs and loans keep the days they have."]


def found_part_page() -> Place:
    thing = parcel_with(complete_kit().parts.get(kind="charger"))
    return [thing.pk], ["must be tested again before it goes out"]


def found_aside_page() -> Place:
    thing = parcel_with(complete_kit().parts.get(kind="charger"))
    return [thing.pk], ["which is then incomplete"]


def student_text_page() -> Place:
    save_student_text("page.care", "de", "Pfleglich behandeln.")
    return ["page.care", "de"], ["Pfleglich behandeln.", "Your own words are thrown away"]


def fault_answer_page() -> Place:
    return [reported().pk], ["The student reads it on their page. No mail leaves."]


def own_step_page() -> Place:
    step = OwnStep.objects.create(symptom="hum", title="Call", to_try="Call us.")
    return [step.pk], ["not asked to try it any more"]


def fault_close_page() -> Place:
    return [reported().pk], ["stands for good", "on no list of work any more"]


def erase_page() -> Place:
    student = StudentFactory(name="Mia Lund")
    return [student.pk], ["Mia Lund has no name", "Older backups still hold the student"]


#: Acts with a page that names what they do, and what stands on it.
SHOWN_FIRST: dict[str, Callable[[], Place]] = {
    "rentals:loan_write_off": write_off_page,
    "rentals:loan_settle": settle_page,
    "rentals:loan_unassign": unassign_page,
    "rentals:shortfall_waive": waive_page,
    "rentals:kit_retire": retire_page,
    "rentals:kit_remove": remove_page,
    "rentals:withdraw": withdraw_page,
    "rentals:contents_line_remove": contents_line_page,
    "rentals:message_discard": discard_mail_page,
    "rentals:mail_wording_usual": wording_page,
    "rentals:mail_wording_remove": german_wording_page,
    "rentals:reminder_remove": reminder_page,
    "rentals:sheet_remove": sheet_page,
    "rentals:access_token_revoke": token_page,
    "rentals:webhook_pause": webhook_page,
    "rentals:webhook_remove": webhook_remove_page,
    "rentals:webhook_again": webhook_call_page,
    "rentals:calendar_revoke": calendar_page,
    "rentals:roster_discard": roster_page,
    "rentals:message_resend": resend_page,
    "rentals:message_sent": note_sent_page,
    "rentals:loan_sent_back": sent_back_page,
    "rentals:shortfall_charge": charge_page,
    "rentals:loan_give_up": give_up_page,
    "rentals:loan_not_compensated": not_compensated_page,
    "rentals:shortfall_recover": recover_page,
    "rentals:photo_remove": photo_page,
    "rentals:kit_swap": swap_page,
    "rentals:part_move": move_page,
    "rentals:carrier_remove": carrier_page,
    "rentals:plan_swap": other_kit_page,
    "rentals:transit_drop": transit_page,
    "rentals:found_move": found_part_page,
    "rentals:found_aside": found_aside_page,
    "rentals:student_text_usual": student_text_page,
    "rentals:fault_answer": fault_answer_page,
    "rentals:fault_close": fault_close_page,
    "rentals:own_step_remove": own_step_page,
    "rentals:student_erase": erase_page,
}
#: The same, tested with what they send: tests/rentals/views/test_messages.py, test_run_mail.py,
#: test_chosen.py, test_student_links.py and test_calendar_feed.py.
SHOWN_FIRST_ELSEWHERE = {
    "rentals:messages_approve",
    "rentals:message_approve",
    "rentals:loan_arrival_answer",
    "rentals:loan_new_link",
    "rentals:calendar_renew",
    "rentals:loan_stop_link",
    "rentals:run_mail",
    "rentals:run_dispatch",
    "rentals:kits_hold",
    "rentals:parts_move",
    "rentals:replacement_cancel",
    "rentals:replacement_send",
    "rentals:return_step_remove",
}
#: Acts that another takes back, offered where the first one leads.
TAKEN_BACK = {
    "rentals:pack_tick": "rentals:pack_tick",
    "rentals:pack_rest": "rentals:pack_tick",
    "rentals:pack_close": "rentals:pack_unpack",
    "rentals:pack_dispatch": "rentals:pack_recall",
    "rentals:dispatch_scan": "rentals:dispatch_undo",
    "rentals:kit_hold": "rentals:kit_release",
    "readiness:capture_aside": "readiness:capture_count_again",
    "readiness:check_kit": "readiness:check_kit",
    "rentals:fault_hold": "rentals:fault_hold",
    "rentals:guide_step": "rentals:guide_step",
}


@pytest.mark.parametrize("route", SHOWN_FIRST)
def test_what_it_will_do_stands_above_its_button(signed_in: Client, route: str):
    place, words = SHOWN_FIRST[route]()
    page = signed_in.get(reverse(route, args=place))
    assert page.status_code == 200
    shown = html.unescape(page.content.decode())
    effects = re.search(r'<div class="effects">(.*?)</div>', shown, re.DOTALL)
    assert effects, "The page has no effects."
    for sentence in words:
        assert sentence in effects[1]
    act = page.context["page"]
    assert act.undo or "This cannot be undone" in effects[1] or not act.danger


def _dummy(route: str) -> list[object]:
    places = {"row": 10**9, "str": "K9999ZZ", "slug": "none"}
    return [places[kind] for kind in re.findall(r"<(\w+):", route)]


def test_every_act_is_in_one_of_the_lists(signed_in: Client):
    taking_posts = set()
    for name, pattern in patterns(get_resolver()):
        address = reverse(name, args=_dummy(str(pattern.pattern)))
        if signed_in.post(address).status_code != 405:
            taking_posts.add(name)
    listed = SHOWN_FIRST_ELSEWHERE | LOSES_NOTHING | set(SHOWN_FIRST) | set(TAKEN_BACK)
    assert taking_posts - listed - set(TAKEN_BACK.values()) == set()
    assert listed - taking_posts == set()
    assert set(TAKEN_BACK.values()) <= taking_posts

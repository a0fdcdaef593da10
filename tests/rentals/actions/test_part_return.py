"""A parcel with half of a kit: the rest stays due, is reminded of by name, and a second parcel goes
on with the same check.
"""

from datetime import datetime, time, timedelta

import pytest
from django.utils import timezone

from rentals.actions.dispatch import dispatch, note_sent_back, recall
from rentals.actions.issue import clear
from rentals.actions.part_return import await_rest
from rentals.actions.receive import arrive, finish_check, note_line, write_off
from rentals.actions.receive_rest import note_rest_back
from rentals.actions.remind import remind
from rentals.actions.return_scan import scan_return
from rentals.errors import Refused
from rentals.models import Kit, Message, ReminderRule
from rentals.selectors.return_rest import rest_of_loan
from rentals.selectors.return_table import checks_under_way, due_elsewhere
from rentals.verify import verify
from tests.factories import packed_loan
from tests.rentals.actions.acts import events_after

pytestmark = pytest.mark.django_db


def test_half_a_kit_and_then_the_rest():
    loan = dispatch(packed_loan().kit)
    note_sent_back(loan, timezone.localdate(), tracking_number="B1")
    check = arrive(loan.kit)
    assert events_after(lambda: await_rest(check), "Nothing of the kit is back yet") == 0
    here = ("amplifier", "charger")
    for part in loan.kit.parts.filter(kind__in=here):
        scan_return(check, part.code)
    bands = check.lines.get(packing_line__part_kind="band")
    note_line(bands, "back", quantity_back=1, cleaned=True)
    loan = await_rest(check)
    assert await_rest(check).stage == "away"
    assert (loan.arrived_at, loan.on_its_way_back) == (None, False)
    rest = ["Licence key", "Lead set", "Battery pack", "Wrist band", "Shipping box"]
    assert rest_of_loan(loan) == rest
    # It waits with the student's rest: no bench, no loss of the half that is here.
    kit = Kit.objects.get(pk=loan.kit_id)
    assert (kit.state, kit.cleared) == ("away", False)
    with pytest.raises(Refused, match="a kit that is away cannot be cleared"):
        clear(kit, why="bench")
    with pytest.raises(Refused, match="go on with its check"):
        write_off(kit, reason="The rest is lost.")
    with pytest.raises(Refused, match="its dispatch happened"):
        recall(kit)
    assert not checks_under_way()
    leads, charger = (loan.kit.parts.get(kind=kind) for kind in ("lead_set", "charger"))
    assert loan.enrolment.student.name in due_elsewhere(leads.code)
    assert due_elsewhere(charger.code) == ""
    # The second parcel goes on with the same check.
    assert arrive(kit) == check
    assert loan.events.filter(text__startswith="More of it is back").count() == 1
    for part in kit.parts.exclude(kind__in=here):
        scan_return(check, part.code)
    bands.refresh_from_db()
    assert bands.quantity_back == 1
    note_line(bands, "back", quantity_back=2)
    note_rest_back(check, cleaned=True, charged=True)
    with pytest.raises(Refused, match="nothing is still to come"):
        await_rest(check)
    assert finish_check(check).shortfalls.count() == 0
    assert verify() == []


def test_reminders_name_only_the_rest_and_never_ask_whether_it_arrived():
    ReminderRule.objects.create(days=0, moment="after_due")
    ReminderRule.objects.create(days=1, moment="after_dispatch")
    loan = dispatch(packed_loan().kit)
    check = arrive(loan.kit)
    for part in loan.kit.parts.exclude(kind="lead_set"):
        scan_return(check, part.code)
    loan = await_rest(check)
    assert remind(now=timezone.now() + timedelta(days=5)) == 0
    late = timezone.make_aware(datetime.combine(loan.due_on + timedelta(days=5), time(9)))
    assert remind(now=late) == 1
    (mail,) = Message.objects.filter(occasion="overdue")
    assert "Part of kit" in mail.body_text and "- Lead set, serial" in mail.body_text
    assert "- 2 × Wrist band" in mail.body_text
    assert "Amplifier" not in mail.body_text and "has not reached us yet" not in mail.body_text

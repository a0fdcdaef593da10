"""The cells of a loan from its rows, and where they are said."""

from datetime import timedelta

import pytest
from django.utils import timezone

from rentals.actions.dispatch import dispatch
from rentals.actions.remind import remind
from rentals.models import BatteryPack, KitType, Message, ReminderRule
from rentals.planning.cells import CellVerdict
from rentals.selectors.cells import cell_outlook, cells_in_words
from rentals.selectors.paper_facts.packing_lists import packing_list_facts
from tests.factories import assigned_loan, packed_loan

pytestmark = pytest.mark.django_db


def test_nothing_is_said_before_the_drain_is_on_file():
    loan = assigned_loan()
    assert cell_outlook(loan, timezone.localdate()) is None
    assert cells_in_words(loan, timezone.localdate()) == ""
    assert packing_list_facts(loan).cells == ""


def test_packs_papers_and_pages_say_whether_the_cells_last(signed_in):
    KitType.objects.update(drain_ma=60)
    loan = assigned_loan()
    KitType.objects.update(drain_ma=60)
    loan.kit.kit_type.refresh_from_db()
    BatteryPack.objects.update(capacity_mah=800)
    found = cell_outlook(loan, timezone.localdate())
    assert found.verdict == CellVerdict.WILL_NOT
    assert found.days == 71
    assert packing_list_facts(loan).cells.startswith("Charge the cells by ")
    for address in (f"/pack/{loan.kit.code}/", loan.get_absolute_url()):
        assert "The cells will not last the course" in signed_in.get(address).content.decode()
    loan.kit.parts.filter(kind="battery_pack").update(kit=None, place="spare")
    assert cell_outlook(loan, timezone.localdate()) is None


def test_the_student_is_reminded_before_the_cells_may_run_low_each_time_once():
    loan = packed_loan()
    KitType.objects.update(drain_ma=60)
    BatteryPack.objects.update(capacity_mah=800)
    dispatch(loan.kit)
    ReminderRule.objects.create(days=3, moment="recharge")
    loan = type(loan).objects.get(pk=loan.pk)
    found = cell_outlook(loan, timezone.localdate())
    assert remind() == 0
    on_the_day = timezone.now() + (found.act_on - timezone.localdate())
    assert remind(now=on_the_day - timedelta(days=1)) == 1
    assert remind(now=on_the_day) == 0
    mail = Message.objects.get(occasion="recharge")
    assert "Please charge the cells of your kit by" in mail.body_text
    assert "Please put new cells" not in mail.body_text
    again = max(found.every, 14)
    assert remind(now=on_the_day + timedelta(days=again)) == 1
    BatteryPack.objects.update(chemistry="alkaline", capacity_mah=400)
    loan = type(loan).objects.get(pk=loan.pk)
    other = cell_outlook(loan, timezone.localdate())
    assert not other.rechargeable

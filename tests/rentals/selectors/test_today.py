"""The work of the day: each piece once, in the order it hurts, with the button that does it."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from rentals.actions.dispatch import dispatch
from rentals.actions.issue import hold, release
from rentals.actions.receive import arrive
from rentals.actions.register import register_kit
from rentals.models import CourseRun, ElectrodeBatch, Kit, Loan, Message
from rentals.selectors.today import work_today
from rentals.selectors.work_lines import SHOWN, WorkGroup
from tests.factories import (
    EnrolmentFactory,
    StockItemFactory,
    assigned_loan,
    complete_kit,
    packed_loan,
)

pytestmark = pytest.mark.django_db


def groups() -> dict[str, WorkGroup]:
    return {group.title: group for group in work_today(timezone.localdate())}


def test_a_desk_without_work_has_no_groups():
    complete_kit()
    assert groups() == {}


def test_every_stage_stands_in_its_own_group_in_the_order_it_hurts():
    back, away, packed, to_pack = packed_loan(), packed_loan(), packed_loan(), assigned_loan()
    arrive(dispatch(back.kit).kit)
    dispatch(away.kit)
    yesterday = timezone.localdate() - timedelta(days=1)
    Loan.objects.filter(pk=away.pk).update(post_by=yesterday, due_on=yesterday)
    bench = complete_kit(cleared=False)
    Message.objects.all().delete()
    work = groups()
    assert {title: [line.code for line in group.lines] for title, group in work.items()} == {
        "Back, to check": [back.kit.code],
        "Overdue": [away.kit.code],
        "Packed, to hand over": [packed.kit.code],
        "To pack, by post-by date": [to_pack.kit.code],
        "To bench": [bench.code],
    }
    assert list(work)[:3] == ["Back, to check", "Overdue", "Packed, to hand over"]
    assert work["Overdue"].lines[0].mark.word == "overdue by 1 day"


def test_a_kit_due_today_is_not_overdue():
    away = packed_loan()
    dispatch(away.kit)
    Loan.objects.filter(pk=away.pk).update(post_by="2020-01-01", due_on=timezone.localdate())
    assert "Overdue" not in groups()


def test_a_kit_that_is_not_cleared_waits_in_two_groups_and_says_so():
    loan = assigned_loan(complete_kit(cleared=False))
    work = groups()
    assert work["To pack, by post-by date"].lines[0].why.endswith("; not cleared yet")
    assert [line.code for line in work["To bench"].lines] == [loan.kit.code]


def test_what_waits_for_the_bench_is_counted_as_the_bench_counts_it(signed_in):
    loan, on_shelf = assigned_loan(complete_kit(cleared=False)), complete_kit()
    hold(on_shelf, reason="to be looked at")
    release(on_shelf)
    Kit.objects.filter(pk=on_shelf.pk).update(cleared=False)
    new = register_kit(loan.kit.kit_type)
    group = groups()["To bench"]
    assert {line.code for line in group.lines} == {loan.kit.code, on_shelf.code}
    bench = signed_in.get(group.all_url).content.decode()
    assert all(f"/bench/kits/{line.code}/" in bench for line in group.lines)
    assert f"/bench/kits/{new.code}/" not in bench
    assert [line.act for line in groups()["New kits that lack parts"].lines] == ["Fit its parts"]


def test_mail_that_did_not_go_is_not_counted_with_mail_that_may_have_gone():
    first, second = (packed_loan().messages.get() for _ in range(2))
    Message.objects.filter(pk=first.pk).update(state="failed")
    Message.objects.filter(pk=second.pk).update(state="uncertain")
    for title, state in (
        ("Mail that did not go", "failed"),
        ("Mail that may have gone", "uncertain"),
    ):
        group = groups()[title]
        assert group.total == 1 and group.all_url.endswith(f"state={state}")


def test_a_held_kit_says_why():
    kit = complete_kit()
    hold(kit, reason="cracked housing")
    (line,) = groups()["Held"].lines
    assert (line.code, line.what) == (kit.code, "cracked housing")


def test_a_parcel_whose_kit_is_held_says_so_where_it_is_to_be_packed():
    loan = assigned_loan()
    hold(loan.kit, reason="cracked housing")
    (line,) = groups()["To pack, by post-by date"].lines
    assert line.why.endswith("; held: cracked housing")


def test_drafts_are_one_line_however_many():
    packed_loan()
    drafts = Message.objects.filter(state="draft").count()
    (line,) = groups()["Mail to approve"].lines
    assert line.what.startswith(f"{drafts} mail")
    assert groups()["Mail to approve"].total == drafts


def test_no_more_than_a_dozen_are_shown_and_the_rest_counted():
    for _ in range(SHOWN + 3):
        StockItemFactory(on_hand=0)
    group = groups()["Stock to reorder"]
    assert (len(group.lines), group.total, group.more) == (SHOWN, SHOWN + 3, 3)


def test_stock_to_reorder_is_what_the_shopping_list_says():
    item = StockItemFactory(on_hand=10, reorder_point=10)
    StockItemFactory(on_hand=11, reorder_point=10)
    (line,) = groups()["Stock to reorder"].lines
    assert (line.what, line.act) == (item.name, "Restock")
    assert line.why == "10 are here, at or below your own reorder point of 10."
    assert groups()["Stock to reorder"].all_url == reverse("rentals:plan_stock")


def test_students_without_a_kit_for_a_run_posted_soon_are_counted_with_the_days():
    enrolment = EnrolmentFactory()
    EnrolmentFactory(run=enrolment.run)
    (line,) = groups()["Runs to be posted soon"].lines
    assert (line.what, line.why) == ("2 students without a kit", enrolment.run.name)
    assert line.mark.word == "post in 7 days"
    assert (line.act, line.url) == (
        "Assign kits",
        reverse("rentals:run_assign", args=[enrolment.run.pk]),
    )


def test_stock_that_does_not_reach_for_a_run_stands_at_its_due_place():
    run = EnrolmentFactory().run
    ElectrodeBatch.objects.update(on_hand=12)
    assigned_loan()
    work = groups()
    (line,) = work["Stock that does not reach"].lines
    assert line.what.endswith(": 24 needed, 12 here")
    assert (line.why, line.act, line.mark.word) == (run.name, "Restock", "post in 7 days")
    titles = list(work)
    assert titles.index("Stock that does not reach") < titles.index("To pack, by post-by date")
    CourseRun.objects.update(post_by=run.post_by + timedelta(days=1))
    titles = list(groups())
    assert titles.index("Stock that does not reach") > titles.index("To pack, by post-by date")

"""The work of the day: what is to be done, in the order it hurts, each line with the one action
that does it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date, timedelta
from typing import Any

from django.db.models import QuerySet
from django.urls import reverse

from rentals.codes import grouped
from rentals.counts import counted
from rentals.due_dates import SOON_DAYS
from rentals.marks import Mark
from rentals.models import CourseRun, Kit, Message, Shortfall
from rentals.next_acts import ASSIGN_KITS, Way, message_act
from rentals.selectors.broken_plans import (
    broken_earmarks,
    plan_again,
    refused_loans,
    trouble_of,
)
from rentals.selectors.charging import is_to_charge
from rentals.selectors.day_facts import DayFacts
from rentals.selectors.found import finds_to_put_away, found_rows
from rentals.selectors.kept_answers import KeptAnswers
from rentals.selectors.kits import kits_that_wait_for_bench, kits_without_parts
from rentals.selectors.next_steps import (
    button,
    kit_step,
    message_button,
    shortfall_button,
)
from rentals.selectors.replacements import replacements_today
from rentals.selectors.run_chances import first_at_risk
from rentals.selectors.runs_ahead import runs_to_assign
from rentals.selectors.shopping_list import ShoppingRow, items_to_order
from rentals.selectors.stock_ahead import RunShort
from rentals.selectors.today_arrivals import arrivals_lacking
from rentals.selectors.today_faults import faults_reported
from rentals.selectors.today_loans import overdue, to_check, to_dispatch, to_pack
from rentals.selectors.today_money import money_owed
from rentals.selectors.unserved import kit_waits
from rentals.selectors.work_lines import SHOWN, WorkGroup, WorkLine, group_of, post_mark
from rentals.states import KitState, MessageState

CHANCES_AHEAD_DAYS = 42
"""Days before posting from which a run that may lack kits is work: time to chase, mend or buy."""


#: All that the line of a kit and its button read.
_OF_A_KIT = (
    *("code", "state", "cleared", "override_reason"),
    *("not_cleared_reason", "hold_reason"),
)


def work_today(today: date, answers: KeptAnswers | None = None) -> list[WorkGroup]:
    """All groups that hold work now, in order; a fixed number of queries whatever the size of the
    fleet, and few where nothing changed since somebody looked.
    """
    day = DayFacts(today, answers or KeptAnswers())
    groups = [group for find in _GROUPS for group in _as_list(day.of(find))]
    return [group for group in groups if group.total]


def _as_list(found: WorkGroup | list[WorkGroup]) -> list[WorkGroup]:
    return found if isinstance(found, list) else [found]


def _kit_line(kit: Kit, way: Way, what: str, mark: Mark | None = None) -> WorkLine:
    step = button(way, kit=kit)
    return WorkLine(what, "", step.url, step.act, code=kit.code, mark=mark)


def _found(day: DayFacts) -> WorkGroup:
    rows = finds_to_put_away()
    total = rows.count()
    lines = [
        WorkLine(
            row.what,
            f"{row.why} It was in the parcel of kit {grouped(row.found_in.code)}.",
            row.there.url,
            row.there.act,
            mark=row.mark,
        )
        for row in (found_rows(rows[:SHOWN]) if total else [])
    ]
    return WorkGroup("Found in parcels, to put away", lines, total)


def _broken(day: DayFacts) -> WorkGroup:
    """Kits that were agreed and cannot be had: a plan made again gives others."""
    today = day.today
    set_aside, refused = broken_earmarks(today, day.practice), refused_loans()
    first, then = list(set_aside[:SHOWN]), list(refused[:SHOWN])
    rows = [(row.kit, row.enrolment, trouble_of(row)) for row in first]
    rows += [(row.kit, row.enrolment, "the bench refused the kit") for row in then]
    total = _all_of(first, set_aside) + _all_of(then, refused)
    lines = [
        WorkLine(
            who.student.name,
            f"{who.run.name}; {why}",
            plan_again(who),
            "Plan again",
            code=kit.code,
            mark=post_mark(who.run.post_by, today),
        )
        for kit, who, why in rows[:SHOWN]
    ]
    return WorkGroup("Agreed kits that cannot be had", lines, total)


def _all_of(shown: Sequence[Any], rows: QuerySet[Any]) -> int:
    """How many rows there are; they are only counted where not all of them are shown."""
    return rows.count() if len(shown) == SHOWN else len(shown)


def _to_assign(day: DayFacts) -> WorkGroup:
    today = day.today

    def line(run: CourseRun) -> WorkLine:
        step = button(ASSIGN_KITS, run=run)
        mark = post_mark(run.post_by, today)
        return WorkLine(kit_waits(run).words, run.name, step.url, step.act, mark=mark)

    # To count them takes as long as to read them, and they are few.
    runs = list(runs_to_assign(today))
    lines = [line(run) for run in runs[:SHOWN]]
    return WorkGroup("Runs to be posted soon", lines, len(runs), reverse("rentals:runs"))


def _at_risk(day: DayFacts) -> WorkGroup:
    """The first coming run that may lack kits, said once; the page behind it shows all."""
    today = day.today
    found = first_at_risk(today, today + timedelta(days=CHANCES_AHEAD_DAYS), day.practice)
    address = reverse("rentals:chances")
    lines = []
    if found is not None:
        mark = post_mark(found.run.post_by, today)
        name = found.run.name
        lines = [WorkLine(found.sentence, name, address, "See the chances", mark=mark)]
    return WorkGroup("Kits may lack", lines, len(lines), address)


def _stock_short_soon(day: DayFacts) -> WorkGroup:
    return _stock_short(day, _pressing(day))


def _stock_short_later(day: DayFacts) -> WorkGroup:
    return _stock_short(day, day.stock_short[len(_pressing(day)) :])


def _pressing(day: DayFacts) -> list[RunShort]:
    until = day.today + timedelta(days=SOON_DAYS)
    return [row for row in day.stock_short if row.run.post_by <= until]


def _stock_short(day: DayFacts, stock: Sequence[RunShort]) -> WorkGroup:
    """Stock that will not suffice for runs; `stock` is in the order of their posting."""
    lines = [
        WorkLine(
            f"{row.item.name}: {row.words}",
            f"{row.run.name}; {row.hint}" if row.hint else row.run.name,
            row.next.url,
            row.next.act,
            mark=post_mark(row.run.post_by, day.today),
        )
        for row in stock[:SHOWN]
    ]
    return WorkGroup("Stock that does not reach", lines, len(stock), reverse("rentals:stock"))


def _to_bench(day: DayFacts) -> WorkGroup:
    def line(kit: Kit) -> WorkLine:
        return _kit_line(
            kit, kit_step(kit).here or kit_step(kit).there, kit.not_cleared_reason or "Test it."
        )

    # Kits that somebody waits for come first.
    rows = kits_that_wait_for_bench().order_by("state", "returned_at", "code").only(*_OF_A_KIT)
    return group_of("To bench", rows, line, reverse("readiness:bench"))


def _to_fit(day: DayFacts) -> WorkGroup:
    def line(kit: Kit) -> WorkLine:
        return _kit_line(kit, kit_step(kit).there, kit.not_cleared_reason)

    rows = kits_without_parts().only(*_OF_A_KIT)
    return group_of("New kits that lack parts", rows, line, reverse("rentals:kits"))


def _mails(state: MessageState) -> str:
    """Address of the list of mails in one state."""
    return f"{reverse('rentals:messages')}?state={state}"


def _mails_failed(day: DayFacts) -> WorkGroup:
    return _mail_troubles(day, MessageState.FAILED, "Mail that did not go")


def _mails_uncertain(day: DayFacts) -> WorkGroup:
    return _mail_troubles(day, MessageState.UNCERTAIN, "Mail that may have gone")


def _mail_troubles(day: DayFacts, state: MessageState, title: str) -> WorkGroup:
    def line(mail: Message) -> WorkLine:
        whom = mail.to_name or mail.to_address
        step = message_button(mail)
        what = f"{mail.subject}, to {whom}"
        return WorkLine(what, mail.last_error, step.url, step.act, mark=mail.mark)

    rows = Message.objects.filter(state=state).defer("body_text", "body_html").order_by("pk")
    return group_of(title, rows, line, _mails(state), day.mails[state])


def _drafts(day: DayFacts) -> WorkGroup:
    total = day.mails[MessageState.DRAFT]
    drafts = counted(total, "mail is drafted and waits", "mails are drafted and wait")
    lines = [
        WorkLine(
            f"{drafts} for your word",
            "",
            _mails(MessageState.DRAFT),
            message_act(MessageState.DRAFT).there.act,
        )
    ]
    return WorkGroup("Mail to approve", lines if total else [], total)


def _money(day: DayFacts) -> list[WorkGroup]:
    return money_owed(day.today, day.practice)


def _shortfalls(day: DayFacts) -> WorkGroup:
    today, practice = day.today, day.practice

    def line(short: Shortfall) -> WorkLine:
        student = short.loan.enrolment.student.name
        to_charge = is_to_charge(short, today, practice)
        step = shortfall_button(short, to_charge=to_charge)
        proposed = "proposed for charging" if to_charge else ""
        return WorkLine(
            f"{short.packing_line.name} {short.get_kind_display()}",
            "; ".join(filter(None, (student, short.detail, proposed))),
            step.url,
            step.act,
            code=short.loan.kit.code,
            mark=short.mark,
        )

    rows = Shortfall.objects.filter(state__in=Shortfall.UNSETTLED).select_related(
        "loan__kit", "loan__enrolment__student", "packing_line"
    )
    rows = rows.only(
        *("state", "kind", "detail", "opened_at", "packing_line__name"),
        *("loan__kit__code", "loan__enrolment__student__name"),
    )
    return group_of("Shortfalls", rows.order_by("opened_at"), line, reverse("rentals:shortfalls"))


def _reorder(day: DayFacts) -> WorkGroup:
    """What is to be ordered today, without what stands among the runs it does not suffice for."""

    def line(row: ShoppingRow) -> WorkLine:
        return WorkLine(row.item.name, row.why, row.next.url, row.next.act)

    already = {row.item.pk for row in day.stock_short}
    due = items_to_order(day.today, day.practice, day.parcels)
    rows = [row for row in due if row.item.pk not in already]
    lines = [line(row) for row in rows[:SHOWN]]
    return WorkGroup("Stock to reorder", lines, len(rows), reverse("rentals:plan_stock"))


def _held(day: DayFacts) -> WorkGroup:
    def line(kit: Kit) -> WorkLine:
        return _kit_line(kit, kit_step(kit).there, kit.hold_reason, kit.mark)

    rows = Kit.objects.filter(state=KitState.HELD).order_by("code").only(*_OF_A_KIT)
    return group_of("Held", rows, line)


def _faults(day: DayFacts) -> WorkGroup:
    return faults_reported()


def _replacements(day: DayFacts) -> WorkGroup:
    return replacements_today(day.today)


def _arrivals(day: DayFacts) -> WorkGroup:
    return arrivals_lacking()


_GROUPS: tuple[Callable[[DayFacts], WorkGroup | list[WorkGroup]], ...] = (
    to_check,
    _faults,
    _replacements,
    _found,
    _arrivals,
    overdue,
    _broken,
    to_dispatch,
    _to_assign,
    _at_risk,
    _stock_short_soon,
    to_pack,
    _to_bench,
    _to_fit,
    _mails_failed,
    _mails_uncertain,
    _drafts,
    _shortfalls,
    _money,
    _stock_short_later,
    _reorder,
    _held,
)

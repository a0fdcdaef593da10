"""The work of the day: what is to be done, in the order it hurts, each line with the one action
that does it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date

from django.db.models import F, Q, QuerySet, Sum
from django.db.models.functions import Coalesce
from django.urls import NoReverseMatch, reverse

from rentals.models import Kit, Loan, LoanStage, Message, Shortfall, StockItem
from rentals.states import KitState

SHOWN = 12


@dataclass(frozen=True)
class WorkLine:
    """One piece of work. `state` and `label` make its mark; `url` and `act` the button."""

    what: str
    why: str
    url: str
    act: str
    code: str = ""
    state: str = ""
    label: str = ""
    day: date | None = None


@dataclass(frozen=True)
class WorkGroup:
    """Pieces of work of one sort; `more` counts those not shown, `all_url` shows them."""

    title: str
    lines: list[WorkLine]
    total: int
    all_url: str = ""
    more: int = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "more", self.total - len(self.lines))


def bench_address(code: str) -> str:
    """Where a kit is tested; the bench is another app and is known by its address only."""
    try:
        return reverse("readiness:kit_bench", args=[code])
    except NoReverseMatch:
        return reverse("rentals:kit", args=[code])


def work_today(today: date) -> list[WorkGroup]:
    """All groups that hold work now, in order; a fixed number of queries whatever the size of the
    fleet.
    """
    groups = [
        _to_check(),
        _overdue(today),
        _to_dispatch(),
        _to_pack(today),
        _to_bench(),
        _mail_troubles(),
        _drafts(),
        _shortfalls(),
        _reorder(),
        _held(),
    ]
    return [group for group in groups if group.total]


def _group(title: str, rows: QuerySet, line, all_url: str = "") -> WorkGroup:
    total = rows.count()
    lines: Iterable[WorkLine] = [line(row) for row in rows[:SHOWN]] if total else []
    return WorkGroup(title, list(lines), total, all_url)


def _loans(stage: str) -> QuerySet[Loan]:
    return Loan.objects.filter(stage=stage).select_related(
        "kit", "enrolment__student", "enrolment__run"
    )


def _days(days: int) -> str:
    return "1 day" if days == 1 else f"{days} days"


def _post_words(days: int) -> str:
    """How long there is until a parcel must be posted."""
    if days < 0:
        return f"post-by date passed {_days(-days)} ago"
    return "post today" if days == 0 else f"post in {_days(days)}"


def _to_check() -> WorkGroup:
    def line(loan: Loan) -> WorkLine:
        return WorkLine(
            loan.enrolment.student.name,
            loan.enrolment.run.name,
            reverse("rentals:receive_kit", args=[loan.kit.code]),
            "Check",
            code=loan.kit.code,
            state=LoanStage.CHECK,
        )

    return _group(
        "Back, to check",
        _loans(LoanStage.CHECK).order_by("arrived_at"),
        line,
        reverse("rentals:receive"),
    )


def _overdue(today: date) -> WorkGroup:
    def line(loan: Loan) -> WorkLine:
        return WorkLine(
            loan.enrolment.student.name,
            loan.enrolment.run.name,
            loan.get_absolute_url(),
            "Chase",
            code=loan.kit.code,
            day=loan.due_on,
            label=f"overdue by {_days((today - loan.due_on).days)}",
        )

    rows = _loans(LoanStage.AWAY).filter(due_on__lt=today).order_by("due_on")
    return _group("Overdue", rows, line, reverse("rentals:receive"))


def _to_dispatch() -> WorkGroup:
    def line(loan: Loan) -> WorkLine:
        return WorkLine(
            loan.enrolment.student.name,
            loan.enrolment.run.name,
            reverse("rentals:pack_kit", args=[loan.kit.code]),
            "Dispatch",
            code=loan.kit.code,
            state=LoanStage.PACKED,
        )

    return _group(
        "Packed, to hand over",
        _loans(LoanStage.PACKED).order_by("post_by"),
        line,
        reverse("rentals:pack"),
    )


def _to_pack(today: date) -> WorkGroup:
    def line(loan: Loan) -> WorkLine:
        return WorkLine(
            loan.enrolment.student.name,
            (
                loan.enrolment.run.name
                if loan.kit.cleared
                else f"{loan.enrolment.run.name}; not cleared yet"
            ),
            reverse("rentals:pack_kit", args=[loan.kit.code]),
            "Pack",
            code=loan.kit.code,
            day=loan.post_by,
            label=_post_words((loan.post_by - today).days),
        )

    rows = _loans(LoanStage.ASSIGNED).order_by("post_by", "kit__code")
    return _group("To pack, by post-by date", rows, line, reverse("rentals:pack"))


def _to_bench() -> WorkGroup:
    def line(kit: Kit) -> WorkLine:
        return WorkLine(
            kit.not_cleared_reason or "Test it.",
            "",
            bench_address(kit.code),
            "Bench",
            code=kit.code,
        )

    rows = Kit.objects.filter(
        Q(state=KitState.BENCH) | Q(state=KitState.ASSIGNED, cleared=False, override_reason="")
    )
    # Kits that somebody waits for come first.
    return _group(
        "To bench",
        rows.order_by("state", "returned_at", "code"),
        line,
        reverse("rentals:kits") + "?state=bench",
    )


def _mail_troubles() -> WorkGroup:
    def line(mail: Message) -> WorkLine:
        whom = mail.to_name or mail.to_address
        return WorkLine(
            f"{mail.subject}, to {whom}",
            mail.last_error,
            mail.get_absolute_url(),
            "Look",
            state=mail.state,
        )

    rows = Message.objects.filter(state__in=[Message.State.FAILED, Message.State.UNCERTAIN])
    url = reverse("rentals:messages") + "?state=failed"
    return _group(
        "Mail that did not go", rows.defer("body_text", "body_html").order_by("pk"), line, url
    )


def _drafts() -> WorkGroup:
    total = Message.objects.filter(state=Message.State.DRAFT).count()
    word = "1 mail is drafted" if total == 1 else f"{total} mails are drafted"
    lines = [
        WorkLine(
            f"{word} and waits for your word",
            "",
            reverse("rentals:messages") + "?state=draft",
            "Read",
        )
    ]
    return WorkGroup("Mail to approve", lines if total else [], 1 if total else 0)


def _shortfalls() -> WorkGroup:
    def line(short: Shortfall) -> WorkLine:
        student = short.loan.enrolment.student.name
        return WorkLine(
            f"{short.packing_line.name} {short.get_kind_display()}",
            f"{student}; {short.detail}" if short.detail else student,
            reverse("rentals:shortfall", args=[short.pk]),
            "Settle" if short.state == Shortfall.State.CHASED else "Chase",
            code=short.loan.kit.code,
            state=f"shortfall.{short.state}",
        )

    rows = Shortfall.objects.filter(state__in=Shortfall.UNSETTLED).select_related(
        "loan__kit", "loan__enrolment__student", "packing_line"
    )
    return _group("Shortfalls", rows.order_by("opened_at"), line, reverse("rentals:shortfalls"))


def items_to_reorder() -> QuerySet[StockItem]:
    """Stock items at or below their reorder point, with the pieces on hand as `pieces`."""
    return (
        StockItem.objects.annotate(pieces=Coalesce(Sum("batches__on_hand"), 0) + F("on_hand"))
        .filter(pieces__lte=F("reorder_point"))
        .order_by("name")
    )


def _reorder() -> WorkGroup:
    def line(item: StockItem) -> WorkLine:
        pieces = vars(item)["pieces"]
        why = f"{pieces} {item.unit} left, reorder at {item.reorder_point}"
        return WorkLine(item.name, why, item.get_absolute_url(), "Restock")

    return _group("Stock to reorder", items_to_reorder(), line, reverse("rentals:stock"))


def _held() -> WorkGroup:
    def line(kit: Kit) -> WorkLine:
        return WorkLine(
            kit.hold_reason,
            "",
            kit.get_absolute_url(),
            "Decide",
            code=kit.code,
            state=KitState.HELD,
        )

    return _group("Held", Kit.objects.filter(state=KitState.HELD).order_by("code"), line)

"""Parcels to pack and post: the queue, and all that the pack page shows of one kit."""

from __future__ import annotations

from collections.abc import Container, Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import Count, F, OuterRef, QuerySet, Subquery
from django.db.models.functions import Coalesce

from rentals.codes import is_code, parse_code
from rentals.counts import pieces
from rentals.known_query import KnownQuery, KnownRows
from rentals.marks import Mark, Sign, mark_of
from rentals.models import CourseRun, Kit, KitType, Loan, LoanStage, Message, PackingLine
from rentals.planning.contents import by_inner_bag, mass_of
from rentals.selectors.contents import against_issuing
from rentals.selectors.next_steps import Button, loan_button, message_button
from rentals.selectors.search import is_of_loan, worded_once
from rentals.selectors.stock_short import Short, short_of
from rentals.selectors.unserved import counts_waiting
from rentals.states import KitState

TO_POST = [LoanStage.ASSIGNED, LoanStage.PACKED]


#: What a line of the queue tells of, and all that it reads.
_OF_A_PARCEL = (
    *("stage", "post_by", "due_on", "override_reason", "sent_back_on", "return_tracking_number"),
    *("kit__code", "kit__state", "kit__cleared"),
    *("enrolment__student__name", "enrolment__run__name"),
)


def parcels_to_post() -> QuerySet[Loan]:
    """Loans to pack or to dispatch."""
    return Loan.objects.filter(stage__in=TO_POST)


def parcels_listed(q: str = "") -> QuerySet[Loan]:
    """Loans to pack or to dispatch, by the day they must be posted."""
    loans = parcels_to_post()
    if q:
        loans = loans.filter(pk__in=_to_post_numbers(parse_code(q) if is_code(q) else q))
    return loans.order_by("post_by", "kit__code")


_BY_STAGE = KnownQuery(
    lambda: parcels_to_post().order_by().values_list("stage").annotate(Count("pk"))
)


def count_to_post() -> int:
    """How many parcels are to pack or to dispatch."""
    return sum(number for _, number in _BY_STAGE.rows())


@worded_once
def _to_post_numbers(typed: str) -> QuerySet[Any]:
    return parcels_to_post().filter(is_of_loan(typed)).order_by().values("pk")


def _for_parcels() -> QuerySet[Loan]:
    people = ("kit", "enrolment__student", "enrolment__run")
    return (
        Loan.objects.select_related(*people)
        .only(*_OF_A_PARCEL)
        .annotate(
            lines=_counted(PackingLine.objects.all()),
            ticked=_counted(PackingLine.objects.filter(ticked_at__isnull=False)),
        )
    )


#: Loans by their numbers for `parcel` and the lines of the queue, each with `lines` and `ticked`
#: counts.
loans_of_parcels = KnownRows(_for_parcels).of


def _counted(lines: QuerySet[PackingLine]) -> Coalesce:
    """How many lines of a loan there are among these; counted only for parcels that are shown."""
    of_loan = lines.filter(loan=OuterRef("pk")).order_by().values("loan")
    return Coalesce(Subquery(of_loan.annotate(number=Count("pk")).values("number")), 0)


def parcels_packed() -> QuerySet[Loan]:
    """Closed parcels that wait to be dispatched, by the day they must be posted."""
    packed = Loan.objects.filter(stage=LoanStage.PACKED)
    people = packed.select_related("kit", "enrolment__student", "enrolment__run")
    return people.order_by("post_by", "kit__code")


def parcels_sent(loans: Sequence[int]) -> list[Loan]:
    """Those of these loans that are on their way, the last one first."""
    away = Loan.objects.filter(pk__in=loans, stage=LoanStage.AWAY)
    return list(away.select_related("kit", "enrolment__student").order_by("-dispatched_at", "-pk"))


@dataclass(frozen=True)
class Parcel:
    """One line of the queue: whether it presses, what stands against its kit, and what is next."""

    loan: Loan
    post_mark: Mark | None
    kit_mark: Mark | None
    next: Button
    late: bool


def parcel(loan: Loan, today: date) -> Parcel:
    """A loan of the queue on a day; late is what should have been posted before it."""
    return Parcel(
        loan,
        _post_mark(loan.post_by, today),
        _kit_mark(loan),
        loan_button(loan, today),
        late=loan.post_by < today,
    )


def _post_mark(post_by: date, today: date) -> Mark | None:
    if post_by < today:
        return mark_of(Sign.LATE)
    return mark_of(Sign.DUE_TODAY, "today") if post_by == today else None


def _kit_mark(loan: Loan) -> Mark | None:
    if loan.kit.state == KitState.HELD:
        return loan.kit.mark
    if loan.override_reason:
        return mark_of(Sign.OVERRIDDEN)
    return None if loan.kit.cleared else mark_of(Sign.NOT_CLEARED)


@dataclass(frozen=True)
class PackRow:
    """One line of the list at the bench; with `short` its stock does not reach."""

    line: PackingLine
    short: Short | None = None


@dataclass(frozen=True)
class Bag:
    """The rows of one inner bag, in packing order; lines without a bag lie loose in the box."""

    name: str
    rows: tuple[PackRow, ...]


@dataclass(frozen=True)
class PackingProgress:
    """How far a packing list is; `missing` pairs names with part codes.

    `rest` names what is only counted and not ticked. `edition` changes whenever the list is drawn
    up anew: its rows are new ones then.
    """

    done: int
    total: int
    missing: tuple[tuple[str, str], ...]
    rest: tuple[str, ...]
    short: tuple[Short, ...]
    mass_g: int
    edition: int


@dataclass(frozen=True)
class PackSheet(PackingProgress):
    """A loan's packing list as worked through at the bench: how far it is, its bags, and what the
    gate says against it.
    """

    bags: tuple[Bag, ...]
    against: tuple[str, ...]

    @property
    def short_dated(self) -> tuple[Short, ...]:
        """What reaches once the owner lets pieces go out that expire during the loan."""
        return tuple(short for short in self.short if short.reaches_short_dated)


def pack_sheet(loan: Loan, today: date) -> PackSheet:
    """The list of a loan with its progress, the stock that is short, and what the gate says."""
    lines = list(loan.packing_lines.select_related("stock_item", "batch"))
    frozen = loan.stage != LoanStage.ASSIGNED
    progress = packing_progress(lines, today, frozen=frozen)
    return PackSheet(
        **vars(progress),
        bags=_bags(lines, progress.short),
        against=() if loan.kit.override_reason else tuple(against_issuing(loan.kit)),
    )


def open_lines_of(kit: Kit) -> list[PackingLine]:
    """The lines of a kit's list that is not frozen, in packing order; empty where it has none."""
    lines = PackingLine.objects.filter(loan__kit=kit, loan__stage=LoanStage.ASSIGNED)
    return list(lines.select_related("stock_item", "loan"))


def packing_progress(
    lines: Sequence[PackingLine], today: date, *, frozen: bool = False
) -> PackingProgress:
    """How far these lines are; stock that is short is looked up only while it is still to take."""
    open_lines = [line for line in lines if not line.ticked_at]
    short = {} if frozen else short_of(lines, today)
    return PackingProgress(
        done=len(lines) - len(open_lines),
        total=len(lines),
        missing=tuple((pieces(line.quantity, line.name), line.part_code) for line in open_lines),
        rest=() if frozen else tuple(str(line) for line in counted_rest(lines, short)),
        short=tuple(short.values()),
        mass_g=mass_of(lines),
        edition=max((line.pk for line in lines), default=0),
    )


def row_of(line: PackingLine, short: Iterable[Short]) -> PackRow:
    """A line as its row shows it, given what is short in its parcel."""
    lacks = (lack for lack in short if lack.item.pk == line.stock_item_id)
    return PackRow(line, next(lacks, None))


def counted_rest(lines: Iterable[PackingLine], short: Container[int]) -> list[PackingLine]:
    """The lines that are not ticked, have no serial to scan, and whose stock item is not among
    those that are `short`.
    """
    to_tick = (line for line in lines if line.part_id is None and not line.ticked_at)
    return [line for line in to_tick if line.stock_item_id not in short]


def _bags(lines: Iterable[PackingLine], short: Sequence[Short]) -> tuple[Bag, ...]:
    return tuple(
        Bag(name, tuple(row_of(line, short) for line in inside))
        for name, inside in by_inner_bag(lines).items()
    )


def packing_mail(loan: Loan) -> Message | None:
    """The newest mail with the loan's packing list that was not discarded."""
    mails = loan.messages.filter(occasion=Message.Occasion.PACKING_LIST).exclude(
        state=Message.State.DISCARDED
    )
    return mails.defer("body_html").first()


def posting_mails(loan: Loan) -> list[tuple[Message, Button]]:
    """The mails of a parcel on its way that were not discarded, each with what is next."""
    occasions = [Message.Occasion.PACKING_LIST, Message.Occasion.ON_ITS_WAY]
    mails = loan.messages.filter(occasion__in=occasions).exclude(state=Message.State.DISCARDED)
    return [(mail, message_button(mail)) for mail in mails.defer("body_html").order_by("pk")]


def kit_for_packing(kit: Kit) -> Kit:
    """The kit with everything the gate asks for loaded."""
    kits = Kit.objects.select_related("kit_type").prefetch_related("parts", "kit_type__lines")
    return kits.get(pk=kit.pk)


def runs_wanting(kit_type: KitType) -> list[CourseRun]:
    """Runs of a type with students who have no kit yet, nor one set aside, counted as `lacking`;
    the most pressing first.
    """
    runs = CourseRun.objects.filter(kit_type=kit_type).annotate(**counts_waiting())
    runs = runs.annotate(lacking=F("waiting") - F("set_aside"))
    return list(runs.filter(lacking__gt=0).order_by("post_by")[:5])

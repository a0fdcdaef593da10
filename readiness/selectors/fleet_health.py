"""The report of the fleet's health: noise, voltage and lead sets, kit by kit and over time."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any

from django.db.models import (
    Case,
    CharField,
    Count,
    Exists,
    Expression,
    F,
    FloatField,
    IntegerField,
    OuterRef,
    Q,
    QuerySet,
    Subquery,
    When,
)
from django.db.models.fields.json import KeyTextTransform
from django.db.models.functions import Cast, Coalesce
from django.utils import timezone

from readiness.charts.plots import Plot, series_plot
from readiness.models import Verdict
from readiness.signal.catalogue import NOISE_TEST
from readiness.signal.limits import END_VOLTAGE_PER_CELL
from rentals.counts import counted
from rentals.dates import month_and_year
from rentals.models import Kit, Loan, PackingLine, PartKind
from rentals.planning.lead_life import LeadRecord
from rentals.planning.lead_words import life_sentences
from rentals.reports.report import DeskReport
from rentals.reports.scope import ReportScope
from rentals.reports.table import ColumnKind, CountedShare, Linked, ReportColumn, ReportTable, Row
from rentals.selectors.lead_sets import lead_sets
from rentals.selectors.reports.scopes import OVER, within
from rentals.states import KitState

from .month_spread import MonthSpread, month_spreads

EMPTY = "Once kits have been tested, this page says how noise, voltage and lead sets stand."
BASIS = (
    f"Counted are captures of the test {NOISE_TEST} that were not set aside, taken in these days;"
    " kits out of use are left out. Of a run, the kits that were lent in it.",
    "A kit's value is that of its last such capture, against the limit it was judged by; the"
    " noisiest against its limit stands first. Over time"
    " stands the middle value of each month's captures, with the middle half of them.",
    "Noise is the noise floor in the full band, microvolts RMS; voltage is that under load at the"
    " end of the capture.",
)


def _limit(name: str) -> Cast:
    return Cast(KeyTextTransform(name, "limits"), FloatField())


def _voltage_limit() -> Case:
    """The same rule as `Limits.battery_limit_v`, for the database."""
    by_chemistry = [
        When(chemistry=chemistry, then=_limit("cells") * volts)
        for chemistry, volts in END_VOLTAGE_PER_CELL.items()
    ]
    return Case(*by_chemistry, default=_limit("battery_v"), output_field=FloatField())


def still_verdicts(scope: ReportScope) -> QuerySet[Verdict]:
    """What counts of the test that gives the noise floor, in the days and the run of a scope."""
    counting = Verdict.objects.filter(
        within("capture__taken", scope),
        current=True,
        capture__set_aside="",
        capture__test=NOISE_TEST,
    )
    if scope.run is not None:
        lent = Loan.objects.filter(enrolment__run=scope.run)
        counting = counting.filter(capture__kit__in=lent.values("kit"))
    return counting.annotate(chemistry=Cast(KeyTextTransform("chemistry", "limits"), CharField()))


def _last(scope: ReportScope, of: str, value: Expression | F) -> Subquery:
    """A value of a kit's last capture that measured the field `of`."""
    captures = still_verdicts(scope).filter(
        **{f"{of}__isnull": False, "capture__kit": OuterRef("pk")}
    )
    newest = captures.order_by("-capture__taken", "-pk")
    return Subquery(newest.values(answer=value)[:1])


def _measured_kits(scope: ReportScope) -> QuerySet[Kit]:
    """Kits in use that were measured, each with its last values, their limits and the loans of its
    lead set.
    """
    mine = still_verdicts(scope).filter(capture__kit=OuterRef("pk"))
    lead_loans = PackingLine.objects.filter(
        part__kit=OuterRef("pk"), part_kind=PartKind.LEAD_SET, loan__stage__in=OVER
    )
    loans = lead_loans.order_by().values("part__kit").annotate(n=Count("loan", distinct=True))
    return (
        Kit.objects.filter(Exists(mine))
        .exclude(state=KitState.RETIRED)
        .annotate(
            noise=_last(scope, "noise_uv", F("noise_uv")),
            noise_limit=_last(scope, "noise_uv", _limit("noise_uv")),
            volts=_last(scope, "battery_v", F("battery_v")),
            volts_limit=_last(scope, "battery_v", _voltage_limit()),
            measured_at=_last(scope, "noise_uv", F("capture__taken")),
            lead_loans=Coalesce(Subquery(loans.values("n"), output_field=IntegerField()), 0),
        )
        .annotate(loudness=F("noise") / F("noise_limit"))
        .order_by(F("loudness").desc(nulls_last=True), "code")
    )


def fleet_health(scope: ReportScope) -> DeskReport:
    """Every measured kit, and the fleet month by month."""
    kits = _measured_kits(scope)
    noise, volts = (month_spreads(still_verdicts(scope), of) for of in ("noise_uv", "battery_v"))
    return DeskReport(
        heading="Health of the fleet",
        sentence=_sentence(scope, kits),
        caption="Noise, voltage and lead set of each kit",
        columns=_COLUMNS,
        things=kits,
        rows_of=lambda some: [_kit_row(kit) for kit in some],
        basis=[*BASIS, *_lead_lines()],
        empty=EMPTY,
        plots=[*_plots(scope, noise, volts)],
        twin=_months(noise, volts),
    )


_COLUMNS = (
    ReportColumn("Kit"),
    ReportColumn("At its last capture"),
    ReportColumn("Noise", ColumnKind.HUNDREDTHS, "µV"),
    ReportColumn("Limit", ColumnKind.HUNDREDTHS, "µV"),
    ReportColumn("Voltage", ColumnKind.HUNDREDTHS, "V"),
    ReportColumn("Least", ColumnKind.HUNDREDTHS, "V"),
    ReportColumn("Loans of its lead set", ColumnKind.COUNT),
    ReportColumn("Measured on", ColumnKind.DAY),
)


def _kit_row(kit: Kit) -> Row:
    found: dict[str, Any] = vars(kit)
    measured_at = found["measured_at"]
    return (
        Linked(kit.code, kit.get_absolute_url(), code=True),
        _stands(found),
        found["noise"],
        found["noise_limit"],
        found["volts"],
        found["volts_limit"],
        found["lead_loans"],
        timezone.localdate(measured_at) if measured_at else None,
    )


def _stands(found: dict[str, Any]) -> str:
    """In words which limit a kit's last values pass."""
    noise, volts = found["noise"], found["volts"]
    said = []
    if noise is not None and noise > found["noise_limit"]:
        said.append("too noisy")
    if volts is not None and volts <= found["volts_limit"]:
        said.append("voltage low")
    return ", ".join(said) or "within limits"


def _sentence(scope: ReportScope, kits: QuerySet[Kit]) -> str:
    counts = kits.aggregate(
        kits=Count("pk"),
        noisy=Count("pk", filter=Q(noise__gt=F("noise_limit"))),
        with_noise=Count("noise"),
        weak=Count("pk", filter=Q(volts__lte=F("volts_limit"))),
        with_volts=Count("volts"),
    )
    if not counts["kits"]:
        return ""
    noisy = CountedShare(counts["noisy"], counts["with_noise"])
    weak = CountedShare(counts["weak"], counts["with_volts"])
    kits_measured = counted(counts["kits"], "kit was", "kits were")
    return (
        f"{scope.words}: {kits_measured} measured. At the last capture the noise floor was above"
        f" its limit in {noisy.in_full or 'none measured'}, and the voltage at its own or below"
        f" it in {weak.in_full or 'none measured'}."
    )


def _lead_lines() -> list[str]:
    """What is known of the life of lead sets, all days and runs together."""
    rows = lead_sets(timezone.localdate())
    if not rows:
        return []
    words = " ".join(life_sentences(LeadRecord(row.life for row in rows)))
    return [f"Lead sets, over all days: {words} The plan's page of lead sets draws it."]


def _plots(
    scope: ReportScope, noise: Sequence[MonthSpread], volts: Sequence[MonthSpread]
) -> Sequence[Plot]:
    limits = still_verdicts(scope).order_by("-capture__taken", "-pk")
    newest = limits.values_list(_limit("noise_uv"), _voltage_limit()).first()
    if newest is None:
        return ()
    drawn = ((noise, "Noise floor", "µV", newest[0]), (volts, "Voltage", "V", newest[1]))
    return [_plot(spreads, *words) for spreads, *words in drawn if spreads]


def _plot(spreads: Sequence[MonthSpread], title: str, unit: str, limit: float) -> Plot:
    first, last = spreads[0], spreads[-1]
    caption = f"{title}: {_in_words(last, unit)}"
    if len(spreads) > 1:
        caption += f"; {_in_words(first, unit)}"
    return series_plot(
        [_months_between(first.month, each.month) for each in spreads],
        [each.middle for each in spreads],
        unit=unit,
        title=f"{title} of the fleet, by month",
        caption=f"{caption}. The limit is {limit:.2f} {unit}.",
        labels=[month_and_year(each.month) for each in dict.fromkeys((first, last))],
        lines=[("limit", limit)],
        name=f"fleet-{title.split()[0].lower()}",
    )


def _in_words(spread: MonthSpread, unit: str) -> str:
    captures = counted(spread.number, "capture", "captures")
    month = month_and_year(spread.month)
    return (
        f"{spread.middle:.2f} {unit} in the median of {month} ({spread.low:.2f} to"
        f" {spread.high:.2f} for the middle half of {captures})"
    )


def _months_between(first: date, month: date) -> int:
    return 12 * (month.year - first.year) + month.month - first.month


def _months(noise: Sequence[MonthSpread], volts: Sequence[MonthSpread]) -> ReportTable:
    """The drawings as a table."""
    by_month = {each.month: each for each in volts}
    columns = [
        ReportColumn("Month"),
        ReportColumn("Captures", ColumnKind.COUNT),
        ReportColumn("Noise", ColumnKind.HUNDREDTHS, "µV"),
        ReportColumn("Middle half, noise", ColumnKind.WORDS, "µV"),
        ReportColumn("Voltage", ColumnKind.HUNDREDTHS, "V"),
        ReportColumn("Middle half, voltage", ColumnKind.WORDS, "V"),
    ]
    rows = [_month_row(each, by_month.get(each.month)) for each in noise]
    return ReportTable("Noise and voltage by month", columns, rows)


def _month_row(noise: MonthSpread, volts: MonthSpread | None) -> Row:
    month = month_and_year(noise.month)
    voltage = (volts.middle, volts.between) if volts else (None, None)
    return (month, noise.number, noise.middle, noise.between, *voltage)

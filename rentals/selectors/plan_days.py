"""What the practice has set for the days of the plan, and what follows for a run and a loan."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.db.models import Count

from rentals.dates import short_weekday_date
from rentals.models import CourseRun, Practice, TransitTime
from rentals.planning.calendar import Margins, PlannedDay, Turnaround
from rentals.planning.day_rules import DayRules, country_name


def day_rules() -> DayRules:
    """All that the days are worked out with, in two queries."""
    practice = Practice.current()
    rows = TransitTime.objects.values_list("destination", "days_out", "days_back")
    transits = {place: (days_out, days_back) for place, days_out, days_back in rows}
    return DayRules(
        home=str(practice.country or ""),
        transits=transits,
        margins=Margins(spare=practice.days_to_spare, to_send=practice.days_to_send),
        turnaround=turnaround_of(practice),
    )


def turnaround_of(practice: Practice) -> Turnaround:
    """Working days from a kit's return until it may be posted again."""
    return Turnaround(
        check=practice.days_to_check,
        clean=practice.days_to_clean,
        charge=practice.days_to_charge,
        bench=practice.days_to_bench,
        restock=practice.days_to_restock,
    )


@dataclass(frozen=True)
class LoanDays:
    """When a parcel is posted and when its kit is due back; a rule is empty where the day was
    entered for the run.
    """

    post: PlannedDay
    due: PlannedDay


def loan_days(run: CourseRun, country: str, rules: DayRules | None = None) -> LoanDays:
    """The days of a loan on a run to a student in a country: worked out for it where the run's own
    were worked out, else those of the run. `rules` are read where they are needed and not given.
    """
    post, due = PlannedDay(run.post_by, ""), PlannedDay(run.return_by, "")
    if not (run.post_by_rule or run.return_by_rule):
        return LoanDays(post, due)
    rules = rules or day_rules()
    if run.post_by_rule:
        post = rules.post_by(run.starts_on, country)
    if run.return_by_rule:
        due = rules.back_by(run.ends_on, country)
    return LoanDays(post, due)


@dataclass(frozen=True)
class ProposedDays:
    """What the rules give a run; None where its own day is not known yet."""

    post: PlannedDay | None
    back: PlannedDay | None


def proposed_days(starts_on: date | None, ends_on: date | None) -> ProposedDays:
    """The post-by and the back-by day of a run, for a student at home. A last day before the first
    gives none: the form says what is wrong with it.
    """
    if starts_on and ends_on and ends_on < starts_on:
        ends_on = None
    if not (starts_on or ends_on):
        return ProposedDays(None, None)
    rules = day_rules()
    return ProposedDays(
        rules.post_by(starts_on) if starts_on else None,
        rules.back_by(ends_on) if ends_on else None,
    )


@dataclass(frozen=True)
class CountryDays:
    """The days of a run's students in one country. `late` says so where the day that was entered
    leaves the post too few days.
    """

    country: str
    students: int
    post: PlannedDay
    due: PlannedDay
    late: str


@dataclass(frozen=True)
class DaysByCountry:
    """The countries of a run whose days are not simply its own."""

    rows: tuple[CountryDays, ...] = ()

    @property
    def late(self) -> tuple[CountryDays, ...]:
        """Those for which the day that was entered is too late for the post."""
        return tuple(row for row in self.rows if row.late)

    @property
    def late_students(self) -> int:
        """How many students are in them."""
        return sum(row.students for row in self.late)


def days_by_country(run: CourseRun, today: date) -> DaysByCountry:
    """The countries of a run's students in which a day differs from the run's own, or in which the
    day that was entered is too late for the post, until the run has started.
    """
    if run.starts_on < today:
        return DaysByCountry()
    on = run.enrolments.filter(withdrawn_on__isnull=True).order_by("student__country")
    counts = on.values_list("student__country").annotate(Count("pk"))
    rules = day_rules()
    rows = [_country_days(run, country or "", number, rules) for country, number in counts]
    own = (run.post_by, run.return_by)
    differ = (row for row in rows if row.late or (row.post.day, row.due.day) != own)
    return DaysByCountry(tuple(differ))


def _country_days(run: CourseRun, country: str, students: int, rules: DayRules) -> CountryDays:
    days = loan_days(run, country, rules)
    needed = rules.post_by(run.starts_on, country)
    late = ""
    if days.post.day > needed.day:
        late = f"The post needs {short_weekday_date(needed.day)}: {needed.rule}."
    name = country_name(country) if country else "no country given"
    return CountryDays(name, students, days.post, days.due, late)

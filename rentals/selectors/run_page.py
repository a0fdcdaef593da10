"""What the page of a run says of all its students together."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from rentals.models import CourseRun, Practice, RosterDraft
from rentals.paper.coverage import Coverage
from rentals.selectors.kept_answers import KeptAnswers
from rentals.selectors.loan_papers import run_fonts_note
from rentals.selectors.plan_days import DaysByCountry, days_by_country
from rentals.selectors.run_chances import RunForecast, chances_of
from rentals.selectors.run_strips import RunStrip, strips_of
from rentals.selectors.runs import RunSituation, run_situation, waiting_draft
from rentals.selectors.stock_ahead import RunShort, stock_short_for


@dataclass(frozen=True)
class WholeRun:
    """How a run stands: what decides its next act, the roster that waits, its chances and from what
    they speak, stock that does not suffice, its strip, days that differ by country, letters that
    its papers cannot print, and the practice.
    """

    situation: RunSituation
    draft: RosterDraft | None
    forecast: RunForecast | None
    basis: list[str]
    stock_short: list[RunShort]
    strip: RunStrip
    countries: DaysByCountry
    fonts_note: Coverage
    practice: Practice


def whole_run(run: int, today: date) -> WholeRun:
    """The facts of a run by its number, kept while nothing changes them. Not to be changed."""
    answers = KeptAnswers()
    return answers.of((whole_run.__name__, run, today), lambda: _facts(run, today, answers))


def _facts(number: int, today: date, answers: KeptAnswers) -> WholeRun:
    # Read here, so that a change of the run itself counts.
    run = CourseRun.objects.select_related("kit_type").get(pk=number)
    draft = waiting_draft(run)
    situation = run_situation(run, draft, today)
    to_take = situation.waiting or situation.to_pack
    to_leave = to_take or situation.to_dispatch
    chances, basis = chances_of(run, today) if to_leave else (None, [])
    return WholeRun(
        situation,
        draft,
        chances,
        basis,
        stock_short_for(run, today) if to_take else [],
        strips_of([run], answers)[number],
        days_by_country(run, today),
        run_fonts_note(run),
        Practice.current(),
    )

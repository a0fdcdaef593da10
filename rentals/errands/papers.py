"""The papers of a large run."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from django.utils.text import slugify

from rentals.actions.errand_claims import ErrandProgress
from rentals.actions.errand_work import ErrandFile, ErrandResult, errand_work
from rentals.counts import counted
from rentals.errors import Refused
from rentals.models import CourseRun, Errand, ErrandKind, Loan
from rentals.paper.pick_sheet import run_papers
from rentals.selectors.paper_facts.packing_lists import run_facts, run_loans
from rentals.selectors.paper_facts.practice import house_fonts, practice_facts

_FETCHED_AT_ONCE = 50


@errand_work(ErrandKind.RUN_PAPERS)
def papers_of_run(errand: Errand, progress: ErrandProgress) -> ErrandResult:
    """Pick sheet and packing lists in one PDF. Its facts: ``run``, ``enrolments`` (none for all),
    ``inside`` and ``site_url``.
    """
    asked = errand.facts
    run = CourseRun.objects.filter(pk=asked["run"]).first()
    loans = run_loans(run, asked["enrolments"]) if run else Loan.objects.none()
    keys = list(loans.values_list("pk", flat=True))
    if run is None or not keys:
        raise Refused("No kit is assigned to them any more, so there is no list to print.")
    practice = replace(practice_facts(), site_url=asked["site_url"])

    def each_loan() -> Iterator[Loan]:
        for start in range(0, len(keys), _FETCHED_AT_ONCE):
            for loan in loans.filter(pk__in=keys[start : start + _FETCHED_AT_ONCE]):
                yield loan
                progress.step()

    # Each list is read, then drawn.
    count = len(keys)
    progress.begin(2 * count, "steps")
    facts = run_facts(run, each_loan(), practice=practice, inside_copy=asked["inside"])
    printed = run_papers(
        facts, inside_copy=asked["inside"], fonts=house_fonts(), each=progress.step
    )
    outcome = f"{counted(count, 'packing list', 'packing lists')} and what to fetch for them."
    if printed.unprintable:
        texts = counted(len(printed.unprintable), "text", "texts")
        outcome += f" No font at hand can draw {texts}: the lists name them."
    name = f"packing-lists-{slugify(run.name) or run.pk}.pdf"
    return ErrandResult(outcome, file=ErrandFile(name, "application/pdf", [printed.pdf]))

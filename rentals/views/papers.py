"""The papers of one loan and of a run as PDF."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404
from django.utils.text import slugify
from django.views.decorators.http import require_safe

from rentals.actions.errands import ErrandAsked
from rentals.counts import counted
from rentals.models import CourseRun, ErrandKind, Loan
from rentals.paper.contents_statement import contents_statement, parcel_mass_g
from rentals.paper.facts import Printed
from rentals.paper.packing_list import packing_list
from rentals.paper.pick_sheet import run_papers
from rentals.paper.statement import settling_statement
from rentals.selectors.loan_papers import (
    ENDED,
    loan_customs,
    loan_fonts_note,
    papers_beside_the_list,
    printable_papers,
)
from rentals.selectors.paper_facts.packing_lists import (
    packing_list_facts,
    run_facts,
    run_loans,
    students_list_facts,
    with_all_facts,
)
from rentals.selectors.paper_facts.practice import house_fonts
from rentals.selectors.paper_facts.statements import statement_facts
from rentals.web.asking import asking_page
from rentals.web.form_page import ActPage
from rentals.web.request import DeskRequest, get_or_post
from rentals.web.ticked import ticked_rows

from .printing import pdf_answer, sender_facts

#: So many lists are printed while somebody waits: less than a second of a core.
PRINTED_AT_ONCE = 30


def papers_of(request: DeskRequest, loan: Loan, *, packing_list: bool = True) -> dict[str, Any]:
    """The papers of a loan for its pages: ``papers``, ``fonts_note`` with what cannot be printed in
    them, whether phones cannot open their codes (``no_site``), and what is known of ``customs``.

    The packing bench shows the packing list itself and leaves it out here.
    """
    practice = sender_facts(request)
    list_papers = printable_papers if packing_list else papers_beside_the_list
    customs = loan_customs(loan, practice)
    return {
        "customs": customs if customs and customs.worth_saying else None,
        "papers": list_papers(loan, practice),
        "no_site": not practice.site_url,
        "fonts_note": loan_fonts_note(loan, practice),
    }


@require_safe
def packing_list_pdf(request: DeskRequest, pk: int) -> HttpResponse:
    """The packing list as PDF; ``?inside=1`` is the copy that stays in the house and bears an
    override's reason. With ``?file=1`` the page that asked for it stays.
    """
    loan = _loan(pk)
    if not loan.packing_lines.exists():
        raise Http404("Nothing was packed for this loan yet.")
    inside = request.GET.get("inside") == "1"
    facts_of = packing_list_facts if inside else students_list_facts
    facts = facts_of(loan, sender_facts(request))
    printed = packing_list(facts, inside_copy=inside, fonts=house_fonts())
    as_file = request.GET.get("file") == "1"
    return pdf_answer(printed, f"packing-list-{loan.kit.code}", as_file=as_file)


@require_safe
def contents_statement_pdf(request: DeskRequest, pk: int) -> HttpResponse:
    """Value, mass and origin of what is in the parcel; what it weighs beyond its parts counts as
    wrapping. ``?way=back`` is the one for the student's parcel.
    """
    loan, back = _loan(pk), request.GET.get("way") == "back"
    facts_of = students_list_facts if back else packing_list_facts
    facts = facts_of(loan, sender_facts(request))
    if not facts.lines:
        raise Http404("Nothing is packed for this loan.")
    wrapping_g = max(0, (loan.parcel_mass_g or 0) - parcel_mass_g(facts.lines))

    def draw() -> Printed:
        return contents_statement(facts, wrapping_g=wrapping_g, back=back, fonts=house_fonts())

    return _drawn(request, loan, "contents-statement", draw)


@require_safe
def statement_pdf(request: DeskRequest, pk: int) -> HttpResponse:
    """Deposit, charges and what goes back."""
    loan = _loan(pk)
    if loan.stage not in ENDED:
        raise Http404("A statement is made once the kit is back or written off.")
    facts = statement_facts(loan, sender_facts(request))

    def draw() -> Printed:
        return settling_statement(facts, fonts=house_fonts())

    return _drawn(request, loan, "statement", draw)


@get_or_post
def run_packing_lists(request: DeskRequest, pk: int) -> HttpResponse:
    """One PDF of a run to print: what to fetch, then a list for each parcel. Many are made in the
    background.
    """
    run = get_object_or_404(CourseRun, pk=pk)
    ticked = ticked_rows(request, "enrolment")
    loans = run_loans(run, ticked)
    count = loans.count()
    if not count:
        messages.info(
            request, "No kit is assigned to them yet, so there is no packing list to print."
        )
        return HttpResponseRedirect(run.get_absolute_url())
    inside = request.GET.get("copy") == "inside"
    if count > PRINTED_AT_ONCE:
        return _asked_for(request, run, ticked, count, inside=inside)
    facts = run_facts(run, loans, practice=sender_facts(request), inside_copy=inside)
    printed = run_papers(facts, inside_copy=inside, fonts=house_fonts())
    return pdf_answer(printed, f"packing-lists-{slugify(run.name) or run.pk}")


def _asked_for(
    request: DeskRequest, run: CourseRun, ticked: list[int], count: int, *, inside: bool
) -> HttpResponse:
    """The page that asks for lists which take a while."""
    what = "Copies to keep here" if inside else "Packing lists"
    page = ActPage(
        f"{what} of {run.name}",
        submit="Make the papers",
        effects=(
            f"One file with {counted(count, 'list', 'lists')}, made in the background.",
            "You can leave the page meanwhile, and fetch the file when it is there.",
        ),
    )
    asked = ErrandAsked(
        ErrandKind.RUN_PAPERS,
        f"{what} of {run.name}, {counted(count, 'parcel', 'parcels')}",
        about=run.get_absolute_url(),
        seen_by=request.path,
        facts={
            "run": run.pk,
            "enrolments": ticked,
            "inside": inside,
            "site_url": sender_facts(request).site_url,
        },
    )
    return asking_page(request, page, asked)


def _loan(pk: int) -> Loan:
    return get_object_or_404(with_all_facts(Loan.objects.all()), pk=pk)


def _drawn(
    request: DeskRequest, loan: Loan, name: str, draw: Callable[[], Printed]
) -> HttpResponse:
    """The PDF; facts it cannot be made from (a country or currency that is none) are said on the
    loan's page.
    """
    try:
        printed = draw()
    except ValueError as problem:
        messages.error(request, f"This cannot be printed: {problem}")
        return HttpResponseRedirect(loan.get_absolute_url())
    return pdf_answer(printed, f"{name}-{loan.kit.code}")

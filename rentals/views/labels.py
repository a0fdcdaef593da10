"""Labels for kits, parts, leads and parcels: choose what, which sheet and the first free label, and
print.
"""

from __future__ import annotations

from typing import Any

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_safe

from rentals.actions.errands import ErrandAsked
from rentals.counts import counted
from rentals.forms.labels import MOST_TICKED, LabelForm
from rentals.models import ErrandKind
from rentals.paper import labels as drawing
from rentals.paper.coverage import coverage
from rentals.paper.facts import PracticeFacts
from rentals.paper.label_sheets import DRAW
from rentals.paper.sheet_drawing import drawn_sheet, number_type_mm, sheets_needed
from rentals.selectors.errands import errands_about
from rentals.selectors.labels.kinds import KINDS
from rentals.selectors.labels.printing import count_labels, label_texts, labels_to_print
from rentals.selectors.labels.selection import LabelSelection, choices, rows_to_label
from rentals.selectors.paper_facts.practice import house_fonts
from rentals.web.asking import asking_page
from rentals.web.form_page import ActPage
from rentals.web.page_or_part import page_again
from rentals.web.request import DeskRequest, get_or_post

from .printing import pdf_answer, sender_facts

#: Labels that bear a QR code.
CODED = ("kit", "part", "lead")

#: So many labels are printed while somebody waits: less than a second of a core.
PRINTED_AT_ONCE = 200


@require_safe
def labels(request: DeskRequest, kind: str = "") -> HttpResponse:
    """Choose what to print; every change shows what comes of it."""
    form = LabelForm.from_address(request.GET, kind)
    context = _form_context(form)
    context["errands"] = errands_about(request.path, request.user)
    if form.is_valid():
        context |= _choice_context(form, sender_facts(request))
    return render(request, "rentals/paper/labels.html", context)


@get_or_post
def labels_pdf(request: DeskRequest, kind: str = "") -> HttpResponse:
    """The labels; what stands in the way is shown on the page that asks. Many are made in the
    background.
    """
    form = LabelForm.from_address(request.GET, kind)
    if not form.is_valid():
        return _form_again(request, form)
    rows = rows_to_label(form.selection())[: PRINTED_AT_ONCE + 1]
    if rows.count() > PRINTED_AT_ONCE:
        return _asking(request, form, kind)
    facts = labels_to_print(form.selection(), sender_facts(request))
    if not facts:
        form.add_error(None, "There is no label to print. Choose others.")
        return _form_again(request, form)
    draw, start = DRAW[form.shown_kind], form.cleaned_data["start"]
    try:
        printed = draw(facts, form.sheet_chosen(), start=start, fonts=house_fonts())
    except ValueError as problem:
        form.add_error("sheet", f"This cannot be printed: {problem}.")
        return _form_again(request, form)
    return pdf_answer(printed, f"{form.shown_kind}-labels")


def _asking(request: DeskRequest, form: LabelForm, kind: str) -> HttpResponse:
    """The page that asks for labels which take a while."""
    practice = sender_facts(request)
    count = counted(count_labels(form.selection(), practice).printed, "label", "labels")
    title = KINDS[form.shown_kind].title
    page = ActPage(
        f"{title}: {count}",
        submit="Make the labels",
        effects=(
            f"One file with {count}, made in the background.",
            "You can leave the page meanwhile, and fetch the file when it is there.",
        ),
    )
    asked = ErrandAsked(
        ErrandKind.LABELS,
        f"{title}, {count}",
        about=reverse("rentals:labels"),
        seen_by=request.path,
        facts={"kind": kind, "query": request.GET.urlencode(), "site_url": practice.site_url},
        back=f"{reverse('rentals:labels')}?{request.GET.urlencode()}",
    )
    return asking_page(request, page, asked)


@require_safe
def calibration(request: DeskRequest) -> HttpResponse:
    """The outlines of a sheet's labels, to hold against a real sheet."""
    form = LabelForm.from_address(request.GET)
    if not form.is_valid():
        return _form_again(request, form)
    page = drawing.calibration_page(form.sheet_chosen(), fonts=house_fonts())
    return pdf_answer(page, "calibration")


@get_or_post
def kit_labels(request: DeskRequest) -> HttpResponse:
    """Labels of the kits named by ``?code=``, or of all in use."""
    return _page_or_pdf(request, "kit")


@get_or_post
def part_labels(request: DeskRequest) -> HttpResponse:
    """Labels of the parts named by ``?code=``, of one kit (``?kit=``), or of all in use."""
    return _page_or_pdf(request, "part")


def _page_or_pdf(request: DeskRequest, kind: str) -> HttpResponse:
    """The PDF once a sheet is chosen, the page to choose one before."""
    answer = labels_pdf if "sheet" in request.GET else labels
    return answer(request, kind=kind)


def _form_again(request: DeskRequest, form: LabelForm) -> HttpResponse:
    return page_again(request, "rentals/paper/labels.html", _form_context(form))


def _form_context(form: LabelForm) -> dict[str, Any]:
    """What the page needs even while something is wrong: the ticks and the loan stay in the
    form.
    """
    return {
        "form": form,
        "kind": form.shown_kind,
        "title": KINDS[form.shown_kind].title,
        "codes": form.ticked_codes[:MOST_TICKED],
        "loan_number": form.loan_number,
    }


def _choice_context(form: LabelForm, practice: PracticeFacts) -> dict[str, Any]:
    """What comes of the choice: the rows to tick, the drawing of the sheet, and what to mind."""
    selection = form.selection()
    count = count_labels(selection, practice)
    return {
        **_rows_context(form, selection),
        **_sheet_context(form, count.printed),
        "count": count.printed,
        "cut": count.cut,
        "missing": count.without_address,
        "no_site": selection.kind in CODED and not practice.site_url,
        "no_home": selection.kind == "return" and practice.address is None,
        "fonts_note": coverage(label_texts(selection, practice), house_fonts()),
    }


def _rows_context(form: LabelForm, selection: LabelSelection) -> dict[str, Any]:
    rows, not_shown = choices(selection)
    of_one_loan = selection.loan is not None
    return {
        "rows": rows,
        "not_shown": not_shown,
        "ticked": len(selection.ticked),
        "too_many": len(form.ticked_codes) > MOST_TICKED,
        "most_ticked": MOST_TICKED,
        "one_loan": rows_to_label(selection).first() if of_one_loan else None,
    }


def _sheet_context(form: LabelForm, count: int) -> dict[str, Any]:
    sheet, start = form.sheet_chosen(), form.cleaned_data["start"]
    return {
        "sheet": sheet,
        "start": start,
        "type_mm": number_type_mm(sheet),
        "slots": drawn_sheet(sheet, start, count),
        "sheets_needed": sheets_needed(sheet, start, count),
    }

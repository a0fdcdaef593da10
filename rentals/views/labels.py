"""Labels for kits, parts, leads and parcels: choose what, which sheet and the first free label, and
print.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from typing import Any

from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_safe

from rentals.forms.paper import MOST_TICKED, LabelForm, usual_sheet
from rentals.models import Practice
from rentals.paper import facts as paper
from rentals.paper import labels as drawing
from rentals.paper.address_labels import address_labels
from rentals.paper.coverage import coverage, texts_of
from rentals.paper.facts import Printed
from rentals.paper.sheets import SheetLayout
from rentals.selectors.labels import KINDS, MOST, PARCEL_KINDS, Wanted, choosable, labelled
from rentals.selectors.paper_facts.labels import (
    address_label_facts,
    kit_label,
    lead_tags,
    part_label,
    return_label_facts,
)
from rentals.selectors.paper_facts.packing_lists import with_all_facts
from rentals.selectors.paper_facts.practice import house_fonts, practice_facts, student_address

DRAWN: dict[str, Callable[..., Printed]] = {
    "kit": drawing.kit_labels,
    "part": drawing.part_labels,
    "lead": drawing.lead_tags,
    "address": address_labels,
    "return": address_labels,
}


def pdf_answer(printed: Printed, name: str) -> HttpResponse:
    """A PDF that opens in the browser under a plain name; how many texts no font can draw stands in
    a header.
    """
    answer = HttpResponse(printed.pdf, content_type="application/pdf")
    answer["Content-Disposition"] = f'inline; filename="{name}.pdf"'
    if printed.unprintable:
        answer["X-Unprintable"] = str(len(printed.unprintable))
    if printed.borrowed:
        answer["X-Borrowed"] = str(len(printed.borrowed))
    return answer


def site_address(request: HttpRequest, practice: Practice) -> str:
    """The address that goes into QR codes: the practice's own, else the one this page was asked
    under.
    """
    return practice.site_url.rstrip("/") or request.build_absolute_uri("/").rstrip("/")


def sender_facts(request: HttpRequest, practice: Practice | None = None) -> paper.Practice:
    """The practice as the paper knows it, with the address that QR codes carry."""
    practice = practice or Practice.current()
    return replace(practice_facts(practice), site_url=site_address(request, practice))


@dataclass(frozen=True)
class Slot:
    """One label on the drawing of a sheet, millimetres; ``use`` is used, print or free."""

    number: int
    x: float
    y: float
    middle: tuple[float, float]
    use: str


def _asked(request: HttpRequest, kind: str) -> QueryDict:
    """What was asked for with the gaps filled; another kind than the page showed begins on that
    kind's own sheet.
    """
    data = request.GET.copy()
    if kind:
        data["kind"] = kind
    if data.get("kind") not in KINDS:
        data["kind"] = "kit"
    if data.get("of", data["kind"]) != data["kind"]:
        for name in ("sheet", "start", "nudge_right", "nudge_down", "code"):
            data.pop(name, None)
    if not data.get("sheet"):
        data["sheet"] = usual_sheet(data["kind"], Practice.current().paper).name
    data.setdefault("start", "1")
    return data


def _number(data: QueryDict) -> int | None:
    number = data.get("loan", "")
    return int(number) if number.isdecimal() and len(number) < 18 else None


def _wanted(form: LabelForm, data: QueryDict) -> Wanted:
    return form.wanted(data.getlist("code"), _number(data))


def _facts(wanted: Wanted, practice: paper.Practice) -> tuple[list[Any], list[str]]:
    """Facts of the labels to print, at most ``MOST``, and the names of those who get none for want
    of an address.
    """
    rows = labelled(wanted)
    if wanted.kind in PARCEL_KINDS:
        loans = list(with_all_facts(rows)[:MOST] if wanted.kind == "address" else rows[:MOST])
        make = address_label_facts if wanted.kind == "address" else return_label_facts
        found = [(loan, make(loan, practice)) for loan in loans]
        missing = [loan.enrolment.student.name for loan, label in found if label is None]
        return [label for _, label in found if label], missing if wanted.kind == "address" else []
    if wanted.kind == "lead":
        return [tag for lead_set in rows[:MOST] for tag in lead_tags(lead_set, practice)][:MOST], []
    make_one = kit_label if wanted.kind == "kit" else part_label
    return [make_one(row, practice) for row in rows[:MOST]], []


def _texts(wanted: Wanted, practice: paper.Practice) -> Iterable[str]:
    """The texts of the labels, without what only a parcel's mass needs."""
    if wanted.kind in PARCEL_KINDS:
        yield from texts_of(practice)
        for loan in labelled(wanted)[:MOST]:
            yield from texts_of(student_address(loan.enrolment.student))
        return
    yield from texts_of(_facts(wanted, practice)[0])


def drawn_sheet(sheet: SheetLayout, start: int, count: int) -> list[Slot]:
    """Every label of the first sheet with what becomes of it."""
    slots = []
    for position in range(sheet.count):
        number = position + 1
        use = "used" if number < start else "print" if number < start + count else "free"
        x, y = sheet.place(position)
        middle = (round(x + sheet.label[0] / 2, 2), round(y + sheet.label[1] / 2, 2))
        slots.append(Slot(number, round(x, 2), round(y, 2), middle, use))
    return slots


def _base(form: LabelForm, data: QueryDict) -> dict[str, Any]:
    """What the page needs even while something is wrong: the ticks and the loan stay in the
    form.
    """
    codes, number = data.getlist("code")[:MOST_TICKED], _number(data)
    return {
        "form": form,
        "kind": data["kind"],
        "title": KINDS[data["kind"]],
        "codes": codes,
        "loan_number": number,
    }


def _context(request: HttpRequest, form: LabelForm, data: QueryDict) -> dict[str, Any]:
    context = _base(form, data)
    if not form.is_valid():
        return context
    wanted, sheet, practice = _wanted(form, data), form.sheet_chosen(), sender_facts(request)
    rows, not_shown = choosable(wanted)
    labels, missing = _counted(wanted, practice)
    start = form.cleaned_data["start"]
    return context | {
        "rows": rows,
        "not_shown": not_shown,
        "ticked": len(wanted.codes),
        "too_many": len(data.getlist("code")) > MOST_TICKED,
        "most_ticked": MOST_TICKED,
        "count": min(labels, MOST),
        "cut": labels > MOST,
        "missing": missing,
        "no_home": wanted.kind == "return" and practice.address is None,
        "sheet": sheet,
        "start": start,
        "type_mm": round(min(9.0, sheet.label[1] * 0.45), 1),
        "slots": drawn_sheet(sheet, start, min(labels, MOST)),
        "sheets_needed": -(-(start - 1 + min(labels, MOST)) // sheet.count),
        "fonts_note": coverage(_texts(wanted, practice), house_fonts()),
        "one_loan": labelled(wanted).first() if wanted.loan is not None else None,
    }


def _counted(wanted: Wanted, practice: paper.Practice) -> tuple[int, list[str]]:
    """How many labels there are to print, and who gets none."""
    rows = labelled(wanted)
    if wanted.kind == "lead":
        return sum(len(lead_set.leads.all()) for lead_set in rows), []
    if wanted.kind == "return" and practice.address is None:
        return 0, []
    if wanted.kind == "address":
        names = [(loan.enrolment.student, student_address(loan.enrolment.student)) for loan in rows]
        return sum(address is not None for _, address in names), [
            who.name for who, where in names if where is None
        ]
    return rows.count(), []


@require_safe
def labels(request: HttpRequest, kind: str = "") -> HttpResponse:
    """Choose what to print; every change shows what comes of it."""
    data = _asked(request, kind)
    form = LabelForm(data)
    return render(request, "rentals/paper/labels.html", _context(request, form, data))


@require_safe
def labels_pdf(request: HttpRequest, kind: str = "") -> HttpResponse:
    """The labels; what stands in the way is shown on the page that asks."""
    data = _asked(request, kind)
    form = LabelForm(data)
    if form.is_valid():
        facts, _ = _facts(_wanted(form, data), sender_facts(request))
        if facts:
            try:
                start = form.cleaned_data["start"]
                printed = DRAWN[data["kind"]](
                    facts, form.sheet_chosen(), start=start, fonts=house_fonts()
                )
            except ValueError as wrong:
                form.add_error("sheet", f"This cannot be printed: {wrong}.")
            else:
                return pdf_answer(printed, f"{data['kind']}-labels")
        else:
            form.add_error(None, "There is no label to print. Choose others.")
    return render(request, "rentals/paper/labels.html", _base(form, data), status=422)


@require_safe
def calibration(request: HttpRequest) -> HttpResponse:
    """The outlines of a sheet's labels, to hold against a real sheet."""
    data = _asked(request, "")
    form = LabelForm(data)
    if not form.is_valid():
        return render(request, "rentals/paper/labels.html", _base(form, data), status=422)
    return pdf_answer(
        drawing.calibration_page(form.sheet_chosen(), fonts=house_fonts()), "calibration"
    )


@require_safe
def kit_labels(request: HttpRequest) -> HttpResponse:
    """Labels of the kits named by ``?code=``, or of all in use."""
    return (labels_pdf if "sheet" in request.GET else labels)(request, kind="kit")


@require_safe
def part_labels(request: HttpRequest) -> HttpResponse:
    """Labels of the parts named by ``?code=``, of one kit (``?kit=``), or of all in use."""
    return (labels_pdf if "sheet" in request.GET else labels)(request, kind="part")


def labels_address(**asked: object) -> str:
    """The page of labels with something chosen already, such as ``labels_address(kind="address",
    loan=3)``.
    """
    query = QueryDict(mutable=True)
    for name, value in asked.items():
        query[name] = str(value)
    return f"{reverse('rentals:labels')}?{query.urlencode()}"

"""Label sheets as PDF: for kits and for parts."""

from __future__ import annotations

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from rentals.models import Kit, Part, Practice
from rentals.paper import labels
from rentals.paper.facts import LabelFacts, Printed
from rentals.paper.from_models import fonts
from rentals.paper.sheets import KIT_SHEET, SHEETS, TAG_SHEET, Sheet

MOST = 1000


class SheetForm(forms.Form):
    """Which sheet, and where on it to begin."""

    sheet = forms.ChoiceField(label="Sheet of labels", choices=[(name, name) for name in SHEETS], required=False)
    start = forms.IntegerField(
        label="First free label", min_value=1, initial=1, required=False, help_text="Counted along the rows, from 1."
    )

    def chosen(self, usual: Sheet) -> tuple[Sheet, int]:
        """The sheet and the first free label."""
        sheet = SHEETS.get(self.cleaned_data.get("sheet") or "", usual)
        return sheet, self.cleaned_data.get("start") or 1


def pdf_answer(printed: Printed, name: str) -> HttpResponse:
    """A PDF that opens in the browser under a plain name; what no font can draw is named in a header."""
    answer = HttpResponse(printed.pdf, content_type="application/pdf")
    answer["Content-Disposition"] = f'inline; filename="{name}.pdf"'
    if printed.unprintable:
        answer["X-Unprintable"] = str(len(printed.unprintable))
    return answer


def site_address(request: HttpRequest, practice: Practice) -> str:
    """The address that goes into QR codes: the practice's own, else the one this page was asked under."""
    return practice.site_url.rstrip("/") or request.build_absolute_uri("/").rstrip("/")


def _sheet(request: HttpRequest, usual: Sheet, count: int, what: str) -> tuple[Sheet, int] | HttpResponse:
    """The sheet asked for, or the page that asks for it."""
    asked = "sheet" in request.GET
    form = SheetForm(request.GET if asked else None, initial={"sheet": usual.name, "start": 1})
    if asked and form.is_valid():
        sheet, start = form.chosen(usual)
        if start <= sheet.count:
            return sheet, start
        form.add_error("start", f"The sheet has labels 1 to {sheet.count}.")
    context = {"form": form, "count": count, "what": what, "codes": request.GET.getlist("code")}
    return render(request, "rentals/kit/labels.html", context, status=422 if asked else 200)


@require_safe
def kit_labels(request: HttpRequest) -> HttpResponse:
    """Labels of the kits named by ``?code=``, or of all in use."""
    kits = Kit.objects.exclude(state="retired").select_related("kit_type").order_by("code")
    if codes := request.GET.getlist("code"):
        kits = kits.filter(code__in=codes)
    chosen = _sheet(request, KIT_SHEET, min(kits.count(), MOST), "kit")
    if isinstance(chosen, HttpResponse):
        return chosen
    practice = Practice.current()
    site = site_address(request, practice)
    facts = [LabelFacts(kit.code, kit.kit_type.name, (), site, practice.name) for kit in kits[:MOST]]
    return pdf_answer(labels.kit_labels(facts, chosen[0], start=chosen[1], fonts=fonts()), "kit-labels")


@require_safe
def part_labels(request: HttpRequest) -> HttpResponse:
    """Labels of the parts named by ``?code=``, of one kit (``?kit=``), or of all in use."""
    parts = Part.objects.exclude(place__in=("lost", "retired")).order_by("kind", "code")
    if codes := request.GET.getlist("code"):
        parts = parts.filter(code__in=codes)
    elif kit := request.GET.get("kit"):
        parts = parts.filter(kit__code=kit)
    chosen = _sheet(request, TAG_SHEET, min(parts.count(), MOST), "part")
    if isinstance(chosen, HttpResponse):
        return chosen
    site = site_address(request, Practice.current())
    facts = [LabelFacts(part.code, part.get_kind_display(), (f"serial {part.serial}",), site) for part in parts[:MOST]]
    return pdf_answer(labels.part_labels(facts, chosen[0], start=chosen[1], fonts=fonts()), "part-labels")

"""A parcel comes back: arrival, the check line by line, what else was in it."""

from __future__ import annotations

from django.contrib import messages
from django.http import FileResponse, Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from rentals.actions.issue import open_loan
from rentals.actions.receive import (
    arrive,
    finish_check,
    lacks_of,
    note_found,
    note_line,
    scan_return,
)
from rentals.errors import Refused
from rentals.forms.kits import NoForm
from rentals.forms.receive import FoundForm, ReturnLineForm
from rentals.models import Kit, Loan, LoanStage, ReturnCheck, ReturnLine
from rentals.selectors.returns import loans_out
from rentals.selectors.scan import next_step
from rentals.web.acting import carry_out
from rentals.web.finding import kit_or_404, page_of

from .kit_acts import get_or_post

FILTERS = [("", "all that are out"), ("check", "back, to check"), ("overdue", "overdue")]


@require_safe
def out_list(request: HttpRequest) -> HttpResponse:
    """What is on the desk to check, and what is still out, by due date."""
    q, show = request.GET.get("q", ""), request.GET.get("show", "")
    today = timezone.localdate()
    context = {
        "page": page_of(request, loans_out(q, show, today)),
        "q": q,
        "total": Loan.objects.filter(stage__in=[LoanStage.CHECK, LoanStage.AWAY]).count(),
        "choices": [
            {
                "name": "show",
                "label": "Show",
                "options": [
                    {"value": v, "label": words, "current": v == show} for v, words in FILTERS
                ],
            }
        ],
    }
    return render(request, "rentals/receive/list.html", context)


def _home(kit: Kit) -> str:
    return reverse("rentals:receive_kit", args=[kit.code])


@get_or_post
def receive_kit(request: HttpRequest, code: str) -> HttpResponse:
    """The return check of a kit; for a kit that is away the button that says it has arrived."""
    kit = kit_or_404(code)
    loan = open_loan(kit)
    if loan is None or kit.state not in ("away", "check"):
        context = {"kit": kit, "loan": loan, "next_url": next_step(kit)}
        return render(request, "rentals/receive/other.html", context)
    if kit.state == "away":
        return render(request, "rentals/receive/away.html", {"kit": kit, "loan": loan})
    return _check(request, kit, loan.return_check)


def _lines(check: ReturnCheck) -> list[ReturnLine]:
    return list(
        check.lines.select_related("packing_line", "packing_line__part").order_by(
            "packing_line__order", "pk"
        )
    )


def _check(request: HttpRequest, kit: Kit, check: ReturnCheck) -> HttpResponse:
    posted = request.method == "POST"
    data, files = (request.POST, request.FILES) if posted else (None, None)
    forms = [ReturnLineForm(data, files, line=line) for line in _lines(check)]
    finish = NoForm(data)
    if posted and _keep(forms):
        if "finish" not in request.POST:
            messages.success(request, "Kept as it stands.")
            return HttpResponseRedirect(_home(kit))
        finish.is_valid()
        answer = carry_out(request, "finish check", lambda: _finish(request, check), form=finish)
        if answer is not None:
            return answer
        forms = [ReturnLineForm(line=line) for line in _lines(check)]
    lacks = (
        [(form.line, sentence) for form in forms for sentence in lacks_of(form.line)]
        if finish.errors
        else []
    )
    context = _context(kit, check, forms) | {
        "finish": finish,
        "lacks": lacks,
        "wrong": [f for f in forms if f.errors],
    }
    return render(request, "rentals/receive/check.html", context, status=422 if posted else 200)


def _keep(forms: list[ReturnLineForm]) -> bool:
    """Keep every line that was filled in well; a refusal stays beside its line."""
    good = True
    for form in forms:
        if not form.is_valid():
            good = False
            continue
        try:
            note_line(form.line, **form.facts())
        except Refused as refusal:
            form.add_error(
                refusal.field if refusal.field in form.fields else None, refusal.sentence
            )
            good = False
    return good


def _finish(request: HttpRequest, check: ReturnCheck) -> str:
    loan = finish_check(check, actor=request.user)
    short = loan.shortfalls.count()
    said = "complete" if not short else f"{short} short"
    messages.success(request, f"Kit {loan.kit.code} is checked: {said}. It goes to the bench.")
    return loan.get_absolute_url()


def _context(kit: Kit, check: ReturnCheck, forms: list[ReturnLineForm]) -> dict[str, object]:
    to_look_at = [form for form in forms if form.line.packing_line.comes_back]
    seen = sum(1 for form in to_look_at if form.line.outcome != ReturnLine.Outcome.OPEN)
    return {
        "kit": kit,
        "loan": check.loan,
        "check": check,
        "forms": to_look_at,
        "used_up": [form.line for form in forms if not form.line.packing_line.comes_back],
        "seen": seen,
        "total": len(to_look_at),
        "open_lines": [f.line for f in to_look_at if f.line.outcome == ReturnLine.Outcome.OPEN],
        "found": check.found.select_related("part__kit"),
        "found_form": FoundForm(),
    }


@require_POST
def arrived(request: HttpRequest, code: str) -> HttpResponse:
    """The parcel is on the desk."""
    kit = kit_or_404(code)

    def do() -> str:
        arrive(kit, actor=request.user)
        return _home(kit)

    return carry_out(request, "arrive", do) or HttpResponseRedirect(_home(kit))


def _open_check(kit: Kit) -> ReturnCheck:
    loan = open_loan(kit)
    if loan is None or loan.stage != LoanStage.CHECK:
        raise Http404(f"Kit {kit.code} is not being checked.")
    return loan.return_check


@require_POST
def scan(request: HttpRequest, code: str) -> HttpResponse:
    """A part of the parcel was scanned."""
    kit = kit_or_404(code)
    check = _open_check(kit)
    try:
        said, line = scan_return(check, request.POST.get("scan", ""))
    except Refused as refusal:
        messages.error(request, refusal.sentence)
    else:
        (messages.success if line else messages.warning)(request, said)
    return HttpResponseRedirect(_home(kit))


@require_POST
def found(request: HttpRequest, code: str) -> HttpResponse:
    """Something without a label was in the parcel."""
    kit = kit_or_404(code)
    check = _open_check(kit)

    def do() -> str:
        note_found(check, request.POST.get("text", ""))
        return _home(kit) + "#found"

    return carry_out(request, "note found", do) or HttpResponseRedirect(_home(kit) + "#found")


@require_POST
def line(request: HttpRequest, code: str, pk: int) -> HttpResponse:
    """One line, kept as soon as it is touched; answers with the line as it stands now."""
    kit = kit_or_404(code)
    check = _open_check(kit)
    row = get_object_or_404(
        ReturnLine.objects.select_related("packing_line", "packing_line__part"),
        pk=pk,
        check_of=check,
    )
    form = ReturnLineForm(request.POST, request.FILES, line=row)
    if _keep([form]):
        row = ReturnLine.objects.select_related("packing_line", "packing_line__part").get(pk=pk)
        form = ReturnLineForm(line=row)
    if not request.htmx:
        return HttpResponseRedirect(_home(kit))
    context = _context(kit, check, [ReturnLineForm(line=one) for one in _lines(check)])
    return render(request, "rentals/receive/_line_answer.html", context | {"form": form})


@require_safe
def photo(request: HttpRequest, pk: int) -> FileResponse:
    """A photo of damage, for people who are signed in."""
    row = get_object_or_404(ReturnLine.objects.exclude(photo=""), pk=pk)
    return FileResponse(row.photo.open("rb"), content_type="image/jpeg")

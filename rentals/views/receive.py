"""A parcel comes back: arrival, the check line by line, what else was in it."""

from __future__ import annotations

from contextlib import AbstractContextManager
from functools import partial
from typing import Any

from django.contrib import messages
from django.contrib.auth.models import User
from django.http import Http404, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from rentals.actions.line_photos import laid_photos
from rentals.actions.once import patiently
from rentals.actions.part_return import await_rest
from rentals.actions.receive import (
    arrive,
    finish_check,
    note_line,
)
from rentals.actions.receive_rest import note_rest_back, scan_parcel
from rentals.actions.return_scan import note_found
from rentals.actions.return_steps import tick_step
from rentals.codes import grouped
from rentals.dates import short_date
from rentals.errors import Refused
from rentals.forms.receive import ArrivalForm, FoundForm, RestForm, ReturnLineForm
from rentals.laid_files import LaidFile
from rentals.models import Kit, Loan, ReturnCheck, ReturnLine
from rentals.next_acts import ReceivingPage, may_check, receiving_page
from rentals.selectors.carriers import tracking_url
from rentals.selectors.errands import errands_about
from rentals.selectors.found import aside_in, finds, found_rows
from rentals.selectors.next_steps import scan_address
from rentals.selectors.open_loan import open_loan
from rentals.selectors.part_scan import other_kit_on_label
from rentals.selectors.return_rest import rest_of, rest_of_loan
from rentals.selectors.return_steps import lack_of_step, steps_of
from rentals.selectors.returns import count_out, lacks_of, loans_of_out_rows, out_row
from rentals.states import KitState, LoanStage, StepKind
from rentals.web.acting import carry_out, post_or_go_to, press_button, result_or_refusal
from rentals.web.finding import kit_or_404, page_of
from rentals.web.form_page import ConfirmForm
from rentals.web.lines_meanwhile import mind_others
from rentals.web.page_or_part import page_again
from rentals.web.photo_scan import takes_photo
from rentals.web.request import DeskRequest, get_or_post
from rentals.web.scan_outcome import scan_answer

from .out_lists import loans_wanted


@require_safe
def out_list(request: DeskRequest) -> HttpResponse:
    """What is on the desk to check, and what is still out, by due date."""
    today = timezone.localdate()
    wanted, loans = loans_wanted(request, today)
    page = page_of(request, loans, rows_of=loans_of_out_rows)
    context = {
        "page": page,
        "rows": [out_row(loan, today) for loan in page],
        "total": count_out(),
        "errands": errands_about(request.path, request.user),
        **wanted.context(),
    }
    return render(request, "rentals/receive/list.html", context)


def _home(kit: Kit) -> str:
    return reverse("rentals:receive_kit", args=[kit.code])


@get_or_post
def receive_kit(request: DeskRequest, code: str) -> HttpResponse:
    """The return check of a kit; for a kit that is away the button that says it has arrived."""
    kit = kit_or_404(code)
    loan = open_loan(kit)
    page = receiving_page(KitState(kit.state))
    if loan is None or page is ReceivingPage.ELSEWHERE:
        context = {"kit": kit, "loan": loan, "next_url": scan_address(kit)}
        return render(request, "rentals/receive/other.html", context)
    if page is ReceivingPage.AWAY:
        return _away_page(request, kit, loan, ArrivalForm.of(loan))
    check = loan.return_check
    if request.method == "POST":
        return _keep_and_finish(request, kit, check)
    return _check_page(request, kit, check, _line_forms(check))


def _away_page(
    request: DeskRequest, kit: Kit, loan: Loan, arrival: ArrivalForm, *, refused: bool = False
) -> HttpResponse:
    context = {
        "kit": kit,
        "loan": loan,
        "arrival_form": arrival,
        "rest": rest_of_loan(loan),
        "tracking_url": tracking_url(loan),
    }
    return page_again(request, "rentals/receive/away.html", context, refused=refused)


def _keep_and_finish(
    request: DeskRequest, kit: Kit, check: ReturnCheck, *, rest: bool = False
) -> HttpResponse:
    """Keep what was sent of every line, and that the `rest` is back; finish the check where that
    was asked for.
    """
    line_forms = [ReturnLineForm(request.POST, request.FILES, line=line) for line in _lines(check)]
    _keep_steps(request, check)
    if not _keep(line_forms, request.user):
        return _check_page(request, kit, check, line_forms)
    if rest:
        rest_form = RestForm(request.POST, rest=rest_of(_lines(check)))
        if rest_form.is_valid():
            note_rest_back(check, **rest_form.cleaned_data, actor=request.user)
    if "part" in request.POST:
        return _close_in_part(request, kit, check)
    if "finish" not in request.POST:
        messages.success(request, "Kept as it stands.")
        return HttpResponseRedirect(_home(kit))
    finish = ConfirmForm(request.POST)
    answer = carry_out(
        request,
        "finish check",
        lambda: finish_check(check, actor=request.user),
        success=_check_finished,
        form=finish,
    )
    return answer or _check_page(request, kit, check, _line_forms(check), finish)


def _close_in_part(request: DeskRequest, kit: Kit, check: ReturnCheck) -> HttpResponse:
    """What is back stands; the rest stays due."""
    return press_button(
        request,
        "close a check in part",
        lambda: await_rest(check, actor=request.user),
        home=_home(kit),
        success=lambda loan: (
            f"Part of kit {loan.kit.code} is back. The rest stays due on {short_date(loan.due_on)}."
        ),
    )


def _lines(check: ReturnCheck) -> list[ReturnLine]:
    lines = check.lines.select_related("packing_line", "packing_line__part")
    lines = lines.prefetch_related("packing_line__photos")
    return list(lines.order_by("packing_line__order", "pk"))


def _line_forms(check: ReturnCheck) -> list[ReturnLineForm]:
    return [ReturnLineForm(line=line) for line in _lines(check)]


def _note(form: ReturnLineForm, actor: User, photos: list[LaidFile]) -> ReturnLine:
    photo = photos[0] if photos else None
    return note_line(form.line, **form.facts(), photo=photo, actor=actor)


def _photos_of(form: ReturnLineForm) -> AbstractContextManager[list[LaidFile]]:
    return laid_photos(form.photos())


def _keep(line_forms: list[ReturnLineForm], actor: User) -> bool:
    """Keep every line that was filled in well; whether that was all of them. A refusal stays beside
    its line, as does what two people have changed.
    """
    for form in line_forms:
        mind_others(form)
    results = [
        result_or_refusal(partial(_note, form, actor), form, first=partial(_photos_of, form))
        for form in line_forms
    ]
    return None not in results


def _keep_steps(request: DeskRequest, check: ReturnCheck) -> None:
    """Keep the ticks of the steps that the page showed."""
    for step in steps_of(check):
        if f"step{step.pk}-shown" in request.POST:
            tick_step(step, done=f"step{step.pk}" in request.POST, actor=request.user)


def _check_finished(loan: Loan) -> str:
    short = loan.shortfalls.count()
    outcome = f"{short} short" if short else "complete"
    return f"Kit {loan.kit.code} is checked: {outcome}. It goes to the bench."


def _check_page(
    request: DeskRequest,
    kit: Kit,
    check: ReturnCheck,
    line_forms: list[ReturnLineForm],
    finish: ConfirmForm | None = None,
) -> HttpResponse:
    """The check at work; `finish` is a finish that was refused."""
    wrong = [form for form in line_forms if form.errors]
    context = _progress(kit, check, line_forms) | {
        "finish": finish,
        "lacks": _lacks(check, line_forms) if finish else [],
        "wrong": wrong,
    }
    refused = bool(wrong or finish)
    return page_again(request, "rentals/receive/check.html", context, refused=refused)


def _lacks(check: ReturnCheck, line_forms: list[ReturnLineForm]) -> list[tuple[str, str]]:
    """What the check lacks: where on the page, and in which words."""
    lacks = [
        (f"line-{form.line.pk}", words) for form in line_forms for words in lacks_of(form.line)
    ]
    undone = [step for step in steps_of(check) if step.done_at is None]
    return lacks + [(f"step-{step.pk}", lack_of_step(step)) for step in undone]


def _progress(kit: Kit, check: ReturnCheck, line_forms: list[ReturnLineForm]) -> dict[str, Any]:
    """What the check's page and the answer to one touched line both show."""
    to_look_at = [form for form in line_forms if form.line.packing_line.comes_back]
    used_up = [form.line for form in line_forms if not form.line.packing_line.comes_back]
    open_lines = [form.line for form in to_look_at if form.line.outcome == ReturnLine.Outcome.OPEN]
    return {
        "kit": kit,
        "loan": check.loan,
        "check": check,
        "forms": to_look_at,
        "used_up": used_up,
        **_steps(check),
        "seen": len(to_look_at) - len(open_lines),
        "total": len(to_look_at),
        "open_names": [line.packing_line.name for line in open_lines],
        "found": found_rows(finds().filter(check_of=check)),
        "aside": aside_in(kit),
        "found_form": FoundForm(),
        "rest_form": RestForm(rest=rest_of(form.line for form in line_forms)),
    }


def _steps(check: ReturnCheck) -> dict[str, Any]:
    """The steps to tick; whether throwing away is among them, so that no note need say it."""
    steps = steps_of(check)
    return {"steps": steps, "thrown": any(step.kind == StepKind.DISPOSE for step in steps)}


@require_POST
def arrived(request: DeskRequest, code: str) -> HttpResponse:
    """The parcel is on the desk."""
    kit = kit_or_404(code)
    loan = open_loan(kit)
    form = ArrivalForm(request.POST)
    answer = carry_out(
        request,
        "arrive",
        lambda: arrive(kit, on=form.cleaned_data["on"], actor=request.user),
        then=_home(kit),
        form=form,
    )
    if answer is not None:
        return answer
    if loan is not None and receiving_page(KitState(kit.state)) is ReceivingPage.AWAY:
        return _away_page(request, kit, loan, form, refused=True)
    for sentences in form.errors.values():
        messages.error(request, " ".join(map(str, sentences)))
    return HttpResponseRedirect(_home(kit))


def _open_check(kit: Kit) -> ReturnCheck:
    loan = open_loan(kit)
    if loan is None or not may_check(LoanStage(loan.stage)):
        raise Http404(f"Kit {kit.code} is not being checked.")
    return loan.return_check


@post_or_go_to("rentals:receive_kit")
def rest(request: DeskRequest, code: str) -> HttpResponse:
    """All that is only counted is back; with ``finish`` the check ends with it. What is typed
    beside a line is kept as well.
    """
    kit = kit_or_404(code)
    loan = open_loan(kit)
    if loan is None or not may_check(LoanStage(loan.stage)):
        # Finished meanwhile, maybe by this very form sent twice: the kit's page says how it stands.
        return HttpResponseRedirect(_home(kit))
    return _keep_and_finish(request, kit, loan.return_check, rest=True)


@require_POST
@takes_photo("rentals:receive_kit")
def scan(request: DeskRequest, code: str) -> HttpResponse:
    """A part of the parcel was scanned; the first one says that the parcel is here."""
    kit = kit_or_404(code)
    text = request.POST.get("scan", "")
    other_kit = other_kit_on_label(text, kit)
    if other_kit is not None:
        words = f"Kit {grouped(other_kit.code)}, {other_kit.get_state_display()}."
        messages.info(request, f"{words} The check of kit {grouped(kit.code)} stays as it was.")
        return HttpResponseRedirect(scan_address(other_kit))
    line = None
    try:
        sentence, line = patiently(lambda: scan_parcel(kit, text, actor=request.user))
    except Refused as refusal:
        messages.error(request, refusal.sentence)
    else:
        level = messages.SUCCESS if line else messages.WARNING
        messages.add_message(request, level, sentence)
    return scan_answer(HttpResponseRedirect(_home(kit)), accepted=line is not None)


@require_POST
def found(request: DeskRequest, code: str) -> HttpResponse:
    """Something without a label was in the parcel."""
    kit = kit_or_404(code)
    check = _open_check(kit)
    text = request.POST.get("text", "")
    return press_button(
        request, "note found", lambda: note_found(check, text), home=_home(kit) + "#found"
    )


@require_POST
def line(request: DeskRequest, code: str, pk: int) -> HttpResponse:
    """One line, kept as soon as it is touched; answers with the line as it stands now."""
    kit = kit_or_404(code)
    check = _open_check(kit)
    rows = ReturnLine.objects.select_related("packing_line", "packing_line__part")
    rows = rows.prefetch_related("packing_line__photos")
    row = get_object_or_404(rows, pk=pk, check_of=check)
    form = ReturnLineForm(request.POST, request.FILES, line=row)
    note, photos = partial(_note, form, request.user), partial(_photos_of, form)
    answer = carry_out(request, "note a line", note, first=photos, then=_home(kit), form=form)
    if answer is not None:
        form = ReturnLineForm(line=rows.get(pk=pk))
    if not request.htmx:
        return HttpResponseRedirect(_home(kit))
    context = _progress(kit, check, _line_forms(check)) | {"form": form}
    return render(request, "rentals/receive/_line_answer.html", context)

"""One capture: its trace, spectrum, findings and history; the question it asks; the columns it
has.
"""

from __future__ import annotations

from django.http import FileResponse, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from readiness.actions.answer import (
    answer_question,
    confirm_moved,
    count_again,
    score_again,
    set_aside,
)
from readiness.actions.plan import keep_column_map
from readiness.forms.bench import AnswerForm, AsideForm, MovedForm
from readiness.forms.columns import ColumnMapForm
from readiness.models import Capture
from readiness.selectors.captures import capture_page, preview_of
from readiness.views.desk import batch_page
from rentals.web.acting import carry_out, next_address, press_button
from rentals.web.form_page import form_page
from rentals.web.page_or_part import page_again
from rentals.web.request import DeskRequest, get_or_post, posted
from rentals.web.stored_files import stored_file


def _capture(pk: int) -> Capture:
    captures = Capture.objects.select_related(
        "kit__kit_type", "upload__by", "lead_set", "amplifier", "battery_pack"
    )
    return get_object_or_404(captures, pk=pk)


@require_safe
def capture(request: DeskRequest, pk: int) -> HttpResponse:
    """Everything the bench knows of one capture."""
    return _page(request, _capture(pk))


def _page(
    request: DeskRequest,
    capture: Capture,
    answer_form: AnswerForm | None = None,
    aside_form: AsideForm | None = None,
    moved_form: MovedForm | None = None,
) -> HttpResponse:
    """The page of a capture; a form is one that was refused."""
    refused = any(form is not None for form in (answer_form, aside_form, moved_form))
    if answer_form is None and capture.status == Capture.Status.ASKING:
        answer_form = AnswerForm(capture)
    context = {
        "capture": capture,
        "seen": capture_page(capture, request.GET.get("from", ""), request.GET.get("to", "")),
        "answer_form": answer_form,
        "aside_form": aside_form or AsideForm(),
        "moved_form": moved_form or MovedForm(),
    }
    return page_again(request, "readiness/capture.html", context, refused=refused)


@require_POST
def answer(request: DeskRequest, pk: int) -> HttpResponse:
    """Take the answer to what a capture asks; back to the page it was given on."""
    capture = _capture(pk)
    form = AnswerForm(capture, request.POST)
    home = next_address(request, capture.get_absolute_url())
    next_page = carry_out(
        request,
        "answer for a capture",
        lambda: answer_question(capture, form.facts()),
        then=home,
        form=form,
    )
    if next_page is None and home == capture.upload.get_absolute_url():
        return batch_page(request, capture.upload, form)
    return next_page or _page(request, capture, answer_form=form)


@require_POST
def again(request: DeskRequest, pk: int) -> HttpResponse:
    """Score the capture once more."""
    capture = _capture(pk)
    scored = carry_out(request, "score a capture again", lambda: score_again(capture))
    return scored or _page(request, capture)


@require_POST
def moved(request: DeskRequest, pk: int) -> HttpResponse:
    """Take the operator's word that each lead of a flex was moved."""
    capture = _capture(pk)
    form = MovedForm(request.POST)
    done = carry_out(
        request,
        "confirm that the leads were moved",
        lambda: confirm_moved(capture, actor=request.user),
        then=capture.get_absolute_url(),
        success="Confirmed: it stays with the verdict.",
        form=form,
    )
    return done or _page(request, capture, moved_form=form)


@require_POST
def aside(request: DeskRequest, pk: int) -> HttpResponse:
    """Take the capture out of the count, with a reason."""
    capture = _capture(pk)
    form = AsideForm(request.POST)
    done = carry_out(
        request,
        "set a capture aside",
        lambda: set_aside(capture, form.cleaned_data["reason"], actor=request.user),
        success=f"{capture.name} does not count any more.",
        undo=reverse("readiness:capture_count_again", args=[pk]),
        form=form,
    )
    return done or _page(request, capture, aside_form=form)


@require_POST
def back_in_count(request: DeskRequest, pk: int) -> HttpResponse:
    """The capture that was set aside counts again."""
    capture = _capture(pk)
    return press_button(
        request,
        "count a capture again",
        lambda: count_again(capture, actor=request.user),
        home=capture.get_absolute_url(),
        success=f"{capture.name} counts again.",
    )


@get_or_post
def columns(request: DeskRequest, pk: int) -> HttpResponse:
    """Which column is what: a look at the file, and the map that is kept for the kit type."""
    capture = _capture(pk)
    look = preview_of(capture)
    context = {"capture": capture, "seen": look}
    if look.preview is None:
        sent, context = request.method == "POST", {**context, "form": None}
        return page_again(request, "readiness/columns.html", context, refused=sent)
    kit_type = capture.kit.kit_type if capture.kit else None
    form = ColumnMapForm(look.preview, posted(request), kit_type=kit_type)
    return form_page(
        request,
        form,
        "readiness/columns.html",
        act="keep a column map",
        do=lambda data: keep_column_map(data["kit_type"], form.column_map()),
        then=reverse("readiness:batch", args=[capture.upload_id]),
        context=context,
    )


@require_safe
def file(request: DeskRequest, pk: int) -> FileResponse:
    """The file as it came, byte for byte, always as a download."""
    capture = _capture(pk)
    return stored_file(
        capture.file,
        as_attachment=True,
        filename=capture.name,
        content_type="application/octet-stream",
    )

"""One capture: its trace, spectrum, findings and history; the question it asks; the columns it
has.
"""

from __future__ import annotations

from django.http import FileResponse, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from readiness.actions.answer import answer_question, score_again, set_aside
from readiness.actions.plan import keep_column_map
from readiness.forms.bench import AnswerForm, AsideForm
from readiness.forms.columns import ColumnMapForm
from readiness.models import Capture
from readiness.selectors.captures import capture_page, preview_of
from readiness.views.desk import batch_page
from rentals.web.acting import carry_out, next_address


def _capture(pk: int) -> Capture:
    found = Capture.objects.select_related(
        "kit__kit_type", "upload__by", "lead_set", "amplifier", "battery_pack"
    )
    return get_object_or_404(found, pk=pk)


@require_safe
def capture(request: HttpRequest, pk: int) -> HttpResponse:
    """Everything the bench knows of one capture."""
    return _page(request, _capture(pk))


def _page(
    request: HttpRequest,
    found: Capture,
    answer_form: AnswerForm | None = None,
    aside_form: AsideForm | None = None,
) -> HttpResponse:
    context = {
        "capture": found,
        "seen": capture_page(found),
        "answer_form": (
            answer_form or (AnswerForm(found) if found.status == Capture.Status.ASKING else None)
        ),
        "aside_form": aside_form or AsideForm(),
    }
    refused = answer_form is not None or aside_form is not None
    return render(request, "readiness/capture.html", context, status=422 if refused else 200)


@require_POST
def answer(request: HttpRequest, pk: int) -> HttpResponse:
    """Take the answer to what a capture asks; back to the page it was given on."""
    found = _capture(pk)
    form = AnswerForm(found, request.POST)
    home = next_address(request, found.get_absolute_url())
    if form.is_valid():

        def do() -> str:
            answer_question(found, form.facts())
            return home

        done = carry_out(request, "answer for a capture", do, form=form)
        if done is not None:
            return done
    if home == found.upload.get_absolute_url():
        return batch_page(request, found.upload, form)
    return _page(request, found, answer_form=form)


@require_POST
def again(request: HttpRequest, pk: int) -> HttpResponse:
    """Score the capture once more."""
    found = _capture(pk)

    def do() -> str:
        return score_again(found).get_absolute_url()

    return carry_out(request, "score a capture again", do) or _page(request, found)


@require_POST
def aside(request: HttpRequest, pk: int) -> HttpResponse:
    """Take the capture out of the count, with a reason."""
    found = _capture(pk)
    form = AsideForm(request.POST)
    if form.is_valid():

        def do() -> str:
            return set_aside(
                found, form.cleaned_data["reason"], actor=request.user
            ).get_absolute_url()

        done = carry_out(request, "set a capture aside", do, form=form)
        if done is not None:
            return done
    return _page(request, found, aside_form=form)


@require_http_methods(["GET", "HEAD", "POST"])
def columns(request: HttpRequest, pk: int) -> HttpResponse:
    """Which column is what: a look at the file, and the map that is kept for the kit type."""
    found = _capture(pk)
    seen = preview_of(found)
    form = None
    if seen.preview is not None:
        form = ColumnMapForm(
            seen.preview, request.POST or None, kit_type=found.kit.kit_type if found.kit else None
        )
        if request.method == "POST" and form.is_valid():

            def do() -> str:
                keep_column_map(form.cleaned_data["kit_type"], form.column_map())
                return reverse("readiness:batch", args=[found.upload_id])

            done = carry_out(request, "keep a column map", do, form=form)
            if done is not None:
                return done
    status = 422 if request.method == "POST" else 200
    return render(
        request,
        "readiness/columns.html",
        {"capture": found, "seen": seen, "form": form},
        status=status,
    )


@require_safe
def file(request: HttpRequest, pk: int) -> FileResponse:
    """The file as it came, byte for byte, always as a download."""
    found = _capture(pk)
    return FileResponse(
        found.file.open("rb"),
        as_attachment=True,
        filename=found.name,
        content_type="application/octet-stream",
    )

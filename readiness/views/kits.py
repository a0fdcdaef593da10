"""One kit at the bench, and the part of the kit's own page that the bench fills."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from readiness.actions.answer import note_battery
from readiness.actions.check_kit import appoint, dismiss
from readiness.actions.conclude import conclude_again
from readiness.forms.bench import UploadForm, VoltsForm
from readiness.selectors import kits as selectors
from readiness.selectors.history import kit_history
from readiness.selectors.series import kit_charts
from readiness.views.parts import page_or_part
from rentals.models import Kit
from rentals.web.acting import carry_out
from rentals.web.finding import kit_or_404


@require_safe
def kit_bench(request: HttpRequest, code: str) -> HttpResponse:
    """Scores, verdict in words, leads proven, findings, missing tests, captures."""
    return _page(request, kit_or_404(code))


def _page(request: HttpRequest, kit: Kit, volts_form: VoltsForm | None = None) -> HttpResponse:
    context = {
        "kit": kit,
        "bench": selectors.kit_bench(kit),
        "history": kit_history(kit),
        "charts": kit_charts(kit),
        "volts_form": volts_form or VoltsForm(),
        "upload_form": UploadForm(initial={"kit": kit.code}),
    }
    return render(
        request, "readiness/kit.html", context, status=422 if volts_form is not None else 200
    )


@require_safe
def kit_panel(request: HttpRequest, code: str) -> HttpResponse:
    """The bench's part of the kit's page: last scores, their course, a way on."""
    kit = kit_or_404(code)
    found = kit.bench_tests.order_by("-current", "-at").first()
    context = {"kit": kit, "round": found, "charts": kit_charts(kit)}
    return page_or_part(request, "readiness/kit_panel.html", "readiness/_kit_panel.html", context)


@require_POST
def clear(request: HttpRequest, code: str) -> HttpResponse:
    """Judge the round once more and clear the kit, where what stood against it is mended."""
    kit = kit_or_404(code)

    def do() -> str:
        conclude_again(kit, actor=request.user)
        return reverse("readiness:kit_bench", args=[kit.code])

    return carry_out(request, "clear a kit", do) or _page(request, kit_or_404(code))


@require_POST
def battery(request: HttpRequest, code: str) -> HttpResponse:
    """A meter reading for the captures that came without one."""
    kit = kit_or_404(code)
    form = VoltsForm(request.POST)
    if form.is_valid():

        def do() -> str:
            note_battery(kit, form.cleaned_data["volts"])
            return reverse("readiness:kit_bench", args=[kit.code])

        done = carry_out(request, "note a battery reading", do, form=form)
        if done is not None:
            return done
    return _page(request, kit, form)


@require_POST
def check_kit(request: HttpRequest, code: str) -> HttpResponse:
    """Make the kit the check kit of the bench, or an ordinary one again."""
    kit = kit_or_404(code)

    def do() -> str:
        if request.POST.get("act") == "dismiss":
            dismiss(kit, actor=request.user)
        else:
            appoint(kit, actor=request.user)
        return reverse("readiness:kit_bench", args=[kit.code])

    return carry_out(request, "appoint a check kit", do) or _page(request, kit_or_404(code))

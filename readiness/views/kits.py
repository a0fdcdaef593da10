"""One kit at the bench, and the part of the kit's own page that the bench fills."""

from __future__ import annotations

from django.http import HttpResponse
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from readiness.actions.answer import note_battery
from readiness.actions.check_kit import appoint, dismiss
from readiness.actions.conclude import conclude_again
from readiness.forms.bench import UploadForm, VoltsForm
from readiness.selectors import kits as selectors
from readiness.selectors.history import kit_history
from readiness.selectors.series import kit_charts
from readiness.selectors.usual import usual_lines
from rentals.models import Kit
from rentals.web.acting import carry_out
from rentals.web.finding import kit_or_404
from rentals.web.page_or_part import page_again, page_or_part
from rentals.web.request import DeskRequest


@require_safe
def kit_bench(request: DeskRequest, code: str) -> HttpResponse:
    """Scores, verdict in words, leads proven, findings, missing tests, captures."""
    return _page(request, kit_or_404(code))


def _home(kit: Kit) -> str:
    return reverse("readiness:kit_bench", args=[kit.code])


def _page(request: DeskRequest, kit: Kit, volts_form: VoltsForm | None = None) -> HttpResponse:
    """The page of a kit at the bench; `volts_form` is a reading that was refused."""
    context = {
        "kit": kit,
        "bench": selectors.kit_bench(kit),
        "history": kit_history(kit),
        "charts": kit_charts(kit),
        "usual": usual_lines(kit),
        "volts_form": volts_form or VoltsForm(),
        "upload_form": UploadForm(initial={"kit": kit.code}),
    }
    return page_again(request, "readiness/kit.html", context, refused=volts_form is not None)


@require_safe
def kit_panel(request: DeskRequest, code: str) -> HttpResponse:
    """The bench's part of the kit's page: last scores, their course, a way on."""
    kit = kit_or_404(code)
    panel = selectors.kit_panel(kit)
    context = {"kit": kit, **vars(panel), "charts": kit_charts(kit)}
    return page_or_part(request, "readiness/kit_panel.html", "readiness/_kit_panel.html", context)


@require_POST
def clear(request: DeskRequest, code: str) -> HttpResponse:
    """Judge the round once more and clear the kit, where what stood against it is mended."""
    kit = kit_or_404(code)
    cleared = carry_out(
        request,
        "clear a kit",
        lambda: conclude_again(kit, actor=request.user),
        then=_home(kit),
    )
    return cleared or _page(request, kit_or_404(code))


@require_POST
def battery(request: DeskRequest, code: str) -> HttpResponse:
    """A meter reading for the captures that came without one."""
    kit = kit_or_404(code)
    form = VoltsForm(request.POST)
    noted = carry_out(
        request,
        "note a battery reading",
        lambda: note_battery(kit, form.cleaned_data["volts"]),
        then=_home(kit),
        form=form,
    )
    return noted or _page(request, kit, form)


@require_POST
def check_kit(request: DeskRequest, code: str) -> HttpResponse:
    """Make the kit the check kit of the bench, or an ordinary one again."""
    kit = kit_or_404(code)
    act = dismiss if request.POST.get("act") == "dismiss" else appoint
    done = carry_out(
        request,
        "appoint a check kit",
        lambda: act(kit, actor=request.user),
        then=_home(kit),
    )
    return done or _page(request, kit_or_404(code))

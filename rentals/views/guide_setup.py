"""Setup of the help by symptom: steps left out, and steps of the owner's own."""

from __future__ import annotations

from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from rentals.actions.guide_setup import leave_out, put_in_again, remove_own_step, save_own_step
from rentals.forms.guide_steps import OwnStepForm
from rentals.models import OwnStep
from rentals.planning.guide_trees import TREES
from rentals.selectors.guide_setup import guide_setup
from rentals.web.acting import press_button
from rentals.web.form_page import ActPage, act_page, edit_page
from rentals.web.request import DeskRequest, get_or_post, posted


@require_safe
def steps(request: DeskRequest) -> HttpResponse:
    """Every symptom with its steps."""
    return render(request, "rentals/setup/guide.html", {"rows": guide_setup()})


@require_POST
def step(request: DeskRequest, symptom: str, step: str) -> HttpResponse:
    """Leave a step out, or put it in again."""
    act = put_in_again if request.POST.get("act") == "put_in" else leave_out
    return press_button(
        request, "change the guide", lambda: act(symptom, step), home=reverse("rentals:guide_steps")
    )


@get_or_post
def own_step_new(request: DeskRequest, symptom: str) -> HttpResponse:
    """A further step, in the owner's words."""
    if symptom not in TREES:
        raise Http404("There is no such symptom.")
    return _edit(request, OwnStep(symptom=symptom), "A step of your own")


@get_or_post
def own_step(request: DeskRequest, pk: int) -> HttpResponse:
    """Other words for it."""
    row = get_object_or_404(OwnStep, pk=pk)
    return _edit(request, row, f"Change {row.title}")


def _edit(request: DeskRequest, row: OwnStep, title: str) -> HttpResponse:
    form = OwnStepForm(posted(request), instance=row)
    home = reverse("rentals:guide_steps")
    return edit_page(
        request,
        form,
        title=title,
        home=home,
        act="save own step",
        do=lambda _: save_own_step(form.instance),
        then=home,
    )


@get_or_post
def own_step_remove(request: DeskRequest, pk: int) -> HttpResponse:
    """Take it out."""
    row = get_object_or_404(OwnStep, pk=pk)
    page = ActPage(
        f"Remove {row.title}",
        "Remove",
        ("Students are not asked to try it any more.", "Reports that were sent keep it."),
        undo="It can be written anew.",
    )
    home = reverse("rentals:guide_steps")
    return act_page(request, page, lambda _: remove_own_step(row), home=home)

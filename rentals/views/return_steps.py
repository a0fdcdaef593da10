"""Setup of a kit type's steps after each return, and the tick of one while a return is checked."""

from __future__ import annotations

from django.http import HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from rentals.actions.return_steps import (
    move_step,
    remove_step,
    save_step,
    take_starter_steps,
    tick_step,
)
from rentals.forms.return_steps import ReturnStepForm
from rentals.models import KitType, LoanStep, ReturnStep
from rentals.web.acting import carry_out, press_button
from rentals.web.form_page import ActPage, act_page, edit_page
from rentals.web.request import DeskRequest, get_or_post, posted


def _home(kit_type: KitType) -> str:
    return f"{kit_type.get_absolute_url()}#steps"


@get_or_post
def step_new(request: DeskRequest, pk: int) -> HttpResponse:
    """A further step."""
    kit_type = get_object_or_404(KitType, pk=pk)
    return _edit(request, ReturnStep(kit_type=kit_type), f"New step of {kit_type.name}")


@get_or_post
def step_edit(request: DeskRequest, pk: int) -> HttpResponse:
    """Change a step."""
    step = get_object_or_404(ReturnStep.objects.select_related("kit_type"), pk=pk)
    return _edit(request, step, f"A step of {step.kit_type.name}")


def _edit(request: DeskRequest, step: ReturnStep, title: str) -> HttpResponse:
    form = ReturnStepForm(posted(request), instance=step)
    home = _home(step.kit_type)
    return edit_page(
        request, form, title=title, home=home, do=lambda _: save_step(form.instance), then=home
    )


@require_POST
def step_move(request: DeskRequest, pk: int) -> HttpResponse:
    """One place up or down."""
    step = get_object_or_404(ReturnStep.objects.select_related("kit_type"), pk=pk)
    move_step(step, up=request.POST.get("to") == "up")
    return HttpResponseRedirect(_home(step.kit_type))


@get_or_post
def step_remove(request: DeskRequest, pk: int) -> HttpResponse:
    """Says what it means, then asks for the step no more."""
    step = get_object_or_404(ReturnStep.objects.select_related("kit_type"), pk=pk)
    page = ActPage(
        f"Ask for this step no more: {step.words}",
        submit="Remove",
        effects=(
            "Kits packed from now on are checked without it.",
            "Kits that are packed or out keep it: it is ticked when they come back.",
        ),
        undo="It can be added again on the kit type's page.",
    )
    return act_page(request, page, lambda _: remove_step(step), home=_home(step.kit_type))


@require_POST
def steps_starter(request: DeskRequest, pk: int) -> HttpResponse:
    """The ready steps."""
    kit_type = get_object_or_404(KitType, pk=pk)
    return press_button(
        request,
        "take ready steps",
        lambda: take_starter_steps(kit_type),
        home=_home(kit_type),
        success="The ready steps are added: change them, or take off what does not fit.",
    )


@require_POST
def step_tick(request: DeskRequest, pk: int) -> HttpResponse:
    """One step of a check, kept as soon as it is touched; answers with the step as it stands."""
    steps = LoanStep.objects.select_related("loan__kit", "loan__return_check")
    step = get_object_or_404(steps, pk=pk, loan__return_check__isnull=False)
    home = reverse("rentals:receive_kit", args=[step.loan.kit.code])
    done = f"step{step.pk}" in request.POST
    answer = carry_out(
        request,
        "tick a step",
        lambda: tick_step(step, done=done, actor=request.user),
        then=home,
    )
    if answer is None or not request.htmx:
        return HttpResponseRedirect(home)
    return render(request, "rentals/receive/_step.html", {"step": steps.get(pk=pk)})

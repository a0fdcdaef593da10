"""The test plan of a kit type: tests, limits with their reasons, own limits of amplifiers, the
column map.
"""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST

from readiness.actions.plan import accept_noise_limit, change_plan
from readiness.forms.bench import LimitReasonForm, PlanForm
from readiness.models import BenchPlan
from readiness.selectors.proposals import proposals_for
from rentals.models import Amplifier, KitType
from rentals.web.acting import carry_out


@require_http_methods(["GET", "HEAD", "POST"])
def plan(request: HttpRequest, kit_type_pk: int) -> HttpResponse:
    """Show the plan and change it."""
    kit_type = get_object_or_404(KitType, pk=kit_type_pk)
    current = BenchPlan.of(kit_type)
    form = PlanForm(request.POST or None, instance=current)
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            kits = change_plan(kit_type, form.cleaned_data, actor=request.user)
            if kits:
                named = ", ".join(kit.code for kit in kits[:12])
                more = f" and {len(kits) - 12} more" if len(kits) > 12 else ""
                messages.info(request, f"Judged anew by the changed plan: {named}{more}.")
            return reverse("readiness:plan", args=[kit_type.pk])

        done = carry_out(request, "change a test plan", do, form=form)
        if done is not None:
            return done
    return _page(request, kit_type, form)


def _page(
    request: HttpRequest,
    kit_type: KitType,
    form: PlanForm,
    refused: tuple[int, LimitReasonForm] | None = None,
) -> HttpResponse:
    context = {
        "kit_type": kit_type,
        "plan": BenchPlan.of(kit_type),
        "form": form,
        "proposals": [
            (
                proposal,
                (
                    refused[1]
                    if refused and refused[0] == proposal.amplifier.pk
                    else LimitReasonForm(auto_id=f"a{proposal.amplifier.pk}_%s")
                ),
            )
            for proposal in proposals_for(kit_type)
        ],
    }
    return render(
        request, "readiness/plan.html", context, status=422 if request.method == "POST" else 200
    )


@require_POST
def accept_limit(request: HttpRequest, kit_type_pk: int, amplifier_pk: int) -> HttpResponse:
    """Take the proposed noise limit of one amplifier, with the owner's reason."""
    kit_type = get_object_or_404(KitType, pk=kit_type_pk)
    amplifier = get_object_or_404(Amplifier, pk=amplifier_pk, kit__kit_type=kit_type)
    form = LimitReasonForm(request.POST, auto_id=f"a{amplifier_pk}_%s")
    if form.is_valid():

        def do() -> str:
            accept_noise_limit(amplifier, form.cleaned_data["reason"], actor=request.user)
            return reverse("readiness:plan", args=[kit_type.pk])

        done = carry_out(request, "accept a noise limit", do, form=form)
        if done is not None:
            return done
    return _page(request, kit_type, PlanForm(instance=BenchPlan.of(kit_type)), (amplifier.pk, form))

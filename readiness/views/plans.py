"""The test plan of a kit type: tests, limits with their reasons, own limits of amplifiers, the
column map.
"""

from __future__ import annotations

from collections.abc import Sequence

from django.http import HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from readiness.actions.plan import accept_noise_limit, change_plan
from readiness.forms.bench import LimitReasonForm, PlanForm
from readiness.models import BenchPlan
from readiness.selectors.limits import changes_of_plan
from readiness.selectors.proposals import proposals_for
from rentals.actions.errands import ErrandAsked
from rentals.models import Amplifier, ErrandKind, Kit, KitType
from rentals.selectors.errands import errands_about
from rentals.web.acting import carry_out
from rentals.web.asking import asking_page
from rentals.web.form_page import ActPage
from rentals.web.page_or_part import page_again
from rentals.web.request import DeskRequest, get_or_post, posted

KITS_NAMED = 12
CHANGES_SHOWN = 20
PROPOSALS_SHOWN = 10


@get_or_post
def plan(request: DeskRequest, kit_type_pk: int) -> HttpResponse:
    """Show the plan and change it."""
    kit_type = get_object_or_404(KitType, pk=kit_type_pk)
    form = PlanForm(posted(request), instance=BenchPlan.of(kit_type))
    changed = carry_out(
        request,
        "change a test plan",
        lambda: change_plan(
            kit_type, form.cleaned_data, reason=form.cleaned_data["reason"], actor=request.user
        ),
        then=_address(kit_type),
        success=_judged_anew,
        form=form,
    )
    return changed or _page(request, kit_type, form)


@get_or_post
def rescore_captures(request: DeskRequest, kit_type_pk: int) -> HttpResponse:
    """Have older captures scored by the plan of now, in the background."""
    kit_type, home = get_object_or_404(KitType, pk=kit_type_pk), _address_of(kit_type_pk)
    page = ActPage(
        f"Score captures of {kit_type.name} again",
        submit="Score them again",
        effects=(
            "Every capture that was judged by other limits, or by an older method, is scored again"
            " in the background. Old verdicts stay in their histories.",
            "A kit whose round comes to another verdict is cleared or refused as that says.",
            "New captures are scored first. You can leave the page and cancel the work.",
        ),
    )
    asked = ErrandAsked(
        ErrandKind.RESCORE,
        f"Captures of {kit_type.name} scored again",
        about=home,
        seen_by=home,
        facts={"kit_type": kit_type.pk},
    )
    return asking_page(request, page, asked)


@require_safe
def column_maps(request: DeskRequest, kit_type_pk: int) -> JsonResponse:
    """The column maps of a kit type as a file, for the command line."""
    kit_type = get_object_or_404(KitType, pk=kit_type_pk)
    answer = JsonResponse(BenchPlan.of(kit_type).column_maps, safe=False)
    answer["Content-Disposition"] = 'attachment; filename="column-maps.json"'
    return answer


def _address(kit_type: KitType) -> str:
    return _address_of(kit_type.pk)


def _address_of(kit_type_pk: int) -> str:
    return reverse("readiness:plan", args=[kit_type_pk])


def _judged_anew(kits: Sequence[Kit]) -> str:
    """Which kits a changed plan was applied to; empty for none."""
    if not kits:
        return ""
    codes = ", ".join(kit.code for kit in kits[:KITS_NAMED])
    beyond = len(kits) - KITS_NAMED
    and_more = f" and {beyond} more" if beyond > 0 else ""
    return f"Judged anew by the changed plan: {codes}{and_more}."


def _page(
    request: DeskRequest,
    kit_type: KitType,
    form: PlanForm,
    refused: LimitReasonForm | None = None,
    refused_of: Amplifier | None = None,
) -> HttpResponse:
    """The page of a plan; `refused` is the reason for an amplifier's limit that was not taken.
    Amplifiers stand there a few at a time, those that begin with the kit of the address.
    """
    first = refused_of.kit.code if refused_of and refused_of.kit else request.GET.get("from", "")
    found = proposals_for(kit_type, first_kit=first, most=PROPOSALS_SHOWN + 1)
    proposals = []
    for proposal in found[:PROPOSALS_SHOWN]:
        reason_form = LimitReasonForm(auto_id=_auto_id(proposal.amplifier.pk))
        if refused is not None and refused.auto_id == reason_form.auto_id:
            reason_form = refused
        proposals.append((proposal, reason_form))
    context = {
        "kit_type": kit_type,
        # What was sent is in that of the form.
        "plan": BenchPlan.of(kit_type) if form.is_bound else form.instance,
        "form": form,
        "proposals": proposals,
        "further": found[PROPOSALS_SHOWN].amplifier.kit if found[PROPOSALS_SHOWN:] else None,
        "errands": errands_about(_address(kit_type), request.user),
        "events": changes_of_plan(kit_type)[:CHANGES_SHOWN],
    }
    sent = request.method == "POST"
    return page_again(request, "readiness/plan.html", context, refused=sent)


def _auto_id(amplifier_pk: int) -> str:
    """Ids of an amplifier's reason field: the page holds one such form for each amplifier."""
    return f"a{amplifier_pk}_%s"


@require_POST
def accept_limit(request: DeskRequest, kit_type_pk: int, amplifier_pk: int) -> HttpResponse:
    """Take the proposed noise limit of one amplifier, with the owner's reason."""
    kit_type = get_object_or_404(KitType, pk=kit_type_pk)
    amplifier = get_object_or_404(Amplifier, pk=amplifier_pk, kit__kit_type=kit_type)
    form = LimitReasonForm(request.POST, auto_id=_auto_id(amplifier_pk))
    accepted = carry_out(
        request,
        "accept a noise limit",
        lambda: accept_noise_limit(amplifier, form.cleaned_data["reason"], actor=request.user),
        then=_address(kit_type),
        form=form,
    )
    plan_form = PlanForm(instance=BenchPlan.of(kit_type))
    return accepted or _page(request, kit_type, plan_form, form, amplifier)

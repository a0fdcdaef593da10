"""Webhooks: made, shown with their calls, tried, paused, resumed, removed. The owner's pages."""

from __future__ import annotations

from typing import Any

from django.http import HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from rentals.actions.once import once
from rentals.actions.webhooks import (
    call_again,
    make_webhook,
    pause_webhook,
    remove_webhook,
    resume_webhook,
    try_webhook,
)
from rentals.counts import counted
from rentals.errors import Refused
from rentals.forms.webhooks import WebhookForm
from rentals.models import Webhook, WebhookCall
from rentals.post.webhook import TOPICS
from rentals.selectors.webhooks import calls_of, webhooks
from rentals.states import CallState
from rentals.web.acting import form_key_of, press_button
from rentals.web.finding import page_of
from rentals.web.form_page import ActPage, act_page, form_shown
from rentals.web.request import DeskRequest, get_or_post, posted

ACT = "make a webhook"


def _webhook(pk: int) -> Webhook:
    return get_object_or_404(Webhook.standing, pk=pk)


@get_or_post
def webhook_list(request: DeskRequest) -> HttpResponse:
    """All of them, and a form for a new one, whose secret is shown this once."""
    form = WebhookForm(posted(request))
    if form.is_valid():
        answer = _made(request, form)
        if answer is not None:
            return answer

    def context() -> dict[str, Any]:
        return {"page": page_of(request, webhooks())}

    return form_shown(request, form, "rentals/setup/webhooks.html", context)


def _made(request: DeskRequest, form: WebhookForm) -> HttpResponse | None:
    """The page with the secret: it is in no table, so the answer to the form is the page."""
    home, made = reverse("rentals:webhooks"), []
    facts = form.cleaned_data

    def make_and_go() -> str:
        made.append(make_webhook(facts["address"], facts["topics"], actor=request.user))
        return home

    try:
        once(form_key_of(request, ACT), ACT, make_and_go, by=request.user)
    except Refused as refusal:
        form.add_error(refusal.field if refusal.field in form.fields else None, refusal.sentence)
        return None
    if not made:  # Sent twice: the first answer has shown it.
        return HttpResponseRedirect(home)
    return render(request, "rentals/setup/webhook_made.html", {"secret": made[0]})


@require_safe
def webhook(request: DeskRequest, pk: int) -> HttpResponse:
    """One with its calls: what became of each."""
    hook = _webhook(pk)
    told = [TOPICS.get(topic, topic) for topic in hook.topics]
    waiting = hook.calls.filter(state=CallState.WAITING).count()
    facts = {"hook": hook, "told": told, "kept": counted(waiting, "call is", "calls are")}
    facts["page"] = page_of(request, calls_of(hook))
    return render(request, "rentals/setup/webhook.html", facts)


@get_or_post
def pause(request: DeskRequest, pk: int) -> HttpResponse:
    """It is told of nothing more."""
    hook = _webhook(pk)
    effects = (
        "Its receiver is told of nothing that happens from now on.",
        "What happens meanwhile is kept for three days, and told when it goes on.",
    )
    page = ActPage(
        "Pause the webhook",
        submit="Pause",
        effects=effects,
        undo="Let it go on from its page.",
    )
    home = hook.get_absolute_url()
    return act_page(request, page, lambda _: pause_webhook(hook, actor=request.user), home=home)


@require_POST
def resume(request: DeskRequest, pk: int) -> HttpResponse:
    """It is told again."""
    hook = _webhook(pk)
    return press_button(
        request,
        "go on",
        lambda: resume_webhook(hook, actor=request.user),
        home=hook.get_absolute_url(),
        success=lambda meanwhile: f"It is told again of what happens. {meanwhile.words}",
    )


@require_POST
def trial(request: DeskRequest, pk: int) -> HttpResponse:
    """A call that tells of nothing."""
    hook = _webhook(pk)
    return press_button(
        request,
        "trial call",
        lambda: try_webhook(hook, actor=request.user),
        home=hook.get_absolute_url(),
        success="The trial call is on its way. Open this page again to see what was answered.",
    )


@get_or_post
def remove(request: DeskRequest, pk: int) -> HttpResponse:
    """It is told of nothing more, for good."""
    hook = _webhook(pk)
    waiting = hook.calls.filter(state=CallState.WAITING).count()
    page = ActPage(
        "Remove the webhook",
        submit="Remove it",
        effects=(
            "Its receiver is told of nothing more.",
            f"What still waits is thrown away: {counted(waiting, 'call', 'calls')}.",
            "Its secret is good for nothing any more; a new webhook has another one.",
        ),
        danger=True,
    )
    return act_page(
        request,
        page,
        lambda _: remove_webhook(hook, actor=request.user),
        home=hook.get_absolute_url(),
        then=reverse("rentals:webhooks"),
        success="The webhook is removed.",
    )


@get_or_post
def again(request: DeskRequest, pk: int) -> HttpResponse:
    """One call once more."""
    calls = WebhookCall.objects.filter(webhook__removed_at=None).select_related("webhook")
    made = get_object_or_404(calls, pk=pk)
    page = ActPage(
        "Tell it again",
        submit="Tell it again",
        effects=("The receiver gets the same call under the same id.",),
    )
    home = made.webhook.get_absolute_url()
    return act_page(request, page, lambda _: call_again(made, actor=request.user), home=home)

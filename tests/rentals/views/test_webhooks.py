"""The owner's pages of webhooks."""

import html

import pytest
from django.urls import reverse
from django.utils import timezone

from rentals.actions.tell_webhooks import tell
from rentals.models import Webhook, WebhookCall

pytestmark = pytest.mark.django_db
FORM = {"address": "https://course.example.org/kits", "topics": ["kit.lost", "kit.cleared"]}


def _text(answer) -> str:
    return " ".join(html.unescape(answer.content.decode()).split())


def test_it_is_made_and_its_secret_shown_once(signed_in):
    home = reverse("rentals:webhooks")
    refused = signed_in.post(home, FORM | {"address": "http://course.example.org"})
    assert refused.status_code == 422 and "must begin with https://" in _text(refused)
    made = signed_in.post(home, FORM)
    assert "whsec_" in _text(made)
    listed = _text(signed_in.get(home))
    assert FORM["address"] in listed and "whsec_" not in listed


def test_its_page_shows_calls_and_what_is_done_with_them(signed_in):
    signed_in.post(reverse("rentals:webhooks"), FORM)
    hook = Webhook.objects.get()
    tell("kit.lost", {"kit": "K0001X"}, at=timezone.now())
    WebhookCall.objects.update(
        state="given_up",
        claimed_at=timezone.now(),
        attempts=10,
        last_status=500,
        last_words="Refused.",
    )
    Webhook.objects.update(paused_at=timezone.now(), paused_why="It has taken no call.")
    page = _text(signed_in.get(hook.get_absolute_url()))
    assert "given up" in page and "500 Refused." in page
    assert "It has taken no call." in page
    today = _text(signed_in.get(reverse("rentals:today")))
    assert "1 webhook has paused: nobody took its calls." in today
    assert "1 call was given up in the last two days." in today
    signed_in.post(reverse("rentals:webhook_resume", args=[hook.pk]))
    assert Webhook.objects.get().paused_at is None
    signed_in.post(reverse("rentals:webhook_again", args=[WebhookCall.objects.get().pk]))
    assert WebhookCall.objects.get().state == "waiting"
    signed_in.post(reverse("rentals:webhook_pause", args=[hook.pk]))
    assert "paused" in _text(signed_in.get(hook.get_absolute_url()))


def test_a_trial_call_a_pause_that_says_what_it_keeps_and_the_end(signed_in):
    signed_in.post(reverse("rentals:webhooks"), FORM)
    hook = Webhook.objects.get()
    assert "Make a trial call" in _text(signed_in.get(hook.get_absolute_url()))
    done = signed_in.post(reverse("rentals:webhook_trial", args=[hook.pk]), follow=True)
    assert "kitdesk.trial" in _text(done) and "is on its way" in _text(done)
    signed_in.post(reverse("rentals:webhook_pause", args=[hook.pk]))
    tell("kit.lost", {"kit": "K0001X"}, at=timezone.now())
    assert "2 calls are kept until it goes on" in _text(signed_in.get(hook.get_absolute_url()))
    done = signed_in.post(reverse("rentals:webhook_resume", args=[hook.pk]), follow=True)
    assert "What was kept is told now: 2 calls." in _text(done)
    done = signed_in.post(reverse("rentals:webhook_remove", args=[hook.pk]), follow=True)
    assert "The webhook is removed." in _text(done) and FORM["address"] not in _text(done)
    assert signed_in.get(hook.get_absolute_url()).status_code == 404
    again = reverse("rentals:webhook_again", args=[WebhookCall.objects.first().pk])
    assert signed_in.get(again).status_code == 404

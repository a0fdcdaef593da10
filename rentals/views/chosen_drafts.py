"""Several drafts at once: who gets them is shown first, then they go, or are discarded."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial

from django.contrib import messages
from django.db.models import QuerySet
from django.http import HttpResponse, HttpResponseRedirect
from django.urls import reverse

from rentals.actions.approve import approve_many
from rentals.actions.discard import discard_many
from rentals.counts import counted
from rentals.errors import Refused
from rentals.forms.messages import ChosenDraftsForm
from rentals.models import Message
from rentals.row_numbers import row_number
from rentals.selectors.messages import messages_listed
from rentals.states import MessageState
from rentals.web.filters import filter_values
from rentals.web.form_page import ActPage, Affected, act_page
from rentals.web.request import DeskRequest, get_or_post

MOST_AT_ONCE = 2000
REASONS_SHOWN = 10


@dataclass(frozen=True)
class ChosenDrafts:
    """The drafts that are meant, by name under what they are about."""

    keys: tuple[int, ...]
    by_occasion: tuple[Affected, ...]

    @property
    def fingerprint(self) -> str:
        """Stands for exactly these drafts: what was shown is what goes."""
        return hashlib.sha256(repr(self.keys).encode()).hexdigest()


@get_or_post
def approve_listed(request: DeskRequest) -> HttpResponse:
    """The ticked drafts of the list, or all that fit its filter, go (or, asked so, are
    discarded).
    """
    drafts = _drafts_of(_meant(request))
    home = reverse("rentals:messages")
    if not drafts.keys and request.method != "POST":
        messages.warning(request, "No draft was ticked, or none is left.")
        return HttpResponseRedirect(home)
    discards = request.GET.get("do") == "discard"
    act = _discard_chosen if discards else _approve_chosen
    return act_page(
        request,
        _page(drafts, discards=discards),
        lambda _: act(request, _as_shown(request, drafts)),
        home=home,
        act="discard drafts" if discards else "approve drafts",
        then=str,
    )


def _page(drafts: ChosenDrafts, *, discards: bool) -> ActPage:
    count = counted(len(drafts.keys), "draft", "drafts")
    form = partial(ChosenDraftsForm, fingerprint=drafts.fingerprint)
    if discards:
        return ActPage(
            f"Discard {count}",
            submit=f"Discard {count}",
            effects=("They are not sent.",),
            affected=drafts.by_occasion,
            undo="New ones can be written from each loan's page.",
            danger=True,
            form_class=form,
        )
    return ActPage(
        f"Approve {count}",
        submit=f"Approve {count}",
        effects=("They leave the house at once. One that cannot be sent stays a draft.",),
        affected=drafts.by_occasion,
        undo="A mail that has gone cannot be called back.",
        form_class=form,
    )


def _as_shown(request: DeskRequest, drafts: ChosenDrafts) -> tuple[int, ...]:
    """Keys of the drafts; Refused where they are not those whose names were shown."""
    if request.POST.get("shown") != drafts.fingerprint:
        raise Refused(
            "The drafts have changed since their names were shown. These are the ones now: look at"
            " them, then press again."
        )
    return drafts.keys


def _meant(request: DeskRequest) -> QuerySet[Message]:
    """Those ticked, or all that the list's filter shows."""
    if request.GET.get("do") == "all":
        filters = filter_values(request.GET, ("occasion", "run"))
        return messages_listed({**filters, "state": MessageState.DRAFT})
    ticked = map(row_number, request.GET.getlist("pk")[:MOST_AT_ONCE])
    keys = [number for number in ticked if number is not None]
    return Message.objects.filter(pk__in=keys, state=MessageState.DRAFT)


def _drafts_of(mails: QuerySet[Message]) -> ChosenDrafts:
    facts = mails.order_by("occasion", "to_name", "pk")
    rows = facts.values_list("pk", "occasion", "to_name", "to_address")[:MOST_AT_ONCE]
    names: dict[str, list[str]] = {}
    keys = []
    for pk, occasion, name, address in rows:
        keys.append(pk)
        names.setdefault(occasion, []).append(f"{name}, {address}" if name else address)
    groups = [
        Affected(f"{Message.Occasion(occasion).label}: {len(group)}", tuple(group))
        for occasion, group in names.items()
    ]
    return ChosenDrafts(tuple(sorted(keys)), tuple(groups))


def _discard_chosen(request: DeskRequest, drafts: Sequence[int]) -> str:
    """Discard these drafts and say how many; returns the page to go to."""
    count = discard_many(drafts, actor=request.user)
    messages.success(request, f"{count} discarded.")
    return reverse("rentals:messages")


def _approve_chosen(request: DeskRequest, drafts: Sequence[int]) -> str:
    """Approve these drafts and say which stay; returns the page to go to."""
    approval = approve_many(drafts, actor=request.user)
    for sentence in approval.staying[:REASONS_SHOWN]:
        messages.warning(request, f"Stays a draft: {sentence}")
    beyond = len(approval.staying) - REASONS_SHOWN
    if beyond > 0:
        messages.warning(request, f"{beyond} more stay drafts; each says why.")
    return approval.batch.get_absolute_url() if approval.batch else reverse("rentals:messages")

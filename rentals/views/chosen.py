"""Acts on several ticked rows of a list: who is meant stands on the page first; each is then done
by itself, by the very action that its own page calls.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Any

from django.contrib import messages
from django.http import HttpResponse, HttpResponseRedirect
from django.urls import reverse

from rentals.actions import issue
from rentals.actions.bulk import for_each
from rentals.actions.register import place_part
from rentals.codes import grouped
from rentals.counts import counted
from rentals.forms.kits import ReasonForm, RemoveForm
from rentals.lifecycle import Verb, may
from rentals.models import Kit, Part
from rentals.selectors.open_loan import holders
from rentals.states import KitState
from rentals.web.acting import next_address
from rentals.web.form_page import ActPage, Affected, act_page
from rentals.web.request import DeskRequest, get_or_post
from rentals.web.ticked import ticked_codes, with_ticks

REFUSALS_SHOWN = 10


@get_or_post
def hold_kits(request: DeskRequest) -> HttpResponse:
    """The ticked kits are held, all for one reason."""
    kits = list(Kit.objects.filter(code__in=ticked_codes(request)).order_by("code"))
    home = with_ticks(next_address(request, reverse("rentals:kits")))
    held = [kit for kit in kits if may(Verb.HELD, KitState(kit.state))]
    stay = [kit for kit in kits if kit not in held]
    if not held:
        sentence = "No kit that can be held was ticked"
        return none_fits(request, sentence, _codes(stay), with_ticks(home, ticked_codes(request)))
    count = counted(len(held), "kit", "kits")
    page = ActPage(
        f"Hold {count}",
        submit=f"Hold {count}",
        effects=("A held kit cannot be assigned, packed or cleared until it is released.",),
        affected=(
            Affected("Held", _codes(held)),
            Affected("Not held: they are not in the house", _codes(stay)),
        ),
        undo="Each is released on its own page.",
        form_class=ReasonForm,
    )

    def hold(data: dict[str, Any]) -> str:
        return done_with_each(
            request,
            held,
            lambda kit: issue.hold(kit, reason=data["reason"], actor=request.user),
            lambda done: f"Held: {counted(done, 'kit', 'kits')}.",
            home,
        )

    return act_page(request, page, hold, home=home, act="hold kits", then=str)


@get_or_post
def move_parts(request: DeskRequest) -> HttpResponse:
    """The ticked parts that are in no kit go to one place."""
    parts = list(Part.objects.filter(code__in=ticked_codes(request)).order_by("code"))
    home = with_ticks(next_address(request, reverse("rentals:parts")))
    loose = [part for part in parts if part.kit_id is None]
    fitted = [part for part in parts if part.kit_id is not None]
    if not loose:
        sentence = "No part that is in no kit was ticked"
        back = with_ticks(home, ticked_codes(request))
        return none_fits(request, sentence, _parts(fitted), back)
    count = counted(len(loose), "part", "parts")
    page = ActPage(
        f"Move {count}",
        submit=f"Move {count}",
        effects=("As spares they count as sound again.",),
        affected=(
            Affected("Moved", _parts(loose)),
            Affected("Not moved: take them out of their kits first", _parts(fitted)),
        ),
        form_class=RemoveForm,
    )

    def move(data: dict[str, Any]) -> str:
        return done_with_each(
            request,
            loose,
            lambda part: place_part(part, **data, actor=request.user),
            lambda done: f"Moved: {counted(done, 'part', 'parts')}.",
            home,
        )

    return act_page(request, page, move, home=home, act="move parts", then=str)


def done_with_each(
    request: DeskRequest,
    things: Sequence[Any],
    act: Callable[[Any], object],
    success: Callable[[int], str],
    home: str,
) -> str:
    """Carry out one action with each thing and say how many were done, and which not and why;
    returns the page to go to.
    """
    outcome = for_each(things, act)
    messages.success(request, success(len(outcome.done)))
    for sentence in outcome.refusals[:REFUSALS_SHOWN]:
        messages.warning(request, f"Not done: {sentence}")
    beyond = len(outcome.refusals) - REFUSALS_SHOWN
    if beyond > 0:
        messages.warning(request, f"{beyond} more were not done; their pages say why.")
    return home


def none_fits(request: DeskRequest, sentence: str, stay: Sequence[str], back: str) -> HttpResponse:
    """Back to the list, its ticks kept: no ticked row can take part, and the first of them say
    why.
    """
    named = f": {'; '.join(stay[:REFUSALS_SHOWN])}" if stay else ""
    more = len(stay) - REFUSALS_SHOWN
    messages.warning(request, f"{sentence}{named}{f'; {more} more' if more > 0 else ''}.")
    return HttpResponseRedirect(back)


def _codes(kits: Sequence[Kit]) -> tuple[str, ...]:
    """Kits with their states, and whom each is meant for."""
    students = holders(kits)
    return tuple(
        ", ".join(filter(None, (grouped(kit.code), kit.get_state_display(), students.get(kit.pk))))
        for kit in kits
    )


def _parts(parts: Iterable[Part]) -> tuple[str, ...]:
    return tuple(
        f"{part.get_kind_display()} {grouped(part.code)}, {part.get_place_display()}"
        for part in parts
    )

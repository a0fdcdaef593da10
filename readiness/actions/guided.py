"""A guided round with one kit at hand: begun, and its files confirmed for their tests in one go."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from django.db.models import Q, QuerySet, Value
from django.db.models.functions import Greatest
from django.utils import timezone

from readiness.actions.answer import answer_question, lock_capture
from readiness.intake.proposing import LEFT_OUT
from readiness.judgement.rounds import at_the_bench
from readiness.models import Capture, GuidedRound
from readiness.selectors.guided import files_of_round
from rentals import transaction
from rentals.actions.record import Actor, lock_kit
from rentals.codes import grouped
from rentals.errors import Refused
from rentals.models import Kit


@transaction.atomic
def begin_round(kit: Kit, *, actor: Actor = None, at: datetime | None = None) -> GuidedRound:
    """Begin the guided round of a kit. What is open of this kit, or of the same person, ends: two
    kits are not at hand at once.

    Raises
    ------
    Refused
        If the kit is not at the bench: none of its captures would count.
    """
    kit = lock_kit(kit)
    if not at_the_bench(kit):
        raise Refused(
            f"Kit {grouped(kit.code)} is {kit.get_state_display()}: captures count when it is at"
            " the bench."
        )
    at = at or timezone.now()
    mine = Q(kit=kit) | Q(begun_by=actor) if actor is not None else Q(kit=kit)
    _end(GuidedRound.objects.filter(mine, ended_at=None), at)
    return GuidedRound.objects.create(kit=kit, begun_at=at, begun_by=actor)


def _end(rounds: QuerySet[GuidedRound], at: datetime) -> None:
    # Never before its begin, though the machine's clock was set back meanwhile.
    rounds.update(ended_at=Greatest("begun_at", Value(at)))


@transaction.atomic
def confirm_files(
    kit: Kit, tests: Mapping[int, str], *, complete: bool = False, at: datetime | None = None
) -> int:
    """Score files of a kit's round as the tests that were confirmed; how many.

    Parameters
    ----------
    tests : mapping
        The test of each file by its key; ``LEFT_OUT`` takes it out of the round, and it waits among
        the files that lack a fact.
    complete : bool
        Whether every test of the round has its file: the round is over.

    Raises
    ------
    Refused
        If no file is there to be confirmed, or somebody answered for one of them meanwhile.
    """
    captures = list(files_of_round(kit).filter(pk__in=tests).order_by("pk"))
    if not captures:
        raise Refused("No file of this round waits to be confirmed. Record the tests, drop them.")
    for capture in captures:
        if tests[capture.pk] == LEFT_OUT:
            _leave_out(capture)
        else:
            answer_question(capture, {"kit": kit, "test": tests[capture.pk]})
    if complete:
        _end(kit.guided_rounds.filter(ended_at=None), at or timezone.now())
    return sum(test != LEFT_OUT for test in tests.values())


def _leave_out(capture: Capture) -> None:
    """The file is none of this round; it stays, and asks for its kit and its test."""
    capture = lock_capture(capture)
    kept = dict(capture.declared)
    for name in ("round_kit", "only_this_round"):
        kept.pop(name, None)
    capture.declared = kept
    capture.save(update_fields=["declared"])

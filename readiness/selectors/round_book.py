"""What several kits at the bench are judged by, looked up together: for a batch of captures."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from readiness.judgement.rounds import Since
from readiness.models import Capture
from rentals.models import Kit

from .limit_book import LimitBook
from .rounds import counting_of, rounds_since
from .series import warnings_of


@dataclass(frozen=True)
class KitRound:
    """A kit's present round: when it began, the captures that count in it (newest first, each with
    its current verdict preloaded) and, where there are any, what drifts in the kit, in sentences.
    """

    since: Since
    captures: Sequence[Capture]
    warnings: Sequence[str]


def rounds_of(kits: Sequence[Kit], book: LimitBook) -> Mapping[int, KitRound]:
    """The present round of each of these kits, by the kit's number; in six queries. The kits are
    locked, so that what is found still holds when they are judged by it.
    """
    since = rounds_since(kits)
    captures = counting_of(kits, since)
    tested = [kit for kit in kits if captures[kit.pk]]
    warnings = dict(
        zip(
            [kit.pk for kit in tested],
            warnings_of([(book.fitted(kit), book.limits(kit)) for kit in tested]),
            strict=True,
        )
    )
    return {
        kit.pk: KitRound(since[kit.pk], captures[kit.pk], warnings.get(kit.pk, [])) for kit in kits
    }

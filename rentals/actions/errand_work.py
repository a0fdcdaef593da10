"""Doing a claimed errand: which function does it, and what becomes of it however that ends."""

from __future__ import annotations

import logging
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field

from django.db import DatabaseError
from django.utils.module_loading import autodiscover_modules

from rentals.disk_full import is_disk_full
from rentals.errors import Refused
from rentals.models import Errand, ErrandKind
from rentals.states import ErrandState
from rentals.store_away import store_away
from rentals.through_locks import is_lock, through_locks

from .errand_claims import (
    ErrandCancelled,
    ErrandGivenBack,
    ErrandProgress,
    ErrandStopped,
    give_back,
    keep_file,
    let_go,
)

log = logging.getLogger(__name__)
#: Sentences that an errand's page shows; what goes beyond is counted.
MOST_NAMED = 200
#: Seconds for which an outcome is tried to be written down.
WRITTEN_WITHIN_S = 600
_OF_THE_MACHINE: tuple[tuple[Callable[[Exception], object], str], ...] = (
    (is_lock, "Something else held the desk's data for too long."),
    (is_disk_full, "The disk of this desk is full. Make room on it first."),
    (store_away, "The files of this desk lie in a store that did not answer."),
)


@dataclass(frozen=True)
class ErrandFile:
    """A file that was made; its content comes in pieces."""

    name: str
    content_type: str
    content: Iterable[bytes]


@dataclass(frozen=True)
class ErrandResult:
    """What came of an errand: a sentence, sentences that name what was found and whether these are
    faults, a page to go to, a file.
    """

    outcome: str
    named: Sequence[str] = field(default=())
    faulty: bool = False
    place: str = ""
    file: ErrandFile | None = None


ErrandFunction = Callable[[Errand, ErrandProgress], ErrandResult]
_WORK: dict[str, ErrandFunction] = {}


def errand_work(kind: ErrandKind) -> Callable[[ErrandFunction], ErrandFunction]:
    """Name the function that does errands of a kind. It stands in the module `errands` of an app,
    tells of each step, locks nothing between two of them, and may be begun anew from the start. It
    raises Refused with a sentence where the thing cannot be done. What its steps have changed for
    good it says in the errand's `said`: that is shown however it ends.
    """

    def register(work: ErrandFunction) -> ErrandFunction:
        _WORK[kind] = work
        return work

    return register


def work_off(errand: Errand) -> ErrandState:
    """Do a claimed errand and write down what became of it; its state afterwards."""
    autodiscover_modules("errands")
    try:
        result = _WORK[errand.kind](errand, ErrandProgress(errand))
        if result.file is not None:
            keep_file(errand, result.file.content)
        state = ErrandState.FAULTS if result.faulty else ErrandState.DONE
        return _ended(errand, state, **_facts_of(errand, result))
    except ErrandGivenBack:
        through_locks(lambda: give_back(errand), longest_s=WRITTEN_WITHIN_S)
        return ErrandState.WAITING
    except ErrandCancelled:
        return _ended(errand, ErrandState.CANCELLED, said=errand.said)
    except ErrandStopped:
        # Somebody else's by now: whatever becomes of it is written there.
        return ErrandState.WORKING
    except Refused as refusal:
        return _failed(errand, refusal.sentence)
    except Exception as problem:
        return _failed(errand, _sentence(errand, problem))


def _facts_of(errand: Errand, result: ErrandResult) -> dict[str, object]:
    errand.done = errand.total
    named = list(result.named[:MOST_NAMED])
    if more := len(result.named) - len(named):
        named.append(f"And {more} more.")
    file = result.file
    return {
        "said": result.outcome[:500],
        "named": named,
        "goes_to": result.place,
        "file_name": file.name if file else "",
        "content_type": file.content_type if file else "",
    }


def _ended(errand: Errand, state: ErrandState, **facts: object) -> ErrandState:
    through_locks(lambda: let_go(errand, state, **facts), longest_s=WRITTEN_WITHIN_S)
    return state


def _failed(errand: Errand, sentence: str) -> ErrandState:
    return _ended(errand, ErrandState.FAILED, said=errand.said, problem=sentence[:500])


def _sentence(errand: Errand, problem: Exception) -> str:
    """What is said of a failure; one that nobody foresaw is logged."""
    if isinstance(problem, OSError | DatabaseError):
        for is_so, words in _OF_THE_MACHINE:
            if is_so(problem):
                return f"{words} {errand.when_broken_off}"
    log.exception("Errand %s (%s) failed", errand.pk, errand.kind)
    return (
        f"The desk failed over this. {errand.when_broken_off} If it fails once more, the log of the"
        f" desk says why, under errand {errand.pk}."
    )

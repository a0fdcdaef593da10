"""Work in the background for tests: asked for, and done by functions of their own."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta

import kitdesk.errands  # noqa: F401  (else the first errand imports it over what stands below)
from rentals.actions.errand_claims import (
    ErrandProgress,
)
from rentals.actions.errand_work import ErrandResult
from rentals.actions.errands import (
    ErrandAsked,
    ask_errand,
    do_errand,
)
from rentals.models import Errand, ErrandKind

ASKED = ErrandAsked(ErrandKind.VERIFY, "Check of the log", about="/a/", seen_by="/a/")
MINUTE = timedelta(minutes=1)
Work = Callable[[Errand, ErrandProgress], ErrandResult]


def queued() -> list[int]:
    return [result.args[0] for result in do_errand.get_backend().results]


def asked(kind: ErrandKind = ErrandKind.VERIFY, **facts: object) -> Errand:
    return ask_errand(replace(ASKED, kind=kind), **facts)


def done(errand: Errand) -> Errand:
    do_errand.call(errand.pk)
    errand.refresh_from_db()
    return errand


def five_steps(errand: Errand, progress: ErrandProgress) -> ErrandResult:
    progress.begin(5, "steps")
    for _ in range(5):
        progress.step()
    return ErrandResult("All five.")

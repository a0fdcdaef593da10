"""Do kits and their loans stand as the events of their chains say?"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from itertools import groupby
from operator import itemgetter
from typing import Any

from django.db.models import F
from django.db.models.lookups import IsNull

from rentals.actions.packing_list import LINE_FACTS, STEP_FACTS, text_of_list
from rentals.counts import counted
from rentals.lifecycle import Standing
from rentals.models import ArrivalLine, FaultReport, Kit, Loan, LoanStep, PackingLine

from .chains import Told


def kit_faults(kits: Collection[Kit], told: Told) -> Iterator[str]:
    """Sentences for kits that stand otherwise than their events say."""
    for kit in kits:
        yield from _against(kit, *told.ends.get(kit.code, (Standing(), 0, "")))


def _against(kit: Kit, standing: Standing, number: int, last_hash: str) -> Iterator[str]:
    if (kit.event_count, kit.last_hash) != (number, last_hash):
        events = counted(kit.event_count, "event", "events")
        yield f"{kit.code}: the kit knows of {events}, its chain ends at {number}."
    if kit.state != standing.state:
        yield f"{kit.code}: on file as {kit.state}, its events say {standing.state}."
    if kit.partly_back != standing.partly_back:
        word = "back in part" if standing.partly_back else "not back in part"
        yield f"{kit.code}: its events say {word}, the kit says otherwise."
    if kit.cleared != standing.cleared:
        word = "cleared" if standing.cleared else "not cleared"
        yield f"{kit.code}: its events say {word}, the kit says otherwise."


def list_faults(kits: Collection[int]) -> Iterator[str]:
    """A packing list that was frozen must still be the one that went out. Loans, lines and steps
    are read side by side, as plain columns.
    """
    frozen = Loan.objects.filter(kit__in=kits).exclude(packing_list_hash="").order_by("pk")
    lines = PackingLine.objects.filter(loan__kit__in=kits, sent_with=None)
    lines = lines.order_by("loan_id", "order", "pk")
    steps = LoanStep.objects.filter(loan__kit__in=kits).order_by("loan_id", "order", "pk")
    lines_of = _by_loan(lines.values_list("loan_id", *LINE_FACTS).iterator(chunk_size=2000))
    steps_of = _by_loan(steps.values_list("loan_id", *STEP_FACTS).iterator(chunk_size=2000))
    facts = frozen.values_list("pk", "packing_list_hash", "kit__code")
    for loan, digest, code in facts.iterator(chunk_size=2000):
        text = text_of_list(lines_of(loan), steps_of(loan))
        if hashlib.sha256(text.encode()).hexdigest() != digest:
            what = f"the packing list of loan {loan}"
            yield f"{code}: {what} was changed after it was frozen."


def _by_loan(rows: Iterable[Sequence[Any]]) -> Callable[[int], list[Sequence[Any]]]:
    """Tells the rows of a loan, without its number; asked for loans in their order."""
    groups = groupby(rows, key=itemgetter(0))
    now = next(groups, None)

    def rows_of(loan: int) -> list[Sequence[Any]]:
        nonlocal now
        while now is not None and now[0] < loan:
            now = next(groups, None)
        return [row[1:] for row in now[1]] if now is not None and now[0] == loan else []

    return rows_of


def step_faults(kits: Collection[int], told: Told) -> Iterator[str]:
    """A step after a return is done exactly when its last event says so."""
    steps = LoanStep.objects.filter(loan__kit__in=kits).order_by("loan_id", "order", "pk")
    facts = steps.values_list("pk", IsNull(F("done_at"), False))
    wrong = [
        pk
        for pk, done in facts.iterator(chunk_size=2000)
        if told.steps.get(pk, False) != bool(done)
    ]
    for step in wrong:
        words, code = steps.values_list("words", "loan__kit__code").get(pk=step)
        yield f"{code}: the step “{words}” is not as its events say."


def report_faults(kits: Collection[int], told: Told) -> Iterator[str]:
    """How far a fault report has come must be what the last event about it says."""
    found = FaultReport.objects.filter(loan__kit__in=kits)
    rows = found.values_list("pk", "state", "loan__kit__code")
    on_file = {report: (state, code) for report, state, code in rows}
    for report in sorted(told.reports.keys() | on_file.keys()):
        if told.reports.get(report) != on_file.get(report):
            _, code = on_file.get(report) or told.reports[report]
            yield f"{code}: fault report {report} is not what its events say."


def arrival_faults(kits: Collection[int], told: Told) -> Iterator[str]:
    """What was said on arrival must be what the last event of it says: no charge rests on it."""
    found: dict[int, set[tuple[int, ...]]] = {}
    lines = ArrivalLine.objects.filter(check_of__loan__kit__in=kits)
    for loan, *line in lines.values_list("check_of__loan", "packing_line", "missing", "damaged"):
        found.setdefault(loan, set()).add(tuple(line))
    for loan in sorted(told.arrivals.keys() | found.keys()):
        if told.arrivals.get(loan) != found.get(loan):
            yield f"What was said on the arrival of loan {loan} is not what its events say."

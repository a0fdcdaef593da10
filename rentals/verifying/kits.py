"""Do kits and their loans stand as the events of their chains say?"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Collection, Iterable, Iterator
from functools import lru_cache
from itertools import groupby
from operator import itemgetter
from typing import Any

from django.db.models import F
from django.db.models.lookups import IsNull

from rentals.actions.packing_list import (
    LINE_FACTS,
    STEP_FACTS,
    list_of_texts,
    text_of_line,
    text_of_step,
)
from rentals.counts import counted
from rentals.lifecycle import Standing
from rentals.models import ArrivalLine, FaultReport, Kit, Loan, LoanStep, PackingLine
from rentals.plain_rows import plain_rows, reader

from .chains import Told

#: So many texts of lines are kept while lists are put together.
_TEXTS = 5000
_PRICE = LINE_FACTS.index("replacement_price")


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
    texts_of, steps_of = _by_loan(_lines_of(kits)), _by_loan(_steps_of(kits))
    facts = frozen.values_list("pk", "packing_list_hash", "kit__code")
    for loan, digest, code in plain_rows(facts):
        text = list_of_texts(texts_of(loan) + steps_of(loan))
        if hashlib.sha256(text.encode()).hexdigest() != digest:
            what = f"the packing list of loan {loan}"
            yield f"{code}: {what} was changed after it was frozen."


def _lines_of(kits: Collection[int]) -> Iterator[tuple[int, str]]:
    """Loan and text of each line that went out with a kit of these. A kit goes out again and again
    with the same parts, so most of their lines were put into words before.
    """
    price = reader(PackingLine._meta.get_field("replacement_price"))

    @lru_cache(maxsize=_TEXTS, typed=True)
    def text(*facts: Any) -> str:
        return text_of_line([*facts[:_PRICE], price(facts[_PRICE]), *facts[_PRICE + 1 :]])

    lines = PackingLine.objects.filter(loan__kit__in=kits).order_by("loan_id", "order", "pk")
    # What was sent later is left out here: the database would look for all that was not.
    for loan, later, *facts in plain_rows(lines.values_list("loan_id", "sent_with", *LINE_FACTS)):
        if later is None:
            yield loan, text(*facts)


def _steps_of(kits: Collection[int]) -> Iterator[tuple[int, str]]:
    @lru_cache(maxsize=_TEXTS, typed=True)
    def text(*facts: Any) -> str:
        return text_of_step(facts)

    steps = LoanStep.objects.filter(loan__kit__in=kits).order_by("loan_id", "order", "pk")
    for loan, *facts in plain_rows(steps.values_list("loan_id", *STEP_FACTS)):
        yield loan, text(*facts)


def _by_loan(texts: Iterable[tuple[int, str]]) -> Callable[[int], list[str]]:
    """Tells the texts of a loan; asked for loans in their order."""
    groups = groupby(texts, key=itemgetter(0))
    now = next(groups, None)

    def texts_of(loan: int) -> list[str]:
        nonlocal now
        while now is not None and now[0] < loan:
            now = next(groups, None)
        return [text for _, text in now[1]] if now is not None and now[0] == loan else []

    return texts_of


def step_faults(kits: Collection[int], told: Told) -> Iterator[str]:
    """A step after a return is done exactly when its last event says so."""
    steps = LoanStep.objects.filter(loan__kit__in=kits).order_by("loan_id", "order", "pk")
    facts = steps.values_list("pk", IsNull(F("done_at"), False))
    wrong = [pk for pk, done in plain_rows(facts) if told.steps.get(pk, False) != bool(done)]
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

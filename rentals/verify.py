"""Does the history still say what it said? Every hash chain, every kit's state against its events,
and the log over all.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import groupby

from rentals.actions.packing_list import first_lines, list_hash
from rentals.actions.record import event_hash, words_hash
from rentals.counts import counted
from rentals.lifecycle import NotAllowed, Standing, Verb, follow
from rentals.models import ArrivalLine, Earmark, Event, FaultReport, Kit, Loan, LoanStep
from rentals.seals.check import log_faults
from rentals.seals.heads import told_heads
from rentals.verify_ledger import ledger_faults
from rentals.verify_roles import role_faults
from rentals.verify_swaps import swap_faults
from rentals.verify_tokens import token_faults


def verify(heads: Mapping[int, str] | None = None) -> list[str]:
    """Sentences naming everything that does not fit; empty when all is in order. `heads` of the log
    are held against it, beside those in the file of heads.
    """
    sentences: list[str] = []
    standings: dict[str, tuple[Standing, int, str]] = {}
    erased = _erased_words()
    events = Event.objects.order_by("chain", "number").iterator(chunk_size=2000)
    for chain, links in groupby(events, key=lambda event: event.chain):
        standings[chain] = _follow_chain(chain, links, erased, sentences)
    for kit in Kit.objects.iterator(chunk_size=2000):
        sentences += _kit_against(kit, *standings.get(kit.code, (Standing(), 0, "")))
    sentences += _frozen_lists()
    sentences += _return_steps()
    sentences += swap_faults()
    sentences += role_faults()
    sentences += token_faults()
    sentences += _earmarks()
    sentences += _arrivals()
    sentences += ledger_faults()
    sentences += _fault_reports()
    sentences += log_faults(told_heads() | dict(heads or {}))
    return sentences


def _follow_chain(
    chain: str, links: Iterator[Event], erased: dict[int, set[str]], sentences: list[str]
) -> tuple[Standing, int, str]:
    standing, broken = Standing(), False
    number, previous = 0, ""
    for event in links:
        if event.number != number + 1:
            sentences.append(f"{chain}: event {number + 1} is missing before event {event.number}.")
        if event.previous_hash != previous:
            sentences.append(
                f"{chain}: event {event.number} does not follow from the one before it."
            )
        if event_hash(event) != event.hash or not _words_hold(event, erased):
            sentences.append(f"{chain}: event {event.number} was changed after it was written.")
        number, previous = event.number, event.hash
        is_followed = event.kit_id is not None and not broken
        if not is_followed:
            continue
        try:
            standing = follow(standing, Verb(event.verb))
        except (NotAllowed, ValueError) as impossible:
            sentences.append(
                f"{chain}: event {event.number} ({event.verb}) cannot be: {impossible}."
            )
            broken = True
    return standing, number, previous


def _erased_words() -> dict[int, set[str]]:
    """By the number of an event: SHA-256 of the words that an erasure has put in place of its
    own.
    """
    erased: dict[int, set[str]] = {}
    erasures = Event.objects.filter(verb=Verb.ERASED).values_list("data", flat=True)
    for data in erasures.iterator(chunk_size=500):
        for number, digest in data.get("words", {}).items():
            erased.setdefault(int(number), set()).add(digest)
    return erased


def _words_hold(event: Event, erased: dict[int, set[str]]) -> bool:
    """Whether the words are those that were written, or those of an erasure on file."""
    if event.words_salt:
        return words_hash(event.words_salt, event.text) == event.words_hash
    return words_hash("", event.text) in erased.get(event.pk, ())


def _kit_against(kit: Kit, standing: Standing, number: int, last_hash: str) -> Iterator[str]:
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


def _frozen_lists() -> Iterator[str]:
    """A packing list that was frozen must still be the one that went out."""
    frozen = Loan.objects.exclude(packing_list_hash="")
    loans = frozen.select_related("kit").prefetch_related("packing_lines", "return_steps")
    for loan in loans.iterator(chunk_size=500):
        if list_hash(first_lines(loan), loan.return_steps.all()) != loan.packing_list_hash:
            what = f"the packing list of loan {loan.pk}"
            yield f"{loan.kit.code}: {what} was changed after it was frozen."


def _return_steps() -> Iterator[str]:
    """A step after a return is done exactly when its last event says so."""
    events = Event.objects.filter(data__has_key="return_step").order_by("pk")
    told = {data["return_step"]: data["done"] for data in events.values_list("data", flat=True)}
    for step in LoanStep.objects.select_related("loan__kit").iterator(chunk_size=2000):
        if told.get(step.pk, False) != (step.done_at is not None):
            yield f"{step.loan.kit.code}: the step “{step.words}” is not as its events say."


def _earmarks() -> Iterator[str]:
    """What is set aside for a student must be what the events say, in the order of writing."""
    verbs = [Verb.SET_ASIDE, Verb.LET_GO, Verb.ASSIGNED]
    events = Event.objects.filter(verb__in=verbs).order_by("pk")
    facts = events.values_list("verb", "kit__code", "data", "loan__enrolment")
    told: dict[int, tuple[str, bool]] = {}
    for verb, code, data, assigned in facts.iterator(chunk_size=2000):
        if verb == Verb.SET_ASIDE:
            told[data["enrolment"]] = (code, data["pinned"])
        else:
            told.pop(data.get("enrolment", assigned), None)
    on_file = Earmark.objects.values_list("enrolment", "kit__code", "pinned")
    found = {who: (code, pinned) for who, code, pinned in on_file}
    for who in sorted(told.keys() | found.keys()):
        if told.get(who) != found.get(who):
            code, _ = found.get(who) or told[who]
            yield f"{code}: what is set aside for enrolment {who} is not what its events say."


def _fault_reports() -> Iterator[str]:
    """How far a fault report has come must be what the last event about it says."""
    events = Event.objects.filter(data__has_key="fault_report").order_by("pk")
    told = {
        data["fault_report"]: (data["fault_state"], code)
        for data, code in events.values_list("data", "kit__code").iterator(chunk_size=2000)
    }
    found = FaultReport.objects.values_list("pk", "state", "loan__kit__code")
    on_file = {report: (state, code) for report, state, code in found}
    for report in sorted(told.keys() | on_file.keys()):
        if told.get(report) != on_file.get(report):
            _, code = on_file.get(report) or told[report]
            yield f"{code}: fault report {report} is not what its events say."


def _arrivals() -> Iterator[str]:
    """What was said on arrival must be what the last event of it says: no charge rests on it."""
    events = Event.objects.filter(data__has_key="arrival").order_by("pk")
    told: dict[int, set[tuple[int, ...]]] = {}
    for loan, data in events.values_list("loan", "data"):
        told[loan] = {tuple(line) for line in data["arrival"]}
    found: dict[int, set[tuple[int, ...]]] = {}
    lines = ArrivalLine.objects.values_list("check_of__loan", "packing_line", "missing", "damaged")
    for loan, *line in lines:
        found.setdefault(loan, set()).add(tuple(line))
    for loan in sorted(told.keys() | found.keys()):
        if told.get(loan) != found.get(loan):
            yield f"What was said on the arrival of loan {loan} is not what its events say."

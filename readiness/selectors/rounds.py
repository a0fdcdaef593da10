"""A kit's round on the bench: when it began, and its captures with their verdicts."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import replace
from functools import reduce
from operator import or_

from django.db.models import Max, Min, Model, Prefetch, Q, QuerySet
from django.utils import timezone

from readiness.judgement.rounds import Since, at_the_bench, since_of
from readiness.models import Capture, Verdict
from readiness.signal.bench_tests.findings import may_be_confirmed
from readiness.signal.result import from_stored
from rentals.lifecycle import Verb
from rentals.models import Event, Kit, LogLine


def round_since(kit: Kit) -> Since:
    """When the kit's present round began."""
    return rounds_since([kit])[kit.pk]


def rounds_since(kits: Collection[Kit]) -> dict[int, Since]:
    """The same of several kits, by their numbers."""
    fittings = Event.objects.filter(kit__in=kits, verb=Verb.FITTED).order_by()
    fitted = dict(fittings.values_list("kit").annotate(Max("at")))
    return {
        kit.pk: by_todays_clock(kit, since_of(kit.returned_at, fitted.get(kit.pk))) for kit in kits
    }


def by_todays_clock(kit: Kit, since: Since) -> Since:
    """The same beginning. Where it is dated ahead, the clock was set back since, and no capture
    would count until then: the kit's last event before that one stands for it.
    """
    now = timezone.now()
    if since.at is None or since.at <= now:
        return since
    events = Event.objects.filter(kit=kit)
    ahead = events.filter(at__gt=now).aggregate(first=Min("number"))["first"]
    before = events.filter(number__lt=ahead).aggregate(last=Max("at"))["last"]
    return replace(since, at=before)


def counting(kit: Kit, since: Since) -> list[Capture]:
    """The scored captures of a kit's present round, newest first, each with its current verdict
    preloaded.
    """
    return counting_of([kit], {kit.pk: since})[kit.pk]


def counting_of(kits: Collection[Kit], since: Mapping[int, Since]) -> dict[int, list[Capture]]:
    """The same of several kits, whose rounds began then, all by the kits' numbers."""
    found: dict[int, list[Capture]] = {kit.pk: [] for kit in kits}
    of_rounds = [_in_round(kit, since[kit.pk]) for kit in kits if at_the_bench(kit)]
    if not of_rounds:
        return found
    scored = Capture.objects.filter(status=Capture.Status.SCORED, set_aside="")
    scored = scored.filter(reduce(or_, of_rounds))
    for capture in with_verdict(scored.order_by("-taken", "-pk")):
        assert capture.kit_id is not None  # it was found by its kit
        found[capture.kit_id].append(capture)
    for kit in kits:
        if earlier := of_earlier_rounds(kit, found[kit.pk]):
            found[kit.pk] = [each for each in found[kit.pk] if each.pk not in earlier]
    return found


def _in_round(kit: Kit, since: Since) -> Q:
    return Q(kit=kit, taken__gte=since.at) if since.at else Q(kit=kit)


def of_earlier_rounds(kit: Kit, captures: Collection[Capture]) -> set[int]:
    """Numbers of captures that are dated ahead, by a clock that was set back since, and lay here
    before the kit's present round began. The log tells what came first whatever the clock said. No
    query where none is dated ahead.
    """
    now = timezone.now()
    ahead = [capture.pk for capture in captures if capture.taken > now]
    if not ahead:
        return set()
    begins = Event.objects.filter(kit=kit, verb__in=[Verb.ARRIVED, Verb.FITTED])
    began = begins.order_by("-number").values_list("pk", flat=True).first()
    if began is None:
        return set()
    began_at = _first_lines(Event, [began])[began]
    lines = _first_lines(Capture, ahead)
    return {pk for pk in ahead if lines[pk] < began_at}


def _first_lines(model: type[Model], rows: Collection[int]) -> dict[int, int]:
    """At which line of the log rows were first held; 0 for what is older than the log."""
    lines = LogLine.objects.filter(table=model._meta.label_lower, row__in=rows).order_by()
    first = dict(lines.values_list("row").annotate(Min("position")))
    return {row: first.get(row, 0) for row in rows}


def with_verdict(captures: QuerySet[Capture]) -> QuerySet[Capture]:
    """A capture queryset with each one's current verdict preloaded as a list of one in
    ``current_verdicts``.
    """
    current = Prefetch("verdicts", Verdict.objects.filter(current=True), to_attr="current_verdicts")
    return captures.prefetch_related(current)


def verdict_of(capture: Capture) -> Verdict | None:
    """The preloaded current verdict of a capture, or None."""
    preloaded = getattr(capture, "current_verdicts", None)
    return preloaded[0] if preloaded else None


def asks_if_moved(capture: Capture) -> bool:
    """Whether the operator's word would settle what a scored flex does not show of its leads'
    movement.
    """
    if capture.status != Capture.Status.SCORED:
        return False
    current = capture.verdicts.filter(current=True).first()
    return current is not None and word_settles(current)


def word_settles(verdict: Verdict) -> bool:
    """The same by the capture's current verdict."""
    return may_be_confirmed(from_stored(verdict.result))


def lacks_battery(capture: Capture) -> bool:
    """Whether a capture was judged without a battery reading, by its preloaded verdict."""
    verdict = verdict_of(capture)
    return verdict is not None and verdict.battery_v is None

"""The plan as a flow of kits through their loans, for kits of one type.

Students whose days are equal are one stop; kits that are equal in day, wear and work enter as one.
A place is a stop together with the number of loans a kit has had once it was there, so wear belongs
to a step like lateness and slack do. Kits to whom something is agreed or pinned flow apart from the
others (a stream for each set of stops agreed): whoever of a stream serves an agreed stop, serves
the student agreed.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta

from .assigning_facts import Agreed, HandOver, KitAhead, Level, Need, slack_lack


@dataclass(frozen=True)
class Stop:
    """Students of one kit type with the same days."""

    post_by: date
    latest: date
    free_again: date
    needs: tuple[Need, ...] = field(compare=False)

    def late_days(self, free_on: date) -> int:
        """Days after `post_by` on which a kit that is free on a day is handed over."""
        return max((free_on - self.post_by).days, 0)


@dataclass(frozen=True)
class Stream:
    """Kits for whom the same stops are agreed and pinned."""

    agreed: frozenset[int]
    pinned: frozenset[int]


@dataclass(frozen=True)
class Source:
    """Kits of a stream that are equal in all that counts."""

    stream: Stream
    free_on: date
    loans: int
    to_do: int
    comes_back: bool
    kits: tuple[str, ...] = field(compare=False)


@dataclass(frozen=True)
class Place:
    """A stop on the way of a stream, with the loans a kit has had once it was there."""

    stream: Stream
    stop: int
    loans: int


@dataclass(frozen=True)
class Step:
    """Kits go from a source or a place to the next place."""

    start: Source | Place
    to: Place


@dataclass(frozen=True)
class StopNetwork:
    """All steps that can be, in the order in which a kit may take them."""

    stops: tuple[Stop, ...]
    sources: tuple[Source, ...]
    steps: tuple[Step, ...]
    agreed: tuple[Agreed, ...]

    def cost(self, level: Level, step: Step) -> int:
        """What one kit on a step adds to a level; `UNSERVED` belongs to the stops."""
        stop = self.stops[step.to.stop]
        late = stop.late_days(self.free_on(step.start))
        match level:
            case Level.LATE:
                return int(late > 0)
            case Level.LATE_DAYS:
                return late
            case Level.SLACK:
                slack = self.slack_days(step)
                return 0 if slack is None else slack_lack(slack)
            case Level.TO_DO:
                return step.start.to_do if isinstance(step.start, Source) else 0
            case Level.WEAR:
                # Squares grow by this much: their sum is least where loans are spread evenly.
                return 2 * step.start.loans + 1
            case Level.CHANGES:
                return -int(step.to.stop in step.to.stream.agreed)
            case _:
                return 0

    def free_on(self, start: Source | Place) -> date:
        """The day on which a kit may leave for its next stop."""
        return start.free_on if isinstance(start, Source) else self.stops[start.stop].free_again

    def slack_days(self, step: Step) -> int | None:
        """Days by which the return before a step may be late; None where none is to come."""
        if isinstance(step.start, Source) and not step.start.comes_back:
            return None
        return max((self.stops[step.to.stop].post_by - self.free_on(step.start)).days, 0)

    def hand_overs(self, flow: Sequence[int]) -> Iterator[HandOver]:
        """Whole kits for whole students, from how many kits go each step."""
        waiting: dict[Source | Place, list[str]] = defaultdict(list)
        waiting |= {source: list(source.kits) for source in self.sources}
        given: dict[int, list[tuple[str, Step]]] = defaultdict(list)
        for step, count in zip(self.steps, flow, strict=True):
            moved, waiting[step.start] = waiting[step.start][:count], waiting[step.start][count:]
            waiting[step.to] += moved
            given[step.to.stop] += [(code, step) for code in moved]
        place = {code: n for n, code in enumerate(c for s in self.sources for c in s.kits)}
        for number, pairs in given.items():
            by_code = dict(pairs)
            for who, code in self._who_gets(number, sorted(by_code, key=place.__getitem__)):
                yield self._hand_over(who, code, by_code[code])

    def _who_gets(self, number: int, codes: list[str]) -> Iterator[tuple[int, str]]:
        """Those agreed get their kit, the others what is left, both in their order."""
        here = {need.who for need in self.stops[number].needs}
        kept: dict[int, str] = {}
        # Where two of these students were to get one kit, it stays with the pinned one.
        for row in sorted(self.agreed, key=lambda row: not row.pinned):
            if row.who in here and row.code in codes and row.code not in kept.values():
                kept[row.who] = row.code
        yield from kept.items()
        left = (code for code in codes if code not in set(kept.values()))
        waiting = (need.who for need in self.stops[number].needs if need.who not in kept)
        yield from zip(waiting, left, strict=False)

    def _hand_over(self, who: int, code: str, step: Step) -> HandOver:
        stop = self.stops[step.to.stop]
        late = stop.late_days(self.free_on(step.start))
        return HandOver(who, code, stop.post_by + timedelta(days=late), late, self.slack_days(step))


def build_network(
    kits: Sequence[KitAhead], needs: Sequence[Need], agreed: Iterable[Agreed]
) -> StopNetwork:
    """The network of kits and students of one type."""
    stops = _stops(needs)
    stop_of = {need.who: number for number, stop in enumerate(stops) for need in stop.needs}
    here = tuple(row for row in agreed if row.who in stop_of)
    sources = _sources(kits, here, stop_of)
    return StopNetwork(stops, sources, tuple(_steps(stops, sources)), here)


def _stops(needs: Sequence[Need]) -> tuple[Stop, ...]:
    """By the day kits are free again: whatever follows on a stop stands behind it."""
    grouped: dict[tuple[date, date, date], list[Need]] = defaultdict(list)
    for need in needs:
        grouped[need.free_again, need.post_by, need.latest].append(need)
    return tuple(
        Stop(post_by, latest, free_again, tuple(rows))
        for (free_again, post_by, latest), rows in sorted(grouped.items())
    )


def _sources(
    kits: Sequence[KitAhead], agreed: Sequence[Agreed], stop_of: dict[int, int]
) -> tuple[Source, ...]:
    all_stops: dict[str, set[int]] = defaultdict(set)
    pinned: dict[str, set[int]] = defaultdict(set)
    for row in agreed:
        all_stops[row.code].add(stop_of[row.who])
        if row.pinned:
            pinned[row.code].add(stop_of[row.who])
    grouped: dict[tuple[Stream, date, int, int, bool], list[str]] = defaultdict(list)
    for kit in kits:
        stream = Stream(frozenset(all_stops[kit.code]), frozenset(pinned[kit.code]))
        grouped[stream, kit.free_on, kit.loans, kit.to_do, kit.comes_back].append(kit.code)
    return tuple(Source(*facts, tuple(codes)) for facts, codes in grouped.items())


def _steps(stops: Sequence[Stop], sources: Sequence[Source]) -> Iterator[Step]:
    """Every step from a source or from a place that a kit can have reached."""
    starts: dict[Stream, list[Source | Place]] = defaultdict(list)
    for source in sources:
        starts[source.stream].append(source)
    for stream, found in starts.items():
        for number, stop in enumerate(stops):
            reached: dict[Place, None] = {}
            for start in found:
                free_on = start.free_on if isinstance(start, Source) else _free(stops, start)
                if free_on <= stop.latest:
                    place = Place(stream, number, start.loans + 1)
                    reached[place] = None
                    yield Step(start, place)
            found.extend(reached)


def _free(stops: Sequence[Stop], place: Place) -> date:
    return stops[place.stop].free_again

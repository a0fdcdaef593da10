"""Solving the network level by level with an exact solver, each level held before the next.

Small ones: levels whose costs are small are solved together, by whole-number weights that are
proven large enough: one unit of an earlier level weighs more than all that the later ones can
differ by. Large ones: each level's bound first, with parts of kits allowed; then one plan of whole
kits that comes to all the bounds.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np

from .assigning_facts import Level, LevelValue
from .assigning_network import Place, Source, StopNetwork, Stream

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from scipy.sparse import csr_array

LARGEST_WEIGHT = 20_000
"""Largest weight of a level solved together with others. The solver takes a number for whole within
1e-6; with such weights that stays far below the one unit by which two plans differ.
"""


FEW_COLUMNS = 1_000
"""Up to so many unknowns whole kits are asked for at once; beyond, bounds first are faster."""

BOUND_MARGIN = 1e-3
"""How far a bound may be off by the solver's tolerances (1e-7 for each of some thousand kits). A
bound too low is noticed, since no plan reaches it."""


@dataclass(frozen=True)
class Solved:
    """How many kits go each step, and what the levels come to."""

    flow: tuple[int, ...]
    levels: tuple[LevelValue, ...]


class Programme:
    """The network as a whole-number programme: steps first, then the unserved of each stop."""

    def __init__(self, network: StopNetwork) -> None:
        self.network = network
        self._rows: list[dict[int, int]] = []
        self._least: list[float] = []
        self._most: list[float] = []
        self._costs: dict[Level, NDArray[np.int64]] = {}
        self._sources_and_places()
        self._stops()
        self._pins()

    @property
    def columns(self) -> int:
        """Number of unknowns."""
        return len(self.network.steps) + len(self.network.stops)

    @cached_property
    def matrix(self) -> csr_array:
        """All rows as a sparse matrix."""
        from scipy.sparse import csr_array

        counts = [len(row) for row in self._rows]
        starts = np.concatenate(([0], np.cumsum(counts, dtype=np.int64)))
        places = np.fromiter((n for row in self._rows for n in row), np.int64)
        values = np.fromiter((v for row in self._rows for v in row.values()), float)
        return csr_array((values, places, starts), shape=(len(self._rows), self.columns))

    def limits(self) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """The least and the most of each row."""
        return np.array(self._least), np.array(self._most)

    @cached_property
    def most(self) -> NDArray[np.float64]:
        """The most that each unknown can be."""
        starts = [
            len(step.start.kits) if isinstance(step.start, Source) else np.inf
            for step in self.network.steps
        ]
        return np.array([*starts, *(len(stop.needs) for stop in self.network.stops)], float)

    def costs(self, level: Level) -> NDArray[np.int64]:
        """What one unit of each unknown adds to a level."""
        if level not in self._costs:
            own = [self.network.cost(level, step) for step in self.network.steps]
            unserved = int(level is Level.UNSERVED)
            self._costs[level] = np.array(own + [unserved] * len(self.network.stops), np.int64)
        return self._costs[level]

    def constant(self, level: Level) -> int:
        """What a level comes to before any step is taken."""
        return len(self.network.agreed) if level is Level.CHANGES else 0

    def _add(self, row: dict[int, int], least: float, most: float) -> None:
        self._rows.append(row)
        self._least.append(least)
        self._most.append(most)

    def _sources_and_places(self) -> None:
        """No more leave a source or a place than are there."""
        rows: dict[Source | Place, dict[int, int]] = defaultdict(dict)
        for number, step in enumerate(self.network.steps):
            rows[step.start][number] = 1
            rows[step.to][number] = -1
        for start, row in rows.items():
            is_source = isinstance(start, Source)
            if is_source or any(value > 0 for value in row.values()):
                self._add(row, -np.inf, len(start.kits) if isinstance(start, Source) else 0)

    def _stops(self) -> None:
        """Each student of a stop is served or not."""
        rows: list[dict[int, int]] = [{} for _ in self.network.stops]
        for number, step in enumerate(self.network.steps):
            rows[step.to.stop][number] = 1
        for number, (row, stop) in enumerate(zip(rows, self.network.stops, strict=True)):
            row[len(self.network.steps) + number] = 1
            self._add(row, len(stop.needs), len(stop.needs))

    def _pins(self) -> None:
        """Every kit of a stream passes each of its pinned stops."""
        size: dict[Stream, int] = defaultdict(int)
        for source in self.network.sources:
            size[source.stream] += len(source.kits)
        rows: dict[tuple[Stream, int], dict[int, int]] = defaultdict(dict)
        for number, step in enumerate(self.network.steps):
            if step.to.stop in step.to.stream.pinned:
                rows[step.to.stream, step.to.stop][number] = 1
        for (stream, _), row in rows.items():
            self._add(row, size[stream], size[stream])


def solve_levels(
    network: StopNetwork, unagreed: StopNetwork, order: Sequence[Level], seconds: float
) -> Solved:
    """The best flow by the levels in their order.

    `unagreed` is the same network without what is agreed but not pinned: far smaller, and equal in
    all levels but `CHANGES`.

    Raises
    ------
    RuntimeError
        If the solver finds no plan at all, which leaving everybody unserved always is.
    """
    programme = Programme(network)
    if programme.columns > FEW_COLUMNS:
        bounds = _bounds(programme, Programme(unagreed), order, seconds)
        if bounds is not None and (solved := _reach(programme, order, bounds, seconds)):
            return solved
    return _one_by_one(programme, order, seconds)


def _bounds(
    programme: Programme, unagreed: Programme, order: Sequence[Level], seconds: float
) -> list[int] | None:
    """What no plan can come below, level by level: the programme's values with parts of kits
    allowed, rounded up. None where the time did not suffice.
    """
    bounds: list[int] = []
    before = order[: order.index(Level.CHANGES)] if Level.CHANGES in order else order
    for number, level in enumerate(order):
        smaller = unagreed if level in before else programme
        held = held_levels(smaller, order, bounds[:number])
        cost = smaller.costs(level)
        answer = answer_of(smaller, cost, held, seconds, whole=False)
        if answer.x is None or answer.status != 0:
            return None
        bounds.append(math.ceil(answer.fun - BOUND_MARGIN))
    return bounds


def _reach(
    programme: Programme, order: Sequence[Level], bounds: Sequence[int], seconds: float
) -> Solved | None:
    """A plan of whole kits that comes to all the bounds, which proves every level; None for none.

    The last level is the one to be made small, so that the solver has something to steer by.
    """
    held = held_levels(programme, order, bounds[:-1])
    answer = answer_of(programme, programme.costs(order[-1]), held, seconds, whole=True)
    if answer.x is None:
        return None
    flow = np.rint(answer.x).astype(np.int64)
    values = [int(programme.costs(level) @ flow) for level in order]
    if answer.status != 0 or values[:-1] != list(bounds[:-1]):
        return None
    return _solved(programme, flow, order, values, [True] * len(order))


def held_levels(
    programme: Programme, order: Sequence[Level], values: Sequence[int]
) -> list[tuple[NDArray[np.int64], int]]:
    """The levels solved so far, by their costs, with what they came to."""
    pairs = zip(order, values, strict=False)
    return [(programme.costs(level), value) for level, value in pairs]


def _solved(
    programme: Programme,
    flow: NDArray[np.int64],
    order: Sequence[Level],
    values: Sequence[int],
    proven: Sequence[bool],
) -> Solved:
    rows = tuple(
        LevelValue(level, value + programme.constant(level), sure)
        for level, value, sure in zip(order, values, proven, strict=True)
    )
    return Solved(tuple(flow[: len(programme.network.steps)].tolist()), rows)


def _one_by_one(programme: Programme, order: Sequence[Level], seconds: float) -> Solved:
    """Whole kits from the first level on."""
    flow = np.zeros(programme.columns, np.int64)
    values: list[int] = []
    proven: list[bool] = []
    for levels in _together(programme, order):
        costs = [programme.costs(level) for level in levels]
        sure = True
        if not (values and _at_floor(programme, levels, costs, flow, values)):
            weighted = _weighted(programme, levels, costs)
            held = held_levels(programme, order, values)
            answer = answer_of(programme, weighted, held, seconds, whole=True)
            if answer.x is None:
                raise RuntimeError(f"The solver found no plan: {answer.message}")
            flow, sure = np.rint(answer.x).astype(np.int64), answer.status == 0
        values += [int(cost @ flow) for cost in costs]
        proven += [sure] * len(levels)
    return _solved(programme, flow, order, values, proven)


def _at_floor(
    programme: Programme,
    levels: Sequence[Level],
    costs: Sequence[NDArray[np.int64]],
    flow: NDArray[np.int64],
    values: Sequence[int],
) -> bool:
    """Whether the plan at hand is at what no plan can come below, known without solving."""
    for level, cost in zip(levels, costs, strict=True):
        value = int(cost @ flow)
        floor = -programme.constant(level)
        # The days of late hand-overs are at least as many as these; both come one after the other.
        if level is Level.LATE_DAYS and values:
            floor = values[-1]
        if value != floor:
            return False
    return True


def _span(programme: Programme, level: Level) -> int:
    """By how much the values of two plans can differ at most: each student takes one step."""
    costs = programme.costs(level)
    students = sum(len(stop.needs) for stop in programme.network.stops)
    return students * int(np.ptp(np.append(costs, 0)))


def _together(programme: Programme, order: Sequence[Level]) -> Iterator[list[Level]]:
    """Levels in their order, as many at once as the weights allow."""
    group: list[Level] = []
    weight = 1
    for level in order:
        span = _span(programme, level)
        weight *= span + 1
        if group and weight > LARGEST_WEIGHT:
            yield group
            group, weight = [], span + 1
        group.append(level)
    if group:
        yield group


def _weighted(
    programme: Programme, levels: Sequence[Level], costs: Sequence[NDArray[np.int64]]
) -> NDArray[np.int64]:
    total = np.zeros(programme.columns, np.int64)
    for level, cost in zip(levels, costs, strict=True):
        total = total * (_span(programme, level) + 1) + cost
    return total


def answer_of(
    programme: Programme,
    costs: NDArray[np.int64],
    held: Sequence[tuple[NDArray[np.int64], int]],
    seconds: float,
    *,
    whole: bool,
) -> Any:
    """The solver's answer; with `whole` in whole kits."""
    from scipy.optimize import Bounds, milp

    return milp(
        costs.astype(float),
        integrality=np.full(programme.columns, int(whole)),
        bounds=Bounds(0, _most(programme, held)),
        constraints=_constraints(programme, held),
        options={"mip_rel_gap": 0.0, "time_limit": seconds},
    )


def _constraints(programme: Programme, held: Sequence[tuple[NDArray[np.int64], int]]) -> list[Any]:
    """The programme's rows, and the levels solved before, which must stay what they are."""
    from scipy.optimize import LinearConstraint
    from scipy.sparse import csr_array

    rows = [LinearConstraint(programme.matrix, *programme.limits())]
    summed = [(cost, value) for cost, value in held if not _all_or_nothing(cost, value)]
    if summed:
        costs = csr_array(np.array([cost for cost, _ in summed], float))
        values = np.array([value for _, value in summed], float)
        rows.append(LinearConstraint(costs, -np.inf, values))
    return rows


def _most(
    programme: Programme, held: Sequence[tuple[NDArray[np.int64], int]]
) -> NDArray[np.float64]:
    """The most of each unknown: nothing of what costs where a level comes to nothing."""
    most = programme.most.copy()
    for cost, value in held:
        if _all_or_nothing(cost, value):
            most[cost > 0] = 0
    return most


def _all_or_nothing(cost: NDArray[np.int64], value: int) -> bool:
    return value == 0 and not (cost < 0).any()

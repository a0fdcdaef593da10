"""Fewest kits for overlapping loans (rows L11, L12 of the table of standards).

L11: interval partitioning, J. Kleinberg and E. Tardos, Algorithm Design, section 4.1: the fewest
resources are the largest number of intervals that hold one instant, and giving each interval, in
the order of starts, a resource that is free attains it.
L12: half-open convention: what is back on the day the next one leaves serves both, if it needs no
turnaround; k days of turnaround put its end k days later.
"""

import heapq
import random

import pytest

from rentals.planning.overlap import kits_needed

pytestmark = pytest.mark.any_database

L11 = [(1, 4), (3, 6), (5, 8), (1, 2), (2, 5), (6, 9), (4, 7)]


def greedy(spans: list[tuple[int, int]]) -> int:
    """Kits used when each span, in the order of starts, takes one that is free."""
    free_from: list[int] = []
    for start, end in sorted(spans):
        if free_from and free_from[0] <= start:
            heapq.heapreplace(free_from, end)
        else:
            heapq.heappush(free_from, end)
    return len(free_from)


@pytest.mark.parametrize(
    ("spans", "kits"),
    [
        (L11, 3),
        ([(0, 10), (10, 20)], 1),
        ([(0, 11), (10, 20)], 2),
        ([(0, 9), (1, 10), (2, 11)], 3),
    ],
)
def test_published_values(spans: list[tuple[int, int]], kits: int) -> None:
    assert kits_needed(spans) == kits


@pytest.mark.parametrize(("turnaround", "kits"), [(0, 1), (1, 2), (5, 2)])
def test_turnaround_moves_the_end(turnaround: int, kits: int) -> None:
    assert kits_needed([(0, 10 + turnaround), (10, 20 + turnaround)]) == kits


def test_the_greedy_of_the_book_uses_as_many_in_2000_random_sets() -> None:
    chance = random.Random(1)
    for _ in range(2000):
        starts = [chance.randrange(40) for _ in range(25)]
        spans = [(start, start + chance.randint(1, 12)) for start in starts]
        assert kits_needed(spans) == greedy(spans)

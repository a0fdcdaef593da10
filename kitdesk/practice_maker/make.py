"""Making a practice: played once by real acts and taken back, then written as often as it takes."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Callable
from math import ceil

from django.db import transaction as plain

from kitdesk.planner_counts import count_for_planner
from rentals import transaction
from rentals.models import (
    CourseRun,
    ElectrodeBatch,
    Loan,
    LogHead,
    LogLine,
    Part,
    StockItem,
    Student,
    keep_words,
)
from rentals.seals.chain import line_coder
from rentals.seals.tables import log_key

from .clock import PracticeDays
from .copies import Copy, MovedRows
from .copy_numbers import CopyNumbers
from .endings import ENDINGS
from .furniture import Furniture
from .lives import play
from .played import Played
from .stored import count_on, quickly, write_rows
from .story import Story
from .tables import Table, copied_tables

Say = Callable[[int, int], object]


class _Heard(Exception):
    """Takes the played practice back: all of it stands in the copies."""


def played_kits(kits: int) -> int:
    """How many kits are played so that copies of them make up `kits`, or a few more."""
    fitting = [number for number in range(ENDINGS, 2 * ENDINGS) if kits % number == 0]
    return fitting[0] if fitting else ENDINGS


def make_practice(kits: int, loans: int, seed: int, say: Say = lambda done, of: None) -> None:
    """Fill an empty desk with at least `kits` kits of `loans` loans each. `say` hears how many
    copies are written, of how many.
    """
    first = played_kits(kits)
    copies = ceil(kits / first)
    with transaction.atomic():
        furniture = Furniture(PracticeDays(), first, loans, copies)
    say(0, copies)
    played = played_practice(furniture, first, loans, seed)
    story = Story(played.chapters, first, loans)
    with quickly():
        write_copies(played, story, copies, seed, say)
    _take_from_stock(story, copies)


def played_practice(furniture: Furniture, kits: int, loans: int, seed: int) -> Played:
    """Play what copies are told from, keep it in memory, and take it back from the desk."""
    chance = random.Random(seed)  # noqa: S311  (a game of chance, not a secret)
    played = []
    try:
        with transaction.atomic():
            played.append(Played(play(furniture, kits, loans, chance)))
            raise _Heard
    except _Heard:
        return played[0]


def write_copies(
    played: Played, story: Story, copies: int, seed: int, say: Say = lambda done, of: None
) -> None:
    """Write so many copies, each in a transaction of its own: memory stays flat. The same seed
    writes the same rows, but for what the keys of the desk are in.
    """
    group, moved = 0, MovedRows(played)
    for number in range(copies):
        numbers = CopyNumbers(played, story, number, seed)
        if numbers.group != group:
            group, moved = numbers.group, MovedRows(played)
        with plain.atomic():
            _write(Copy(numbers, moved))
        say(number + 1, copies)
    count_on(copied_tables())
    for table in (Student, CourseRun, Part, Loan):
        keep_words(table, table._base_manager.values_list("pk", flat=True))
    count_for_planner()


def _write(copy: Copy) -> None:
    for table, rows in copy.tables().items():
        write_rows(table, rows)
    head = LogHead.objects.select_for_update().get(pk=1)
    mac, lines = line_coder(log_key()), []
    for fact in copy.facts:
        head.number += 1
        head.mac = mac(head.mac, head.number, *fact)
        lines.append((head.number, *fact, head.mac))
    write_rows(LogLine, lines)
    head.save()


@transaction.atomic
def _take_from_stock(story: Story, copies: int) -> None:
    taken: Counter[tuple[Table, int]] = Counter()
    for of, pieces in story.taken():
        taken[of] += pieces * copies
    for table in (StockItem, ElectrodeBatch):
        for row in table.objects.select_for_update(of=("self",)):
            row.on_hand -= taken[table, row.pk]
            row.save(update_fields=["on_hand"])

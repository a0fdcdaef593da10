"""Making a practice: played once, then multiplied."""

from __future__ import annotations

import random
from collections.abc import Callable
from math import ceil

from django.db import transaction as plain
from django_tasks_db.models import DBTaskResult

from rentals import transaction
from rentals.models import ElectrodeBatch, LogHead, LogLine, StockItem
from rentals.seals.chain import line_mac
from rentals.seals.tables import log_key

from .clock import PracticeDays
from .copies import Copy, MovedRows
from .copy_numbers import CopyNumbers
from .endings import ENDINGS, Endings
from .furniture import Furniture
from .lives import play
from .played import Played
from .stored import count_on, write_rows
from .tables import copied_tables

Say = Callable[[int, int], object]


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
    chance = random.Random(seed)  # noqa: S311  (a game of chance, not a secret)
    with transaction.atomic():
        lives = play(furniture, loans, chance)
        Endings(lives, loans - 1).play()
    # The mails that were approved on the way are part of the story: none is sent.
    DBTaskResult.objects.all().delete()
    _multiply(copies, seed, say)
    _take_from_stock(furniture.bought, copies)


def _multiply(copies: int, seed: int, say: Say) -> None:
    played = Played()
    moved: dict[int, MovedRows] = {}
    for number in range(1, copies):
        numbers = CopyNumbers(played, number, seed)
        if numbers.group not in moved:
            moved = {numbers.group: MovedRows(played, numbers.later)}
        with plain.atomic():
            _write(Copy(played, numbers, moved[numbers.group]))
        say(number, copies - 1)
    count_on(copied_tables())


def _write(copy: Copy) -> None:
    rows = dict(copy.tables())
    for table in copy.played.tables:
        if table in rows:
            write_rows(table, rows[table])
    head = LogHead.objects.select_for_update().get(pk=1)
    key, lines = log_key(), []
    for fact in copy.log_facts():
        head.number += 1
        head.mac = line_mac(key, head.mac, head.number, fact)
        lines.append((head.number, *fact, head.mac))
    write_rows(LogLine, lines)
    head.save()


@transaction.atomic
def _take_from_stock(bought: dict[int, int], copies: int) -> None:
    """What the copies took out of stock: each as much as the played practice did."""
    places = (StockItem.objects.filter(by_batch=False), ElectrodeBatch.objects.all())
    for rows in places:
        for row in rows.select_for_update(of=("self",)):
            item = row.pk if isinstance(row, StockItem) else row.item_id
            row.on_hand -= (copies - 1) * (bought[item] - row.on_hand)
            row.save(update_fields=["on_hand"])

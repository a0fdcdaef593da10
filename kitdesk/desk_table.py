"""The table that `manage.py speed --desk` prints: what each page costs beside its goals, and how it
has grown since another desk was measured.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterable, Iterator
from math import inf
from pathlib import Path
from statistics import median

from django.core.management import CommandError
from django.db import connection

from kitdesk.desk_speed import PageCost
from rentals.counts import counted
from rentals.models import Kit

#: How much dearer a page may be on a larger desk, in times of an empty page.
GROWTH = 1.5


class DeskTable:
    """Takes the cost of one page after the other and says each in a line; `earlier` are the times
    of a smaller desk's pages, by their words.
    """

    def __init__(self, earlier: dict[str, float]) -> None:
        self._earlier = earlier
        self._costs: list[PageCost] = []
        self._missed = 0

    def lines(self, costs: Iterable[PageCost]) -> Iterator[str]:
        """The table, and what it was measured on."""
        for cost in costs:
            self._costs.append(cost)
            yield self._line(cost)
        floor = median(cost.floor_ms for cost in self._costs)
        load, cores = os.getloadavg()[0], os.cpu_count()
        kits = counted(Kit.objects.count(), "kit", "kits")
        yield (
            f"On {connection.display_name} with {kits}. An empty page took {floor:.1f} ms of"
            f" processor time{_whose(self._costs)}. Load {load:.1f} on {cores} cores."
        )

    def judge(self) -> None:
        """Raise CommandError where a goal is missed."""
        if self._missed:
            raise CommandError(f"{self._missed} of {len(self._costs)} goals missed.")

    def keep(self, file: Path) -> None:
        """Write the times down, to compare a larger desk with them."""
        times = {cost.page.words: cost.times for cost in self._costs}
        file.write_text(json.dumps(times, indent=1) + "\n", encoding="utf-8")

    def _line(self, cost: PageCost) -> str:
        page, goals, met = cost.page, [], cost.met
        if page.goal < inf:
            goals.append(f"<= {page.goal:g} x")
        if page.goal_mb < inf:
            goals.append(f"{cost.mb:.1f} MB <= {page.goal_mb:g} MB")
        grown = ""
        if before := self._earlier.get(page.words):
            growth = cost.times / before
            # A file holds a row for each kit: it grows as they do.
            met = met and (growth <= GROWTH or page.goal == inf)
            grown = f", {growth:.1f} x as dear as on the other desk"
        self._missed += not met
        server = "" if cost.server_ms is None else f" ({cost.server_ms:.1f} of the server)"
        return (
            f"{page.words:<28} {cost.times:7.1f} x  goal {', '.join(goals)}:"
            f" {'met' if met else 'MISSED':<6} ({cost.ms:.1f} ms{server}, {cost.queries} queries,"
            f" {cost.bytes} bytes{grown})"
        )


def _whose(costs: list[PageCost]) -> str:
    """Whether the database server's own part is in the times; SQLite has no server."""
    if connection.vendor == "sqlite":
        return ""
    if any(cost.server_ms is None for cost in costs):
        return " without the database server's, which cannot be seen from here"
    return " with the database server's"


def kept_times(file: Path | None) -> dict[str, float]:
    """What `DeskTable.keep` wrote; nothing where no file is named. Raises CommandError."""
    if file is None:
        return {}
    try:
        return {str(words): float(times) for words, times in json.loads(file.read_text()).items()}
    except (OSError, ValueError, AttributeError) as problem:
        raise CommandError(f"{file} holds no times that --keep wrote: {problem}") from problem

"""The parts of a check: stretches of kits, of loose chains, of the log, of protected tables."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import chain

from django.db import connection
from django.db.models import Model, Q

from rentals.consistent_reads import one_view
from rentals.models import Event, Kit, LogLine, Part
from rentals.seals.check import (
    OTHER_KEY,
    end_faults,
    file_faults,
    key_is_known,
    line_faults,
    row_faults,
)
from rentals.seals.tables import sealed_tables
from rentals.seals.unreadable import SIGNS, is_unreadable

from .chains import Erasures, Told, erased_words, follow_chains
from .earmarks import earmark_faults
from .findings import Findings, Section
from .kits import arrival_faults, kit_faults, list_faults, report_faults, step_faults
from .ledger import ledger_faults
from .roles import role_faults
from .swaps import swap_faults
from .tokens import token_faults

#: So many kits, parts, lines and rows are looked at in one part.
KITS, PARTS, LINES, ROWS = 250, 5000, 200_000, 100_000


@dataclass(frozen=True)
class VerifyJob:
    """A part of the check: what it looks at, from the first number to before the last (None: to the
    end). The same names mean the same rows in every run.
    """

    kind: str
    table: str = ""
    first: int = 0
    last: int | None = None

    @property
    def name(self) -> str:
        """As a state on disk calls it."""
        return f"{self.kind} {self.table} {self.first} {self.last}"


def all_jobs() -> list[VerifyJob]:
    """All parts of the check. Those that cannot be divided come first, then the longest, so that
    no process is left alone with one at the end.
    """
    tables = sealed_tables()
    highest = _highest([Kit, LogLine, Part, *(table.model for table in tables)])
    jobs = [VerifyJob("files", table.name) for table in tables if table.file]
    jobs += [VerifyJob(kind) for kind in ("people", "chains")]
    jobs += _stretches("kits", "", highest[Kit], KITS)
    jobs += _stretches("lines", "", highest[LogLine], LINES)
    for table in tables:
        jobs += _stretches("rows", table.name, highest[table.model], ROWS)
    jobs += _stretches("parts", "", highest[Part], PARTS)
    return [*jobs, VerifyJob("key"), VerifyJob("end")]


def _stretches(kind: str, table: str, highest: int, size: int) -> Iterator[VerifyJob]:
    """Up to the highest number there is; the last stretch goes on for ever."""
    starts = range(0, highest + 1, size)
    for first in starts:
        yield VerifyJob(kind, table, first, None if first == starts[-1] else first + size)


def _highest(models: Sequence[type[Model]]) -> dict[type[Model], int]:
    """The highest number that there is of each, in one query; 0 where there is none."""
    quote = connection.ops.quote_name
    asked = []
    for model in models:
        assert model._meta.pk is not None
        column, table = str(model._meta.pk.column), model._meta.db_table
        # Nothing in it but names of tables and columns.
        asked.append(f"(SELECT max({quote(column)}) FROM {quote(table)})")  # noqa: S608
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT {', '.join(asked)}")
        row = cursor.fetchone()
    return {model: int(number or 0) for model, number in zip(models, row, strict=True)}


def run_job(job: VerifyJob, heads: Mapping[int, str]) -> Findings:
    """Look at one part, in one view of the database."""
    found = Findings()
    with one_view():
        try:
            _KINDS[job.kind](job, heads, found)
        except SIGNS as problem:
            if not is_unreadable(problem):
                raise
            # The row is named where its table is held against the log.
            what = f"A value that cannot be read cut the look at {job.kind} short: {problem}."
            found.add(Section.END, [what])
    return found


def _kits(job: VerifyJob, _: Mapping[int, str], found: Findings) -> None:
    kits = list(Kit.objects.filter(_within(job)).order_by("pk"))
    told, numbers = Told(), [kit.pk for kit in kits]
    events = Event.objects.filter(chain__in=[kit.code for kit in kits])
    found.add(Section.CHAINS, follow_chains(events, _erasures(), told))
    found.add(Section.KITS, kit_faults(kits, told))
    found.add(Section.LISTS, list_faults(numbers))
    found.add(Section.STEPS, step_faults(numbers, told))
    found.add(Section.SWAPS, swap_faults(numbers, told))
    found.add(Section.ARRIVALS, arrival_faults(numbers, told))
    found.add(Section.LEDGER, ledger_faults(numbers, told))
    found.add(Section.REPORTS, report_faults(numbers, told))


def _parts(job: VerifyJob, _: Mapping[int, str], found: Findings) -> None:
    codes = list(Part.objects.filter(_within(job)).values_list("code", flat=True))
    events = Event.objects.filter(chain__in=codes)
    found.add(Section.CHAINS, follow_chains(events, _erasures(), Told()))


def _chains(job: VerifyJob, _: Mapping[int, str], found: Findings) -> None:
    """All chains that belong to no kit and no part that there is."""
    owned = {*Kit.objects.values_list("code", flat=True).iterator()}
    owned |= {*Part.objects.values_list("code", flat=True).iterator()}
    chains = Event.objects.order_by().values_list("chain", flat=True).distinct()
    loose = Event.objects.filter(chain__in=[code for code in chains if code not in owned])
    told = Told()
    found.add(Section.CHAINS, follow_chains(loose, _erasures(), told))
    found.add(Section.LEDGER, ledger_faults((), told))
    found.add(Section.STEPS, _steps_without_a_kit(told.steps))


def _steps_without_a_kit(steps: Collection[int]) -> Iterator[str]:
    for step in steps:
        yield f"Step {step} after a return is told of in the chain of no kit."


def _lines(job: VerifyJob, heads: Mapping[int, str], found: Findings) -> None:
    stretch = (job.first, job.last)
    found.add(Section.LINES, line_faults(heads, stretch, found.note_wrong))


def _end(_: VerifyJob, heads: Mapping[int, str], found: Findings) -> None:
    found.add(Section.END, end_faults(heads))


def _key(_: VerifyJob, __: Mapping[int, str], found: Findings) -> None:
    if not key_is_known():
        found.add(Section.ROWS, [OTHER_KEY])


def _rows(job: VerifyJob, _: Mapping[int, str], found: Findings) -> None:
    (table,) = (table for table in sealed_tables() if table.name == job.table)
    faults = row_faults(table, (job.first, job.last))
    # By another key every row looks wrong; where none does, there is no need to ask.
    first = next(faults, None)
    if first is not None and key_is_known():
        found.add(Section.ROWS, chain([first], faults))


def _files(job: VerifyJob, _: Mapping[int, str], found: Findings) -> None:
    (table,) = (table for table in sealed_tables() if table.name == job.table)
    found.add(Section.FILES, file_faults(table))


def _people(_: VerifyJob, __: Mapping[int, str], found: Findings) -> None:
    found.add(Section.ROLES, role_faults())
    found.add(Section.ROLES, token_faults())
    found.add(Section.EARMARKS, earmark_faults())


def _within(job: VerifyJob) -> Q:
    stretch = Q(pk__gte=job.first)
    return stretch if job.last is None else stretch & Q(pk__lt=job.last)


def _erasures() -> Callable[[], Erasures]:
    """Read at the first event that has lost its words: most desks never need it."""
    return cache(erased_words)


_KINDS: dict[str, Callable[[VerifyJob, Mapping[int, str], Findings], None]] = {
    "kits": _kits,
    "parts": _parts,
    "chains": _chains,
    "lines": _lines,
    "end": _end,
    "key": _key,
    "rows": _rows,
    "files": _files,
    "people": _people,
}

"""How dear the paper is: labels beside their bare QR matrices, and the memory of a whole run's
papers.
"""

import tracemalloc
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from statistics import median
from time import perf_counter, process_time

from rentals.codes import code_link, make_code

from . import qr
from .facts import LabelFacts, PackingLineFacts, PackingListFacts, PracticeFacts, RunFacts
from .labels import kit_labels
from .pick_sheet import run_papers

_SITE = "https://kits.ease.example"
_PRACTICE = PracticeFacts("Ease at the Instrument", email="desk@ease.example", site_url=_SITE)
_KINDS = (
    "amplifier",
    "licence_key",
    "lead_set",
    "battery_pack",
    "charger",
    "electrodes",
    "swabs",
    "band",
    "box",
)


@dataclass(frozen=True)
class Figure:
    """One figure beside the most it may be."""

    words: str
    value: float
    goal: float
    unit: str
    detail: str
    at_least: bool = False

    @property
    def met(self) -> bool:
        """Whether the figure meets its goal."""
        return self.value <= self.goal


def label_ratio(count: int = 1000, rounds: int = 3) -> Figure:
    """Time of ``count`` kit labels over that of making their QR matrices alone, medians of turns
    taken in pairs.
    """
    labels = [
        LabelFacts(make_code("K", n), "Two-lead kit", ("serial 1",), _SITE, "Ease")
        for n in range(1, count + 1)
    ]
    kit_labels(labels[:1])  # fonts are loaded once and kept
    whole, alone = [], []
    for _ in range(max(1, rounds)):
        alone.append(
            _seconds(lambda: [qr.matrix(code_link(_SITE, label.code)) for label in labels])
        )
        qr.forget()
        whole.append(_seconds(lambda: kit_labels(labels)))
    ours, bare = median(whole), median(alone)
    detail = f"{count} labels: {ours:.2f} s, matrices {bare:.2f} s"
    return Figure("Labels / their QR matrices alone", ours / bare, 1.5, "x", detail)


def run_memory(count: int = 300) -> Figure:
    """Memory in MB (Python's own allocations, at their highest) that the papers of ``count`` loans
    take beyond those of five; the rows come one by one, as from the database.
    """
    few, start = _peak(5), perf_counter()
    many = _peak(count)
    detail = (
        f"{count} loans: {many / 1e6:.0f} MB, 5 loans: {few / 1e6:.0f} MB;"
        f" {perf_counter() - start:.0f} s watched"
    )
    return Figure("Memory that a run's papers add", (many - few) / 1e6, 200.0, "MB", detail)


def _seconds(work: Callable[[], object]) -> float:
    start = process_time()
    work()
    return process_time() - start


def _peak(count: int) -> int:
    run_papers(_run(1))  # fonts are loaded once and kept
    tracemalloc.start()
    try:
        run_papers(_run(count))
        return tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()


def _run(count: int) -> RunFacts:
    return RunFacts(_PRACTICE, "Speed", date(2027, 2, 26), date(2027, 6, 18), _loans(count))


def _loans(count: int) -> Iterator[PackingListFacts]:
    for n in range(1, count + 1):
        lines = tuple(
            PackingLineFacts(
                kind.replace("_", " "),
                kind,
                inner_bag=f"bag {place % 3}",
                serial=f"S{n:05d}-{place}",
                part_code=make_code("P", 10 * n + place),
                mass_g=20,
                price=Decimal(10),
            )
            for place, kind in enumerate(_KINDS)
        )
        yield PackingListFacts(
            _PRACTICE,
            make_code("K", n),
            "Two-lead kit",
            f"Student {n}",
            "Speed",
            lines,
            date(2027, 6, 18),
        )

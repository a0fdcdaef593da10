"""Does the history still say what it said? Every hash chain, every kit's state against its events,
and the log over all.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from rentals.seals.heads import told_heads
from rentals.verifying.findings import Findings
from rentals.verifying.jobs import all_jobs, run_job


def verify(
    heads: Mapping[int, str] | None = None, *, between: Callable[[], object] = lambda: None
) -> list[str]:
    """Sentences naming everything that does not fit; empty when all is in order. `heads` of the log
    are held against it, beside those in the file of heads. `between` is called after each part.
    """
    told, found = told_heads() | dict(heads or {}), Findings()
    for job in all_jobs():
        found.join(run_job(job, told))
        between()
    return found.told()

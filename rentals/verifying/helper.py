"""A process that helps with a check. Nothing is imported here before Django is set up."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from .findings import Findings
    from .jobs import VerifyJob


def set_up() -> None:
    """What a helper does first."""
    import django

    django.setup()


def run(job: VerifyJob, heads: dict[int, str]) -> Findings:
    """Look at one part."""
    from .jobs import run_job

    return run_job(job, heads)

"""A process that helps with a check. Nothing is imported here before Django is set up."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from .findings import Findings
    from .jobs import VerifyJob


def set_up(database: str) -> None:
    """What a helper does first. It looks at the database of whoever asks it, whatever the settings
    say.
    """
    import django

    django.setup()
    from django.db import connection

    connection.settings_dict["NAME"] = database


def run(job: VerifyJob, heads: dict[int, str]) -> Findings:
    """Look at one part."""
    from .jobs import run_job

    return run_job(job, heads)

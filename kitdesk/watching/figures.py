"""What is looked up when metrics are read: work, mails, kits, captures, backups, disk, database.
Imported only where metrics are on.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import datetime
from pathlib import Path
from typing import Any

from django.db import DatabaseError, connection, models
from django.db.models import Count
from django.utils import timezone
from prometheus_client.core import GaugeMetricFamily
from prometheus_client.registry import Collector

from readiness.models import Verdict
from rentals.models import Kit, Message
from rentals.states import KitState, MessageState

from . import keeping, work
from .findings import DeskFinding

_NUMBERS = {
    "waiting_jobs": ("kitdesk_tasks_waiting", "Tasks that wait for a worker."),
    "oldest_waiting_job_s": (
        "kitdesk_tasks_waiting_oldest_seconds",
        "For how long the oldest of them has been waiting; none where none waits.",
    ),
    "newest_beat_age_s": (
        "kitdesk_worker_beat_age_seconds",
        "Since a worker has last said that it lives.",
    ),
    "oldest_waiting_mail_s": (
        "kitdesk_mails_waiting_oldest_seconds",
        "For how long the oldest mail has been waiting to leave.",
    ),
    "newest_backup_age_s": ("kitdesk_backup_age_seconds", "Age of the newest backup."),
    "age_s": ("kitdesk_verified_age_seconds", "Since the history was last verified."),
    "faults": ("kitdesk_verified_faults", "What that found; 0 where all was in order."),
}
_PLACES = {"data_free_bytes": "data", "backups_free_bytes": "backups"}


class DeskFigures(Collector):
    """Looked up at each reading, in nine queries; without a database only that it is away."""

    def collect(self) -> Iterable[GaugeMetricFamily]:
        """All families."""
        try:
            found = list(_families(timezone.now()))
        except DatabaseError:
            found = []
        up = GaugeMetricFamily("kitdesk_database_up", "1 where the database answers, else 0.")
        up.add_metric([], 1.0 if found else 0.0)
        return [up, *found]


def _families(now: datetime) -> Iterator[GaugeMetricFamily]:
    jobs = work.queue(now)
    findings = [jobs, work.worker(now, jobs), work.mail(now), keeping.backup(now)]
    findings.append(keeping.verified(now))
    for finding in findings:
        yield from _numbers(finding)
    yield _by_place(keeping.disk())
    yield _by_state("kitdesk_mails", "Mails by state.", Message, "state", MessageState.values)
    yield _by_state("kitdesk_kits", "Kits by state.", Kit, "state", KitState.values)
    yield _by_verdict()
    size = GaugeMetricFamily("kitdesk_database_size_bytes", "What the database takes on its disk.")
    size.add_metric([], database_bytes())
    yield size


def _numbers(finding: DeskFinding) -> Iterator[GaugeMetricFamily]:
    for key, number in finding.numbers.items():
        if key in _NUMBERS and number is not None:
            family = GaugeMetricFamily(*_NUMBERS[key])
            family.add_metric([], number)
            yield family


def _by_place(finding: DeskFinding) -> GaugeMetricFamily:
    family = GaugeMetricFamily("kitdesk_disk_free_bytes", "What is left.", labels=["place"])
    for key, place in _PLACES.items():
        number = finding.numbers.get(key)
        if number is not None:
            family.add_metric([place], number)
    return family


def _by_state(
    name: str, words: str, table: type[models.Model], column: str, values: Iterable[str]
) -> GaugeMetricFamily:
    """Every value has its number, also where that is 0: what comes and goes cannot be drawn."""
    counts = dict(_counts(table._default_manager.all(), column))
    family = GaugeMetricFamily(name, words, labels=[column])
    for value in values:
        family.add_metric([value], counts.get(value, 0))
    return family


def _by_verdict() -> GaugeMetricFamily:
    name, words = "kitdesk_captures_scored", "Captures by the verdict that counts."
    family = GaugeMetricFamily(name, words, labels=["verdict"])
    for verdict, number in _counts(Verdict.objects.filter(current=True), "verdict"):
        family.add_metric([verdict], number)
    return family


def _counts(rows: models.QuerySet[Any], column: str) -> Iterable[tuple[str, int]]:
    return rows.order_by().values_list(column).annotate(number=Count("pk"))


def database_bytes() -> int:
    """What the database takes. One query on PostgreSQL, none on SQLite."""
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("SELECT pg_database_size(current_database())")
            return int(cursor.fetchone()[0])
    file = Path(connection.settings_dict["NAME"])
    parts = (file, file.with_name(f"{file.name}-wal"))
    return sum(part.stat().st_size for part in parts if part.exists())

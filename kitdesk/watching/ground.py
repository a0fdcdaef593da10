"""What all else stands on: the tables of the database, and the clock."""

from __future__ import annotations

import pkgutil
from datetime import datetime
from functools import cache
from importlib import import_module

from django.apps import apps
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.recorder import MigrationRecorder

from rentals.counts import counted
from rentals.models import Event
from rentals.selectors.clock import clock_set_back

from .findings import Condition, DeskFinding, time_words

#: Clocks of several machines may differ so much.
CLOCK_MAY_DIFFER_S = 120


def migrations() -> DeskFinding:
    """Whether the tables are those that this program wants. One query."""
    done = set(MigrationRecorder.Migration.objects.values_list("app", "name"))
    missing = len(shipped_migrations() - done)
    numbers: dict[str, float | int | None] = {"missing_steps": missing}
    title = "Tables"
    if not missing:
        said = "The database is up to date."
        return DeskFinding("migrations", title, Condition.OK, said, numbers=numbers)
    steps = counted(missing, "step is", "steps are")
    return DeskFinding(
        "migrations",
        title,
        Condition.FAILED,
        f"The database is older than the program: {steps} missing.",
        "python3 manage.py prepare brings it up to date.",
        numbers,
        pressing=True,
    )


@cache
def shipped_migrations() -> frozenset[tuple[str, str]]:
    """App and name of all that came with the program; by their files, none is opened."""
    found = set()
    for app in apps.get_app_configs():
        module_name, _ = MigrationLoader.migrations_module(app.label)
        if module_name is None or not _has_migrations(module_name):
            continue
        for module in pkgutil.iter_modules(import_module(module_name).__path__):
            if module.name[0] not in "_~":
                found.add((app.label, module.name))
    return frozenset(found)


def _has_migrations(module_name: str) -> bool:
    parent, _, name = module_name.rpartition(".")
    places = getattr(import_module(parent), "__path__", None)
    return places is not None and any(m.name == name for m in pkgutil.iter_modules(places))


def clock(now: datetime) -> DeskFinding:
    """Whether the newest event lies in the past. One query; three where it does not."""
    newest = Event.objects.order_by("-at").values_list("at", flat=True).first()
    ahead_s = 0.0 if newest is None else max(0.0, (newest - now).total_seconds())
    numbers: dict[str, float | int | None] = {"newest_event_ahead_s": round(ahead_s, 1)}
    if ahead_s <= CLOCK_MAY_DIFFER_S:
        said = "The clock goes on from the newest event."
        return DeskFinding("clock", "Clock", Condition.OK, said, numbers=numbers)
    if not clock_set_back(now):
        said = "The clock was set right more than a week ago; events of before are dated ahead."
        return DeskFinding("clock", "Clock", Condition.OK, said, numbers=numbers)
    return DeskFinding(
        "clock",
        "Clock",
        Condition.WARNING,
        f"The clock was set back: the newest event lies {time_words(ahead_s)} ahead.",
        "Set this machine's clock right before anybody works: dates of loans follow from it.",
        numbers,
        pressing=True,
    )

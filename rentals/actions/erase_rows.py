"""The rows of a student that are emptied, and the words that are swept out of all others, as the
list in `rentals/privacy/` says.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from django.apps import apps
from django.contrib.sessions.backends.db import SessionStore
from django.contrib.sessions.models import Session
from django.db import models
from django.db.models import Q, TextField
from django.db.models.functions import Cast

from rentals.models import Entry, Event, RosterDraft, Student
from rentals.privacy.keeping import Table
from rentals.privacy.registry import TABLES
from rentals.privacy.sweeping import Person

_AT_ONCE = 200


def empty_rows(student: Student, person: Person) -> dict[str, int]:
    """Empty the student's own rows; returns how many of each table."""
    counts = {}
    for table in TABLES:
        if not (table.empties or table.replaces or table.goes):
            continue
        model = apps.get_model(table.model)
        rows = model._default_manager.filter(**{table.of: student.pk})
        counts[model.__name__] = rows.count()
        if table.goes:
            rows.delete()
            continue
        for row in list(rows.only("pk", *table.empties, *table.replaces, *table.sweeps)):
            model._default_manager.filter(pk=row.pk).update(**_emptied(row, table, person))
    return counts


def _emptied(row: models.Model, table: Table, person: Person) -> dict[str, Any]:
    """What the columns of one row say from now on; one that is empty needs no words."""
    own = {name: _swept(row, name, person) for name in table.sweeps}
    empty = {name: {} if isinstance(getattr(row, name), dict) else "" for name in table.empties}
    said = [name for name in table.replaces if getattr(row, name)]
    return own | empty | {name: table.replaces[name].format(pk=row.pk) for name in said}


def sweep_rows(person: Person) -> None:
    """Put nobody in the place of the person wherever somebody may have written of them, also in
    what belongs to other students.
    """
    if not person:
        return
    for table in TABLES:
        model = apps.get_model(table.model)
        columns = _columns_of_words(table)
        if not columns or model is Event:
            continue
        rows = model._default_manager.filter(may_hold(person, model, columns))
        for row in rows.only("pk", *columns).iterator(chunk_size=_AT_ONCE):
            news = {name: _swept(row, name, person) for name in columns}
            changed = {name: value for name, value in news.items() if value != getattr(row, name)}
            if changed and model is RosterDraft:
                row.delete()
            elif changed and model is Entry:
                # The ledger lets words go, but takes no others in their place.
                model._default_manager.filter(pk=row.pk).update(**dict.fromkeys(changed, ""))
            elif changed:
                model._default_manager.filter(pk=row.pk).update(**changed)


def _columns_of_words(table: Table) -> tuple[str, ...]:
    """Where words about anybody may stand. What other students are called is theirs: it may hold
    the same words.
    """
    if table.model == "rentals.Student":
        return table.sweeps
    return tuple(dict.fromkeys((*table.sweeps, *table.empties, *table.replaces)))


def _swept(row: models.Model, name: str, person: Person) -> Any:
    value = person.swept_deep(getattr(row, name))
    longest = getattr(row._meta.get_field(name), "max_length", None)
    return value[:longest] if isinstance(value, str) and longest else value


def may_hold(person: Person, model: type[models.Model], columns: Sequence[str]) -> Q:
    """The rows in whose columns one of the person's words may stand: by the plain letters in it,
    which stand in the database as they are. A word without any is looked for in all rows.
    """
    fragments = person.fragments()
    if "" in fragments:
        return Q()
    wanted = Q()
    for name in columns:
        text = Cast(name, TextField())
        for fragment in fragments:
            wanted |= Q(models.lookups.IContains(text, fragment))
    return wanted


def sweep_sessions(person: Person) -> None:
    """Notices that wait in the sessions of people at the desk."""
    store = SessionStore()
    for session, data in _sessions(store):
        swept = person.swept_deep(data)
        if swept != data:
            Session.objects.filter(pk=session).update(session_data=store.encode(swept))


def _sessions(store: SessionStore) -> Iterator[tuple[str, dict[str, Any]]]:
    for session in Session.objects.iterator(chunk_size=_AT_ONCE):
        yield session.pk, store.decode(session.session_data)

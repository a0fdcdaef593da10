"""Rows that nobody needs any more: cleared at every start and by the minute's tick, so that no
table grows by what only time has done with.
"""

from __future__ import annotations

from datetime import timedelta

from django.conf import settings
from django.contrib.sessions.backends.db import SessionStore
from django.core.cache import caches
from django.core.cache.backends.db import DatabaseCache
from django.db import connection
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from rentals.actions.errands import forget_old_errands
from rentals.actions.once import forget_old_forms
from rentals.table_marks import forget_ended_sessions

#: A task that has ended is looked at for a day at most.
TASKS_KEPT_FOR = timedelta(days=1)


def clear_kept_rows() -> None:
    """Clear finished tasks of more than a day ago, sessions that have run out, keys of forms that
    were carried out long ago, and whatever of the cache counts no more: waits after wrong
    passwords, and signs of life of workers that have gone; and marks of tables that ended
    sessions of the database left.
    """
    long_ago = timezone.now() - TASKS_KEPT_FOR
    DBTaskResult.objects.finished().filter(finished_at__lt=long_ago).delete()
    SessionStore.clear_expired()
    forget_old_forms()
    forget_old_errands()
    forget_ended_sessions()
    _clear_cache()


def _clear_cache() -> None:
    """The library clears it only when it is full."""
    if not isinstance(caches["default"], DatabaseCache):
        return
    table = connection.ops.quote_name(str(settings.CACHES["default"]["LOCATION"]))
    moment = connection.ops.adapt_datetimefield_value(timezone.now())
    with connection.cursor() as cursor:
        cursor.execute(f"DELETE FROM {table} WHERE expires < %s", [moment])  # noqa: S608

"""What only time has done with is cleared by the tick and at every start; what counts stays."""

import uuid
from datetime import timedelta

import pytest
import time_machine
from django.contrib.sessions.models import Session
from django.core.cache import cache
from django.core.management import call_command
from django.db import connection
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from kitdesk.kept_rows import clear_kept_rows
from kitdesk.lasting_worker import beat, newest_beat
from kitdesk.throttle import Patience, begin_try, wrong_tries
from rentals.models import SubmittedForm

pytestmark = pytest.mark.django_db

PATIENCE = Patience(free=5, first=2, most=60)


@pytest.fixture(autouse=True)
def _cache_in_the_database(settings):
    call_command("createcachetable", verbosity=0)
    cache.clear()


def _task(days):
    at = timezone.now() - timedelta(days=days)
    facts = {"task_path": "rentals.actions.mail_tasks.send_soon", "args_kwargs": {}}
    return DBTaskResult.objects.create(
        status="SUCCESSFUL", finished_at=at, enqueued_at=at, run_after=at, **facts
    )


def _session(days):
    at = timezone.now() + timedelta(days=days)
    return Session.objects.create(session_key=uuid.uuid4().hex, session_data="", expire_date=at)


def _form(days):
    at = timezone.now() - timedelta(days=days)
    form = SubmittedForm.objects.create(key=uuid.uuid4(), act="note", result="/")
    SubmittedForm.objects.filter(pk=form.pk).update(at=at)
    return form


def _cached():
    with connection.cursor() as cursor:
        cursor.execute("SELECT count(*) FROM kitdesk_cache")
        return cursor.fetchone()[0]


def test_old_rows_go_and_fresh_ones_stay():
    old = [_task(2), _session(-1), _form(40)]
    fresh = [_task(0), _session(1), _form(1)]
    with time_machine.travel(timezone.now() - timedelta(days=2)):
        begin_try("of-a-stranger", PATIENCE)
        beat("gone")
    begin_try("of-now", PATIENCE)
    in_cache = _cached()
    clear_kept_rows()
    for row in old:
        assert not type(row).objects.filter(pk=row.pk).exists(), row
    for row in fresh:
        assert type(row).objects.filter(pk=row.pk).exists(), row
    assert wrong_tries("of-now") == 1
    # The stranger's two rows and the heart of the worker; when any was last alive is kept.
    assert _cached() == in_cache - 3
    assert newest_beat() is not None


@pytest.mark.parametrize("command", ["tick", "prepare"])
def test_the_tick_and_every_start_clear_them(command, monkeypatch):
    done = []
    monkeypatch.setattr(
        f"kitdesk.management.commands.{command}.clear_kept_rows", lambda: done.append(1)
    )
    monkeypatch.setattr("kitdesk.management.commands.prepare.call_command", lambda *_, **__: None)
    call_command(command, verbosity=0)
    assert done == [1]

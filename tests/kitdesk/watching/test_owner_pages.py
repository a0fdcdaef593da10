"""What the owner is told of how the desk is doing: on a page, and on Today what cannot wait."""

from datetime import datetime, timedelta

import pytest
from django.urls import reverse
from django.utils import timezone
from django_tasks_db.models import DBTaskResult, get_date_max

from kitdesk import lasting_worker
from kitdesk.watching import keeping
from rentals.actions.verifying import note_verified
from rentals.models import Event, Message
from tests.factories import complete_kit

pytestmark = pytest.mark.django_db
TODAY = "/"


def _text(client, url: str = TODAY) -> str:
    return " ".join(client.get(url).content.decode().split())


def _waiting_job(minutes: int) -> None:
    job = DBTaskResult.objects.create(
        status="READY",
        args_kwargs={"args": [], "kwargs": {}},
        task_path="x.y",
        backend_name="default",
        run_after=get_date_max(),
    )
    then = timezone.now() - timedelta(minutes=minutes)
    DBTaskResult.objects.filter(pk=job.pk).update(enqueued_at=then)


def _waiting_mail(let_go_at: datetime) -> Message:
    return Message.objects.create(
        occasion="overdue",
        subject="x",
        body_text="x",
        state="approved",
        message_id=f"<{let_go_at.timestamp()}@x>",
        drafted_at=let_go_at,
        let_go_at=let_go_at,
    )


def test_a_worker_that_is_away_is_said_once_work_waits(signed_in, monkeypatch):
    assert "No worker" not in _text(signed_in)
    _waiting_job(3)
    assert "No worker has ever been at work. 1 job waits, the oldest for 3 min" in _text(signed_in)
    lasting_worker.beat("1")
    assert "No worker" not in _text(signed_in)
    then = timezone.now().timestamp() - 600
    monkeypatch.setattr(lasting_worker.time, "time", lambda: then)
    lasting_worker.beat("1")
    assert "No worker has been at work for 10 minutes." in _text(signed_in)
    assert "No worker" not in _text(signed_in, reverse("rentals:kits"))


def test_a_job_that_failed_is_said_to_the_owner_and_stays_away_afterwards(signed_in):
    _waiting_job(0)
    assert "failed in the last" not in _text(signed_in)
    now = timezone.now()
    DBTaskResult.objects.update(status="FAILED", finished_at=now, traceback="Traceback")
    assert "1 job failed in the last 2 hours. No work waits." in _text(signed_in)
    advice = "Captures and mails are tried again by themselves."
    assert advice in _text(signed_in, reverse("watching"))
    assert "failed in the last" not in _text(signed_in, reverse("rentals:kits"))
    DBTaskResult.objects.update(finished_at=now - timedelta(hours=3))
    assert "failed in the last" not in _text(signed_in)


def test_mails_that_do_not_leave_are_said(signed_in):
    now = timezone.now()
    # A clock that was set back leaves nothing waiting since tomorrow.
    ahead = _waiting_mail(now + timedelta(hours=5))
    page = _text(signed_in, reverse("watching"))
    assert "1 mail waits, the oldest for 0 seconds." in page
    ahead.delete()
    _waiting_mail(now - timedelta(minutes=5))
    assert "mail waits" not in _text(signed_in)
    _waiting_mail(now - timedelta(hours=3))
    page = _text(signed_in)
    assert "2 mails wait, the oldest for 3 hours." in page
    assert f'<a href="{reverse("rentals:messages")}">See to it</a>' in page


def test_a_full_disk_a_clock_set_back_and_faults_are_said(signed_in, monkeypatch):
    complete_kit()
    monkeypatch.setattr(keeping, "free_bytes", lambda folder: 700 * keeping.MB)
    Event.objects.update(at=timezone.now() + timedelta(days=3, minutes=1))
    note_verified(2)
    for url in (TODAY, reverse("watching")):
        page = _text(signed_in, url)
        assert "The disk is nearly full: 700 MB are left" in page
        assert "The clock was set back: the newest event lies 3 days ahead." in page
        assert "2 faults were found" in page
    assert "Set this machine's clock right" in page.replace("&#x27;", "'")


def test_whoever_does_not_own_the_desk_is_told_nothing_of_it(signed_in, owner):
    _waiting_job(30)
    owner.is_superuser = False
    owner.save()
    assert "No worker" not in _text(signed_in)
    assert signed_in.get(reverse("watching")).status_code == 403

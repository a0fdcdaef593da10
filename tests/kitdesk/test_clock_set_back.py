"""The machine's clock stood a year ahead, and stands right again: nothing waits for that year."""

from datetime import timedelta
from io import StringIO

import pytest
import time_machine
from django.core.files.base import ContentFile
from django.core.management import call_command
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from kitdesk import lasting_worker
from kitdesk.open_sessions import SINCE, USED
from kitdesk.throttle import Patience, begin_try
from readiness.actions.upload import store_upload
from readiness.selectors.rounds import counting, round_since
from rentals.actions.claim_mail import due_mails, lease
from rentals.actions.dispatch import dispatch
from rentals.actions.mail_tasks import send_what_is_due
from rentals.actions.receive import arrive
from tests.factories import complete_kit, packed_loan
from tests.readiness.drops import still
from tests.rentals.letters import mail_to

pytestmark = [pytest.mark.django_db, pytest.mark.any_database]
NOW = timezone.now()
AHEAD = NOW + timedelta(days=365)
SECOND = timedelta(seconds=1)


def test_claims_and_waits_of_that_year_end(clean_cache):
    waiting = mail_to("ada@strings.example", state="queued", next_try_at=AHEAD)
    held = mail_to("bea@strings.example", state="sending", claimed_at=AHEAD)
    assert list(due_mails(NOW)) == [waiting]
    assert list(lease().expired(NOW)) == [held]
    patience = Patience(free=1, first=30, most=60)
    with time_machine.travel(AHEAD, tick=False):
        assert (begin_try("key", patience), begin_try("key", patience)) == (0, 30)
    with time_machine.travel(NOW, tick=False):
        assert begin_try("key", patience) == 30
    with time_machine.travel(NOW + 31 * SECOND, tick=False):
        assert begin_try("key", patience) == 0


def test_work_that_a_worker_of_that_year_left_is_taken_up(settings, clean_cache):
    settings.TASKS = {"default": {"BACKEND": "django_tasks_db.DatabaseBackend"}}
    send_what_is_due.enqueue()
    task = DBTaskResult.objects.get()
    tasks = DBTaskResult.objects.filter(pk=task.pk)
    tasks.update(status="RUNNING", started_at=AHEAD, worker_ids=["one"])
    with time_machine.travel(AHEAD):
        lasting_worker.beat("one")
    upload = store_upload([ContentFile(b"1,2", "still.csv")], kit=complete_kit())
    upload.captures.update(status="scoring", attempts=1, claimed_at=AHEAD)
    assert lasting_worker.newest_beat() is None
    lasting_worker.take_up_lost_work()
    assert tasks.get().status == "FAILED"
    assert upload.captures.get().status == "waiting"
    tasks.update(status="RUNNING")
    lasting_worker.beat("one")
    lasting_worker.give_up_lost_tasks()
    assert tasks.get().status == "RUNNING", "a worker that lives keeps its task"


def test_a_session_of_that_year_is_idle_again_by_todays_clock(signed_in: Client):
    session = signed_in.session
    session[USED] = session[SINCE] = int(AHEAD.timestamp())
    session.save()
    assert signed_in.get(reverse("keys")).status_code == 200
    assert signed_in.session[USED] <= timezone.now().timestamp()
    assert signed_in.session[SINCE] <= timezone.now().timestamp()


def test_a_kit_sent_and_received_in_that_year_goes_on(signed_in: Client):
    with time_machine.travel(AHEAD):
        loan = packed_loan()
        dispatch(loan.kit)
    kit = loan.kit
    arrive(kit)
    loan.refresh_from_db()
    assert loan.arrived_at >= loan.dispatched_at
    shown = signed_in.get(reverse("rentals:loan", args=[loan.pk])).context["events"]
    numbers = [event.number for event in shown if event.kit_id == kit.pk]
    assert numbers == sorted(numbers, reverse=True)
    out = StringIO()
    call_command("verify", stdout=out)
    assert "The clock of this machine says" in out.getvalue()
    assert "All in order" in out.getvalue()


def test_captures_of_that_year_count_in_their_own_round_and_in_no_later_one(signed_in: Client):
    with time_machine.travel(NOW - 60 * SECOND):
        kit = complete_kit()
    with time_machine.travel(AHEAD):
        capture = still(kit, 1)
    kit.refresh_from_db()
    assert counting(kit, round_since(kit)) == [capture]
    # A capture tells whole seconds: the return is well before the next one.
    with time_machine.travel(NOW - 30 * SECOND):
        arrive(dispatch(packed_loan(kit).kit).kit)
    kit.refresh_from_db()
    assert counting(kit, round_since(kit)) == []
    for address in (reverse("readiness:kit_bench", args=[kit.code]), capture.get_absolute_url()):
        assert "does not count" in signed_in.get(address).content.decode()
    again = still(kit, 2)
    assert counting(kit, round_since(kit)) == [again]


def test_captures_of_a_kit_that_came_back_in_that_year_count(signed_in: Client):
    # A capture tells whole seconds: what was before it is well before it.
    with time_machine.travel(NOW - 60 * SECOND):
        kit = packed_loan().kit
    with time_machine.travel(AHEAD):
        arrive(dispatch(kit).kit)
    kit.refresh_from_db()
    capture = still(kit, 1)
    assert counting(kit, round_since(kit)) == [capture]
    assert signed_in.get(reverse("readiness:bench")).status_code == 200

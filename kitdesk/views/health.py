"""One address for monitors: does the database answer, and does the queue move."""

from datetime import timedelta

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.db import DatabaseError, connection
from django.http import HttpRequest, JsonResponse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django_tasks_db.models import DBTaskResult

from rentals.seals.chain import head_of_log

STUCK_AFTER = timedelta(minutes=30)


@login_not_required
@never_cache
def health(request: HttpRequest) -> JsonResponse:
    """200 with the age of the oldest waiting job in seconds and the head of the log; 503 when the
    database does not answer.
    """
    try:
        return JsonResponse({"database": "ok", **_queue()})
    except DatabaseError as problem:
        return JsonResponse({"database": f"not reachable ({type(problem).__name__})"}, status=503)


def _queue() -> dict[str, float | int | str | None]:
    now = timezone.now()
    with connection.cursor() as cursor:
        cursor.execute("SELECT 1")
    oldest = (
        DBTaskResult.objects.ready()
        .order_by("enqueued_at")
        .values_list("enqueued_at", flat=True)
        .first()
    )
    return {
        "oldest_waiting_job_s": (
            None if oldest is None else round((now - oldest).total_seconds(), 1)
        ),
        "running_too_long": (
            DBTaskResult.objects.running().filter(started_at__lt=now - STUCK_AFTER).count()
        ),
        "mail": "files" if settings.KITDESK_MAIL_TO_FILES else "smtp",
        "log_head": str(head_of_log()),
    }

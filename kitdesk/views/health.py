"""One address for monitors: can the desk serve, and does its work get done."""

from typing import Any

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.db import DatabaseError
from django.http import HttpRequest, JsonResponse
from django.utils import timezone
from django.views.decorators.cache import never_cache

from kitdesk.watching.findings import Condition, worst
from kitdesk.watching.looking import BoundedLook, all_findings
from rentals.seals.chain import head_of_log

#: A monitor is answered within a second, whatever the database does.
PATIENCE_S = 0.8


@login_not_required
@never_cache
def health(request: HttpRequest) -> JsonResponse:
    """200 with every part of the desk, where it can serve; else 503."""
    try:
        facts = _LOOK.within(PATIENCE_S)
    except TimeoutError:
        return _without_database(f"does not answer within {PATIENCE_S} s")
    except DatabaseError as problem:
        return _without_database(f"not reachable ({type(problem).__name__})")
    status = 503 if facts["state"] == Condition.FAILED else 200
    return JsonResponse(facts, status=status)


def _without_database(words: str) -> JsonResponse:
    check = {"state": Condition.FAILED, "sentence": f"The database is {words}."}
    if words.startswith("does"):
        check["sentence"] = f"The database {words}."
    facts = {"database": words, "state": Condition.FAILED, "checks": {"database": check}}
    return JsonResponse(facts, status=503)


def seen_now() -> dict[str, Any]:
    """All that is told."""
    findings = all_findings(timezone.now())
    checks: dict[str, dict[str, object]] = {
        "database": {"state": Condition.OK, "sentence": "The database answers."}
    }
    for found in findings:
        checks[found.part] = {"state": found.condition, "sentence": found.sentence, **found.numbers}
    queue = checks["queue"]
    return {
        "database": "ok",
        "state": worst(findings),
        "oldest_waiting_job_s": queue["oldest_waiting_job_s"],
        "running_too_long": queue["running_too_long_jobs"],
        "mail": "files" if settings.KITDESK_MAIL_TO_FILES else "smtp",
        "log_head": str(head_of_log()),
        "checks": checks,
    }


_LOOK = BoundedLook(lambda: seen_now())

"""Whether work gets done: the queue, its workers, the mails."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

from django.db.models import Count, Min, Q
from django_tasks_db.models import DBTaskResult, TaskResultStatus, get_date_max

from kitdesk.lasting_worker import DEAD_AFTER_S, DIED, UNFINISHED, newest_signs
from rentals.counts import counted
from rentals.known_query import KnownQuery
from rentals.models import Message, Webhook, WebhookCall
from rentals.selectors.kept_answers import KeptAnswers
from rentals.states import MOVING_MAILS, CallState

from .findings import Condition, DeskFinding, time_words

#: A task that runs, or a mail that waits, for longer is stuck.
STUCK_AFTER = timedelta(minutes=30)
#: For so long a failed task is told of.
FAILURE_TOLD = timedelta(hours=2)
#: For so long a call to a webhook that was given up is told of.
GIVEN_UP_TOLD = timedelta(days=2)
#: Work may wait so long for a worker that has only just started.
WAITS_AFTER_S = 120
#: What is due by the clock is done every minute, or as often as cron is told to.
CLOCK_RESTS_S = 3600
_MAIL = Message.State
_UNSURE = (_MAIL.FAILED, _MAIL.UNCERTAIN)


def queue(now: datetime) -> DeskFinding:
    """Tasks that wait, those that run for too long, and those that failed of late. One query."""
    is_time = Q(run_after=get_date_max()) | Q(run_after__lte=now)
    ready = Q(status=TaskResultStatus.READY) & is_time
    running = Q(status=TaskResultStatus.RUNNING)
    # Not those whose worker died: they are given up by the clock, and their work taken up again.
    failed = Q(status=TaskResultStatus.FAILED) & Q(finished_at__gt=now - FAILURE_TOLD)
    facts = DBTaskResult.objects.filter(Q(status__in=UNFINISHED) | failed).aggregate(
        waiting=Count("pk", filter=ready),
        oldest=Min("enqueued_at", filter=ready),
        too_long=Count("pk", filter=running & Q(started_at__lt=now - STUCK_AFTER)),
        failed=Count("pk", filter=failed & ~Q(traceback=DIED)),
    )
    age_s = _age_s(facts["oldest"], now)
    numbers = {
        "waiting_jobs": facts["waiting"],
        "oldest_waiting_job_s": age_s,
        "running_too_long_jobs": facts["too_long"],
        "failed_jobs": facts["failed"],
    }
    waits = "No work waits."
    if facts["waiting"]:
        jobs = counted(facts["waiting"], "job waits", "jobs wait")
        waits = f"{jobs}, the oldest for {time_words(age_s or 0)}."
    sentences, advice = [], []
    if facts["failed"]:
        failures = counted(facts["failed"], "job", "jobs")
        sentences.append(f"{failures} failed in the last {time_words(FAILURE_TOLD.seconds)}.")
        advice.append(
            "Captures and mails are tried again by themselves. If it goes on, the log of the"
            " workers says what is wrong."
        )
    if facts["too_long"]:
        stuck = counted(facts["too_long"], "job has", "jobs have")
        stuck_s = STUCK_AFTER.total_seconds()
        sentences.append(f"{stuck} been running for more than {time_words(stuck_s)}.")
        advice.append(
            "What runs is given up after two hours; starting Kitdesk anew ends it at once."
        )
    return DeskFinding(
        "queue",
        "Background work",
        Condition.WARNING if sentences else Condition.OK,
        " ".join([*sentences, waits]),
        " ".join(advice),
        numbers,
        pressing=bool(facts["failed"]),
    )


def worker(now: datetime, work: DeskFinding) -> DeskFinding:
    """Whether one lives, and whether one does what is due by the clock; `work` is what the queue is
    like. One query.
    """
    age_s, tick_age_s = (
        None if at is None else round(max(0.0, now.timestamp() - at), 1) for at in newest_signs()
    )
    numbers = {"newest_beat_age_s": age_s, "newest_tick_age_s": tick_age_s}
    if age_s is not None and age_s <= DEAD_AFTER_S:
        return _working(tick_age_s, numbers)
    since = "has ever been" if age_s is None else f"has been at work for {time_words(age_s)}"
    if age_s is None:
        since += " at work"
    sentence = f"No worker {since}."
    waits_s = work.numbers["oldest_waiting_job_s"]
    is_missed = waits_s is not None and waits_s > WAITS_AFTER_S
    if is_missed:
        sentence = f"{sentence} {work.sentence}"
    return DeskFinding(
        "worker",
        "Workers",
        Condition.WARNING,
        sentence,
        "Captures are not scored and mails leave late. python3 manage.py start runs workers; on a"
        " server, python3 manage.py worker --clock does.",
        numbers,
        pressing=is_missed,
    )


def _working(tick_age_s: float | None, numbers: dict[str, float | int | None]) -> DeskFinding:
    """Where a worker lives: the one with the clock may have gone all the same."""
    said = "A worker is at work."
    if tick_age_s is None or tick_age_s <= CLOCK_RESTS_S:
        return DeskFinding("worker", "Workers", Condition.OK, said, numbers=numbers)
    return DeskFinding(
        "worker",
        "Workers",
        Condition.WARNING,
        f"{said} But nothing was done by the clock for {time_words(tick_age_s)}.",
        "No reminders are drafted and no backups made. On one of the machines python3 manage.py"
        " worker --clock must run.",
        numbers,
        pressing=True,
    )


def mail(now: datetime, answers: KeptAnswers | None = None) -> DeskFinding:
    """Mails that were let go and have not left. One query, or none where `answers` knows."""
    facts = answers.of(mail.__qualname__, _mail_facts) if answers else _mail_facts()
    age_s = _age_s(facts["oldest"], now)
    numbers = {
        "waiting_mails": facts["waiting"],
        "oldest_waiting_mail_s": age_s,
        "failed_mails": facts["failed"],
        "uncertain_mails": facts["uncertain"],
    }
    is_stuck = age_s is not None and age_s > STUCK_AFTER.total_seconds()
    sentences = _mail_sentences(facts, age_s)
    is_fine = not (is_stuck or facts["failed"] or facts["uncertain"])
    if is_fine:
        said = " ".join(sentences) or "No mail waits."
        return DeskFinding("mail", "Mail", Condition.OK, said, numbers=numbers)
    return DeskFinding(
        "mail",
        "Mail",
        Condition.WARNING,
        " ".join(sentences),
        "Messages shows each with what the mail server said, and sends it again.",
        numbers,
        way="rentals:messages",
        pressing=is_stuck,
    )


_PAUSED = KnownQuery(lambda: Webhook.standing.order_by().values_list("paused_why"))


def webhooks(now: datetime) -> DeskFinding:
    """Programs elsewhere that should be told and cannot be. One query, and one more where there is
    any.
    """
    title, way = "Webhooks", "rentals:webhooks"
    paused = [why for (why,) in _PAUSED.rows()]
    if not paused:
        said = "No other program is told of anything."
        return DeskFinding("webhooks", title, Condition.OK, said, way=way)
    standing = Q(webhook__removed_at=None)
    waiting = standing & Q(state=CallState.WAITING, webhook__paused_at=None)
    given_up = standing & Q(state=CallState.GIVEN_UP, claimed_at__gt=now - GIVEN_UP_TOLD)
    calls = WebhookCall.objects.aggregate(
        waiting=Count("pk", filter=waiting),
        oldest=Min("made_at", filter=waiting),
        given_up=Count("pk", filter=given_up),
    )
    age_s = _age_s(calls["oldest"], now)
    dead = sum(1 for why in paused if why)
    numbers = {
        "paused_webhooks": dead,
        "waiting_webhook_calls": calls["waiting"],
        "oldest_waiting_call_s": age_s,
        "given_up_webhook_calls": calls["given_up"],
    }
    sentences = []
    if dead:
        hooks = counted(dead, "webhook has", "webhooks have")
        sentences.append(f"{hooks} paused: nobody took its calls.")
    if calls["given_up"]:
        words = counted(calls["given_up"], "call was", "calls were")
        sentences.append(f"{words} given up in the last two days.")
    is_bad = bool(sentences)
    if calls["waiting"]:
        words = counted(calls["waiting"], "call waits", "calls wait")
        sentences.append(f"{words}, the oldest for {time_words(age_s or 0)}.")
    return DeskFinding(
        "webhooks",
        title,
        Condition.WARNING if is_bad else Condition.OK,
        " ".join(sentences) or "No call waits.",
        "Its page shows what the receiver answered, and tells it again." if is_bad else "",
        numbers,
        way=way,
        pressing=is_bad,
    )


def _mail_facts() -> dict[str, Any]:
    moving = Q(state__in=MOVING_MAILS)
    return Message.objects.filter(state__in=[*MOVING_MAILS, *_UNSURE]).aggregate(
        waiting=Count("pk", filter=moving),
        oldest=Min("let_go_at", filter=moving),
        failed=Count("pk", filter=Q(state=_MAIL.FAILED)),
        uncertain=Count("pk", filter=Q(state=_MAIL.UNCERTAIN)),
    )


def _mail_sentences(facts: dict[str, int], age_s: float | None) -> list[str]:
    sentences = []
    if facts["waiting"]:
        mails = counted(facts["waiting"], "mail waits", "mails wait")
        since = "" if age_s is None else f", the oldest for {time_words(age_s)}"
        sentences.append(f"{mails}{since}.")
    if facts["failed"]:
        sentences.append(f"{counted(facts['failed'], 'mail', 'mails')} could not be sent.")
    if facts["uncertain"]:
        sentences.append(f"{counted(facts['uncertain'], 'mail', 'mails')} may have been sent.")
    return sentences


def _age_s(moment: datetime | None, now: datetime) -> float | None:
    # Nothing waits since tomorrow: where a clock was set back, it has waited for no time.
    return None if moment is None else max(0.0, round((now - moment).total_seconds(), 1))

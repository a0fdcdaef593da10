"""What the pages of a desk cost beside an empty signed-in page of the same run, with their queries
and bytes.
"""

from __future__ import annotations

import tracemalloc
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from functools import partial
from importlib import import_module
from math import inf
from statistics import median
from time import process_time
from typing import TypeAlias

from django.conf import settings
from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY
from django.contrib.auth.models import User
from django.db import connection, transaction
from django.db.models import Count
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import resolve, reverse

from kitdesk.roles.gate import request_of
from kitdesk.server_clock import server_clock
from kitdesk.warming import read_the_day
from rentals.actions.mail_setup import make_calendar_link
from rentals.models import CourseRun, Event, Kit, KitType, Loan, Message, Student
from rentals.selectors.kept_answers import forget_answers
from rentals.selectors.messages import messages_listed
from rentals.web.request import DeskRequest
from rentals.web.table_file import table_of

ServerClock: TypeAlias = Callable[[], float] | None

EMPTY = "keys"
#: Memory that a file of any length may take.
FILE_MB = 50


@dataclass(frozen=True)
class DeskPage:
    """A page to be measured and its goal: times of an empty page at 5,000 kits. A file that grows
    with the desk is judged by its memory alone, in MB. Of a page that keeps what it was worked out
    of, `changed` measures the opening after something changed, where nothing is kept of it.
    """

    words: str
    address: str
    goal: float = inf
    goal_mb: float = inf
    changed: bool = False


@dataclass(frozen=True)
class PageCost:
    """What a page took: times of an empty page, milliseconds of processor time, queries, bytes;
    of a file also the memory in MB that was taken at most on the way. `server_ms` is the database
    server's part of the milliseconds, None where it is not in them.
    """

    page: DeskPage
    times: float
    ms: float
    floor_ms: float
    queries: int
    bytes: int
    mb: float = 0.0
    server_ms: float | None = None

    @property
    def met(self) -> bool:
        """Whether the goals are met."""
        return self.times <= self.page.goal and self.mb <= self.page.goal_mb


def costs_of_pages(rounds: int) -> Iterator[PageCost]:
    """Each page's median over so many rounds, each beside an empty page. Nothing that is written on
    the way stays.

    Raises
    ------
    LookupError
        If the desk has no owner, kit, run, loan or mail to show.
    """
    with _nothing_stays():
        owner, clock = _owner(), server_clock()
        client = _signed_in(owner)
        empty = partial(_opened, client, reverse(EMPTY))
        read_the_day()
        for page in _pages():
            yield _cost(page, _opener(page, client, owner), empty, clock, rounds)


@contextmanager
def _nothing_stays() -> Iterator[None]:
    with transaction.atomic():
        try:
            yield
        finally:
            transaction.set_rollback(True)


def _owner() -> User:
    owner = User.objects.filter(is_superuser=True, is_active=True).order_by("pk").first()
    if owner is None:
        raise LookupError("This desk has no owner: fill it with `manage.py practice` first.")
    return owner


def _signed_in(owner: User) -> Client:
    session = import_module(settings.SESSION_ENGINE).SessionStore()
    session[SESSION_KEY] = str(owner.pk)
    session[BACKEND_SESSION_KEY] = settings.AUTHENTICATION_BACKENDS[0]
    session[HASH_SESSION_KEY] = owner.get_session_auth_hash()
    session.save()
    client = Client(SERVER_NAME="localhost")
    client.cookies[settings.SESSION_COOKIE_NAME] = session.session_key
    return client


def _pages() -> list[DeskPage]:
    busiest = Event.objects.exclude(kit=None).values("kit").annotate(many=Count("pk"))
    fullest = CourseRun.objects.annotate(many=Count("enrolments")).order_by("-many", "pk").first()
    top = busiest.order_by("-many", "kit").first()
    student, kit_type = Student.objects.order_by("-pk").first(), KitType.objects.first()
    posted = Loan.objects.exclude(tracking_number="").order_by("-pk").first()
    if not (top and fullest and student and kit_type and posted):
        raise LookupError("There is too little on this desk to measure its pages.")
    name = student.name.partition(" ")[2]
    kit, feed = Kit.objects.get(pk=top["kit"]), make_calendar_link("Speed")
    last = max(1, -(-messages_listed({}).count() // 50))
    at = _address
    keeping = [
        DeskPage("Today", at("rentals:today"), 4),
        DeskPage("Runs", at("rentals:runs"), 6),
        DeskPage("the largest run", fullest.get_absolute_url(), 6),
        DeskPage("labels", at("rentals:labels"), 6),
        DeskPage("calendar feed", reverse("rentals:calendar_feed", args=[feed]), 6),
    ]
    return [
        *keeping,
        *(replace(page, words=f"{page.words}, changed", changed=True) for page in keeping),
        DeskPage("Kits", at("rentals:kits"), 6),
        DeskPage("Kits by a student's name", at("rentals:kits", q=name), 6),
        DeskPage("the kit with most events", kit.get_absolute_url(), 4),
        DeskPage("Messages", at("rentals:messages"), 6),
        DeskPage("Messages by a name", at("rentals:messages", q=name), 6),
        DeskPage("Messages, last page", at("rentals:messages", page=str(last)), 6),
        DeskPage("a message", Message.objects.latest("pk").get_absolute_url(), 6),
        DeskPage("Bench", at("readiness:bench"), 6),
        DeskPage("drops", at("readiness:drops"), 6),
        DeskPage("a test plan", reverse("readiness:plan", args=[kit_type.pk]), 6),
        DeskPage("Pack by a name", at("rentals:pack", q=name), 4),
        DeskPage("Receive by a name", at("rentals:receive", q=name), 4),
        DeskPage("scan of a tracking number", at("rentals:scan", q=posted.tracking_number), 2),
        DeskPage("scan of a name", at("rentals:scan", q=name), 2),
        DeskPage("kits as CSV", reverse("rentals:kits_export", args=["csv"]), goal_mb=FILE_MB),
        DeskPage("kits as XLSX", reverse("rentals:kits_export", args=["xlsx"]), goal_mb=FILE_MB),
    ]


def _address(name: str, **search: str) -> str:
    return reverse(name, query=search or None)


def _opener(page: DeskPage, client: Client, owner: User) -> Callable[[], int]:
    """Opens a page as a browser does, and makes a file as a worker does for its owner."""
    if page.goal_mb == inf:
        return partial(_opened, client, page.address)
    return partial(_made, request_of(owner, page.address))


def _cost(
    page: DeskPage,
    open_it: Callable[[], int],
    open_empty: Callable[[], int],
    clock: ServerClock,
    rounds: int,
) -> PageCost:
    with CaptureQueriesContext(connection) as queries:
        size = open_it()
        # Counted here: the next request throws them away.
        asked = len(queries)
    floors, pages = [], []
    for _ in range(rounds):
        floors.append(_seconds(open_empty, clock))
        if page.changed:
            forget_answers()
        pages.append(_seconds(open_it, clock))
    floor, took = (median(map(sum, times)) for times in (floors, pages))
    server = median(theirs for _, theirs in pages) * 1000 if clock else None
    memory = _megabytes(open_it) if page.goal_mb < inf else 0.0
    return PageCost(page, took / floor, took * 1000, floor * 1000, asked, size, memory, server)


def _seconds(open_it: Callable[[], int], clock: ServerClock) -> tuple[float, float]:
    """Processor time of this process and of the database server's."""
    ours, theirs = process_time(), clock() if clock else 0.0
    open_it()
    return process_time() - ours, (clock() if clock else 0.0) - theirs


def _megabytes(open_it: Callable[[], int]) -> float:
    """The memory that Python took at most meanwhile, beyond what it had."""
    tracemalloc.start()
    try:
        open_it()
        return tracemalloc.get_traced_memory()[1] / 1e6
    finally:
        tracemalloc.stop()


def _opened(client: Client, address: str) -> int:
    """How many bytes came."""
    answer = client.get(address, secure=bool(settings.SECURE_SSL_REDIRECT))
    if answer.status_code not in (200, 302):
        raise LookupError(f"{address} answers {answer.status_code}.")
    return len(answer.content)


def _made(request: DeskRequest) -> int:
    """How many bytes the file has. A long one is made in the background, so its address would only
    answer with the page that asks for it.
    """
    asked = resolve(request.path)
    table = table_of(asked.func, request, **asked.kwargs)
    if table is None:
        raise LookupError(f"{request.path} makes no file.")
    return sum(map(len, table.pieces))

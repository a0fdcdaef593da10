"""Each request and each task has a line with a number; none holds anything personal."""

import io
import json
import logging
from logging.config import DictConfigurator

import pytest
from django.conf import settings as desk_settings
from django.db import IntegrityError
from django.test import Client
from django.urls import reverse
from django_tasks_db.models import DBTaskResult

from kitdesk.lasting_worker import LastingWorker
from kitdesk.traces.request_ids import carrying, current_request_id
from kitdesk.views import health
from kitdesk.watching import weekly

pytestmark = pytest.mark.django_db
NAME, MAIL, TOKEN, PASSWORD = (
    "Wilhelmina-Quist",
    "mia.quist@example.org",
    "t0kenOfAPage",
    "pa55word",
)
PERSONAL = (NAME, MAIL, "mia.quist", TOKEN, PASSWORD)
NUMBER = "0123456789abcdef0123456789abcdef"


class Log:
    """What the desk's own writers have written, as plain lines and as JSON."""

    def __init__(self) -> None:
        self.streams = {"plain": io.StringIO(), "json": io.StringIO()}

    def text(self) -> str:
        return "".join(stream.getvalue() for stream in self.streams.values())

    def lines(self, logger: str = "") -> list[dict[str, object]]:
        rows = map(json.loads, self.streams["json"].getvalue().splitlines())
        return [row for row in rows if not logger or row["logger"] == logger]


@pytest.fixture
def log(caplog):
    caplog.set_level(logging.INFO)
    configuration = DictConfigurator(desk_settings.LOGGING)
    written, root = Log(), logging.getLogger()
    handlers = []
    for form, stream in written.streams.items():
        handler = logging.StreamHandler(stream)
        form_facts = dict(desk_settings.LOGGING["formatters"][form])
        handler.setFormatter(configuration.configure_formatter(form_facts))
        root.addHandler(handler)
        handlers.append(handler)
    yield written
    for handler in handlers:
        root.removeHandler(handler)


def _fail() -> dict[str, object]:
    try:
        raise IntegrityError(f"Key (email)=({MAIL}) already exists.")
    except IntegrityError as cause:
        raise ValueError(f"{NAME} <{MAIL}> {PASSWORD}") from cause


def _careless_client(**options: object) -> Client:
    headers = {"User-Agent": NAME, "Referer": f"http://x/{TOKEN}", "X-Name": MAIL}
    return Client(raise_request_exception=False, headers=headers, **options)


def test_no_line_holds_anything_personal(log, monkeypatch, owner):
    monkeypatch.setattr(health, "seen_now", _fail)
    client = _careless_client()
    form = {"login": owner.username, "password": PASSWORD, "name": NAME}
    failed = client.post(f"/health?name={NAME}&email={MAIL}", form)
    assert failed.status_code == 500
    client.get(f"/students/{NAME}/{MAIL}")
    client.get(f"/my-kit/{TOKEN}/")
    client.get(f"/calendar/{TOKEN}.ics")
    client.post(reverse("account_login"), form | {"login": NAME})
    client.get("/", headers={"Host": f"{NAME}.example.org"})
    strict = _careless_client(enforce_csrf_checks=True)
    strict.post(reverse("account_login"), form, headers={"Origin": f"https://{NAME}.example.org"})
    client.generic(NAME, "/health")
    logging.getLogger("dependency").warning("Could not open %s", f"folder of {NAME}")
    logging.getLogger("dependency").warning(f"Could not write to {MAIL}")
    text = log.text()
    assert [word for word in PERSONAL if word in text] == []
    # What helps to find the fault is there, and each has its line.
    assert "builtins.ValueError" not in text and "ValueError" in text
    assert "django.db.utils.IntegrityError" in text
    assert "test_log_lines.py" in text and "in _fail" in text
    requests = log.lines("kitdesk.request")
    routes = ["health", "none", "rentals:my_kit", "rentals:calendar_feed", "account_login"]
    assert [row["route"] for row in requests][:5] == routes
    assert requests[0]["status"] == 500 and requests[-1]["method"] == "another"


def test_a_request_has_one_line_and_its_number_is_in_the_answer(log, signed_in, owner):
    answer = signed_in.get(reverse("rentals:kits") + "?q=x")
    (row,) = log.lines()
    assert row.pop("duration_ms") >= 0 and row.pop("time").endswith("+00:00")
    assert row == {
        "level": "INFO",
        "logger": "kitdesk.request",
        "message": "GET rentals:kits 200",
        "request_id": answer["X-Request-ID"],
        "method": "GET",
        "route": "rentals:kits",
        "status": 200,
        "user": owner.pk,
        "bytes": len(answer.content),
    }
    plain = log.streams["plain"].getvalue()
    assert plain.endswith(f"kitdesk.request: GET rentals:kits 200 [{answer['X-Request-ID']}]\n")
    assert current_request_id() == ""


@pytest.mark.parametrize(
    ("proxy", "forwarded", "given", "is_taken"),
    [
        ("10.0.0.1", True, NUMBER, True),
        ("10.0.0.1", True, "01234567-89ab-cdef-0123-456789abcdef", True),
        ("10.0.0.1", False, NUMBER, False),
        ("", True, NUMBER, False),
        ("10.0.0.1", True, NAME, False),
        ("10.0.0.1", True, NUMBER * 5, False),
        ("10.0.0.1", True, "abc", False),
    ],
)
def test_the_number_of_the_proxy_is_taken_where_it_is_one(
    settings, proxy, forwarded, given, is_taken
):
    settings.TRUSTED_PROXY = proxy
    headers = {"X-Request-ID": given} | ({"X-Forwarded-Proto": "https"} if forwarded else {})
    answered = Client().get("/health", headers=headers)["X-Request-ID"]
    assert (answered == given) is is_taken
    assert len(answered) >= 16


def test_the_page_of_a_failure_says_its_number(monkeypatch):
    monkeypatch.setattr(health, "seen_now", _fail)
    answer = _careless_client().get("/health")
    assert f"<code>{answer['X-Request-ID']}</code>" in answer.content.decode()


def _work(row: DBTaskResult) -> None:
    LastingWorker(
        queue_names=["*"],
        interval=0.01,
        batch=True,
        backend_name="default",
        startup_delay=False,
        max_tasks=None,
        worker_id="worker",
        excluded_queue_names=[],
    ).run_task(row)


def test_a_task_has_a_line_with_the_number_of_its_request(log, settings, monkeypatch):
    settings.TASKS = {"default": {"BACKEND": "django_tasks_db.DatabaseBackend"}}
    with carrying(NUMBER):
        weekly.verify_by_itself.enqueue()
    weekly.verify_by_itself.enqueue()
    first, second = DBTaskResult.objects.order_by("enqueued_at")
    _work(first)
    monkeypatch.setattr(weekly, "verify", lambda heads, **_: _fail())
    _work(second)
    done, failed = log.lines("kitdesk.task")
    assert done["request_id"] == NUMBER and "request_id" not in failed
    assert (done["task"], done["outcome"]) == ("verify_by_itself", "successful")
    assert done["task_id"] == str(first.pk) and done["duration_ms"] >= 0
    assert (failed["level"], failed["outcome"]) == ("ERROR", "failed")
    assert failed["exception"] == "builtins.ValueError" and "in _fail" in failed["where"][-1]
    assert [word for word in PERSONAL if word in log.text()] == []

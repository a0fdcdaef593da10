"""Fixtures common to all tests."""

import gc
import os
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.core.cache import cache
from django.db import connection
from django.test import Client, TransactionTestCase

from kitdesk import database_template
from rentals.selectors.kept_answers import forget_answers
from tests import browser_driver, emptied, object_store, second_run
from tests.smtp import SmtpServer, running_smtp_server

OWNER_NAME = "owner"
OWNER_PASSWORD = "quiet-bow-arm-42"
REQUIRED = set(filter(None, os.environ.get("KITDESK_REQUIRE", "").split(",")))


@pytest.fixture
def no_fonts_found(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """A machine that has no fonts but those that come with Kitdesk."""
    from rentals.paper import fonts, found_fonts

    for finder in ("east_asian_files", "other_files"):
        monkeypatch.setattr(found_fonts, finder, tuple)
    fonts.fonts_at_hand.cache_clear()
    yield
    fonts.fonts_at_hand.cache_clear()


def _on_postgres() -> bool:
    return connection.vendor == "postgresql"


def pytest_runtest_setup(item: pytest.Item) -> None:
    """A test whose browser or database is not here is skipped with the cure, or fails when it was
    asked for.
    """
    if item.get_closest_marker("browser") and browser_driver.chromium_path() is None:
        lacking("browser", browser_driver.HOW_TO_GET)
    if item.get_closest_marker("postgres") and not _on_postgres():
        lacking(
            "postgres",
            "needs PostgreSQL: run `python3 manage.py test`, or set DATABASE_URL=postgres://...",
        )


@pytest.fixture(scope="session")
def django_db_keepdb(django_db_keepdb: bool, django_db_modify_db_settings: None) -> bool:
    """A copy of the run's migrated file, where there is one, stands for a database that is there
    already; the folder it lies in goes with the run.
    """
    template = os.environ.get(database_template.SETTING)
    if template is None or _on_postgres():
        return django_db_keepdb
    shutil.copyfile(template, connection.settings_dict["TEST"]["NAME"])
    return True


def lacking(what: str, cure: str) -> None:
    """Skip the test and say what would help, or fail it where KITDESK_REQUIRE names ``what``."""
    if what in REQUIRED:
        pytest.fail(cure, pytrace=False)
    pytest.skip(cure)


@pytest.fixture(scope="session")
def django_db_setup(django_db_setup: None, django_db_blocker: Any) -> Iterator[None]:
    """The database; a test with transactions of its own leaves it as it is here."""
    with django_db_blocker.unblock():
        beginning = emptied.Beginning()
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(TransactionTestCase, "_fixture_teardown", emptied.empty_as_at(beginning))
        yield


@pytest.fixture(autouse=True)
def own_folders(settings, tmp_path: Path) -> None:
    """Uploads and mail files of one test are seen by no other."""
    settings.MEDIA_ROOT = tmp_path / "media"
    settings.KITDESK_OUTBOX = tmp_path / "outbox"
    settings.KITDESK_ERASURES = tmp_path / "erasures"
    settings.KITDESK_LOG_HEADS = tmp_path / "log.heads"


@pytest.fixture(autouse=True)
def nothing_is_kept_of_another_test() -> None:
    """Each test begins as a process does; what a test replaces is no part of a question."""
    forget_answers()


@pytest.fixture(scope="session")
def store() -> Iterator[object_store.RunningStore]:
    """A real S3 server, started for the first test that asks for it."""
    with object_store.running_store() as running:
        yield running


@pytest.fixture
def keep_files_at(settings, monkeypatch: pytest.MonkeyPatch, request: pytest.FixtureRequest):
    """``keep_files_at(address)`` keeps captures and photos where KITDESK_FILES would; with the keys
    of the tests' own server, unless the test sets others.
    """
    from kitdesk.file_place import file_place

    def kept(address: str, *, keys: bool = True) -> None:
        if keys:
            for name, value in request.getfixturevalue("store").keys.items():
                monkeypatch.setenv(name, value)
        settings.STORAGES = {**settings.STORAGES, "default": file_place(address).backend}

    return kept


@pytest.fixture(params=["folder", "store"])
def kept_files(request: pytest.FixtureRequest, keep_files_at) -> Any:
    """The desk's storage: once a folder, once a bucket."""
    from django.core.files.storage import default_storage

    if request.param == "store":
        keep_files_at(request.getfixturevalue("store").address())
    return default_storage


@pytest.fixture
def owner(db) -> User:
    """The owner's account, with all rights."""
    return User.objects.create_superuser(
        OWNER_NAME, "owner@desk.example", OWNER_PASSWORD, first_name="Ada"
    )


@pytest.fixture
def signed_in(owner: User) -> Client:
    """A client in which the owner is signed in."""
    client = Client()
    client.force_login(owner, backend="allauth.account.auth_backends.AuthenticationBackend")
    return client


@pytest.fixture
def smtp_server(settings) -> Iterator[SmtpServer]:
    """A real SMTP server; Django's mail settings point at it."""
    with running_smtp_server() as server:
        settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
        settings.EMAIL_HOST, settings.EMAIL_PORT = server.host, server.port
        settings.EMAIL_USE_TLS = settings.EMAIL_USE_SSL = False
        settings.EMAIL_TIMEOUT = 5
        settings.KITDESK_MAIL_TO_FILES = False
        yield server


@pytest.fixture(scope="session")
def browser() -> Iterator[object]:
    """Chromium, started once. Its driver runs an event loop, so Django must be told that this is no
    async code.
    """
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"
    try:
        with browser_driver.running_browser() as running:
            yield running
    finally:
        del os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"]


@pytest.fixture
def open_page(browser, live_server, transactional_db) -> Iterator[Callable[..., object]]:
    """``open_page(client=None, size=LAPTOP, **context_options)`` gives a page whose relative
    addresses are the live server's; with a client, its sign-in is taken over. Script errors and
    policy violations fail the test at its end.
    """
    complaints = browser_driver.Complaints()
    contexts = []

    def opened(
        client: Client | None = None,
        size: dict[str, int] = browser_driver.LAPTOP,
        **options: object,
    ):
        context = browser.new_context(base_url=live_server.url, viewport=size, **options)
        contexts.append(context)
        context.set_default_timeout(browser_driver.PATIENCE_MS)
        complaints.watch(context)
        if client is not None:
            cookie = client.cookies["sessionid"].value
            context.add_cookies([{"name": "sessionid", "value": cookie, "url": live_server.url}])
        return context.new_page()

    yield opened
    for context in contexts:
        context.close()
    assert not complaints, "\n".join(complaints)


@pytest.fixture
def browser_page(open_page, signed_in: Client):
    """A laptop-sized page with the owner signed in."""
    return open_page(signed_in)


@pytest.fixture
def phone_page(open_page, signed_in: Client):
    """A phone-sized page with the owner signed in."""
    return open_page(signed_in, size=browser_driver.PHONE, has_touch=True, is_mobile=True)


@pytest.fixture
def clean_cache(db) -> None:
    """Rate limits start from nothing."""
    cache.clear()


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """How many acts each task took, beside its goal."""
    rows = [
        value
        for outcome in ("passed", "failed")
        for report in terminalreporter.stats.get(outcome, [])
        for name, value in getattr(report, "user_properties", [])
        if name == "acts"
    ]
    if not rows:
        return
    terminalreporter.section("acts at the table")
    terminalreporter.line(f"{'task':<60} acts  goal")
    for task, acts, goal in rows:
        terminalreporter.line(f"{task:<60} {acts:>4}  {goal:>4}")


@pytest.hookimpl(wrapper=True)
def pytest_collection() -> Iterator[None]:
    """Thousands of tests are gathered and stay to the end. Looking through them for what nobody
    holds any more, while they are gathered and then time and again, would take a tenth of the
    processor.
    """
    gc.disable()
    try:
        return (yield)
    finally:
        gc.freeze()
        gc.set_threshold(10_000, 20, 20)
        gc.enable()


def pytest_ignore_collect(collection_path: Path) -> bool | None:
    """The second run does not even read what it repeats nothing of."""
    return second_run.is_left_unread(collection_path) or None


@pytest.hookimpl(trylast=True)
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Long tests come first, so that no process is left with one while the others are done; the
    second run takes its share.
    """
    kept = second_run.repeated(items)
    left = set(kept)
    config.hook.pytest_deselected(items=[item for item in items if item not in left])
    items[:] = _long_first(kept, int(os.environ.get("PYTEST_XDIST_WORKER_COUNT", "1")))


def _long_first(items: list[pytest.Item], processes: int) -> list[pytest.Item]:
    """Each process gets a stretch of the tests to begin with: the same share of the long ones leads
    each stretch. Their own order stays.
    """
    long = [item for item in items if item.get_closest_marker("slow")]
    short = [item for item in items if not item.get_closest_marker("slow")]
    return [
        item
        for part in range(processes)
        for item in (*_part(long, part, processes), *_part(short, part, processes))
    ]


def _part(items: list[pytest.Item], part: int, parts: int) -> list[pytest.Item]:
    return items[len(items) * part // parts : len(items) * (part + 1) // parts]

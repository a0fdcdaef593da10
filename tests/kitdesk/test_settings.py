"""Settings read from the environment, and the start-up checks that name a wrong one."""

import json
import os
import subprocess
import sys
import threading
from pathlib import Path
from types import SimpleNamespace

import pytest
from django.core.checks import run_checks

from kitdesk import checks
from kitdesk.secret import kept_secret

ROOT = Path(__file__).resolve().parent.parent.parent
SHOW = """
import json, sys
from kitdesk import settings
print(json.dumps({name: getattr(settings, name, None) for name in sys.argv[1:]}, default=str))
"""
PRODUCTION = {
    "SITE_URL": "https://desk.example.org",
    "SECRET_KEY": "a-long-enough-key-of-many-signs-" * 2,
}


def _environment(folder: Path, **given: str) -> dict[str, str]:
    kept = {name: os.environ[name] for name in ("PATH", "HOME", "SYSTEMROOT") if name in os.environ}
    return kept | {"KITDESK_VAR": str(folder / "var"), "PYTHONPATH": str(ROOT)} | given


def _shown(folder: Path, *names: str, **given: str) -> dict[str, object]:
    done = subprocess.run(
        [sys.executable, "-c", SHOW, *names],
        env=_environment(folder, **given),
        capture_output=True,
        text=True,
        check=True,
    )
    return json.loads(done.stdout)


def test_a_bare_desk_keeps_everything_in_one_folder_and_sends_no_mail(tmp_path):
    shown = _shown(
        tmp_path,
        "DATABASES",
        "MEDIA_ROOT",
        "KITDESK_OUTBOX",
        "KITDESK_MAIL_TO_FILES",
        "EMAIL_BACKEND",
        "DEBUG",
    )
    var = str((tmp_path / "var").resolve())
    assert shown["DATABASES"]["default"]["NAME"] == f"{var}/kitdesk.sqlite3"
    assert shown["DATABASES"]["default"]["CONN_MAX_AGE"] > 0
    assert shown["MEDIA_ROOT"] == f"{var}/media"
    assert shown["KITDESK_OUTBOX"] == f"{var}/outbox"
    assert shown["KITDESK_MAIL_TO_FILES"] is True
    assert shown["EMAIL_BACKEND"] == "kitdesk.mail_files.EmlBackend"
    assert shown["DEBUG"] is False


@pytest.mark.parametrize(("folder", "outbox"), [("desk", "outbox"), ("demo", "demo/outbox")])
def test_the_demo_s_mail_stays_in_the_demo_s_folder(folder, outbox, tmp_path):
    shown = _shown(tmp_path, "KITDESK_OUTBOX", KITDESK_VAR=str(ROOT / "var" / folder))
    assert shown["KITDESK_OUTBOX"] == str(ROOT / "var" / outbox)


def test_sqlite_is_set_for_several_writers_and_power_cuts(tmp_path):
    options = _shown(tmp_path, "DATABASES")["DATABASES"]["default"]["OPTIONS"]
    assert options["transaction_mode"] == "IMMEDIATE"
    assert options["timeout"] == 5
    assert (
        "journal_mode=WAL" in options["init_command"]
        and "synchronous=FULL" in options["init_command"]
    )


def test_addresses_of_database_and_mail_server_are_read(tmp_path):
    shown = _shown(
        tmp_path,
        "DATABASES",
        "EMAIL_HOST",
        "EMAIL_PORT",
        "EMAIL_USE_TLS",
        "KITDESK_MAIL_TO_FILES",
        DATABASE_URL="postgres://desk:pw@db.example:5433/kitdesk",
        EMAIL_URL="smtp+tls://u:p@mail.example:587",
    )
    database = shown["DATABASES"]["default"]
    assert database["ENGINE"] == "django.db.backends.postgresql"
    assert (database["HOST"], database["PORT"], database["NAME"]) == ("db.example", 5433, "kitdesk")
    assert "transaction_mode" not in database.get("OPTIONS", {})
    assert (shown["EMAIL_HOST"], shown["EMAIL_PORT"], shown["EMAIL_USE_TLS"]) == (
        "mail.example",
        587,
        True,
    )
    assert shown["KITDESK_MAIL_TO_FILES"] is False


def test_a_secure_address_switches_on_what_belongs_to_it(tmp_path):
    names = (
        "SECURE_SSL_REDIRECT",
        "SESSION_COOKIE_SECURE",
        "CSRF_COOKIE_SECURE",
        "SECURE_HSTS_SECONDS",
    )
    assert not any(_shown(tmp_path, *names).values())
    names_of_lists = ("ALLOWED_HOSTS", "CSRF_TRUSTED_ORIGINS", "LOGGING")
    given = PRODUCTION | {"KITDESK_LOG": "json"}
    shown = _shown(tmp_path, *names, *names_of_lists, **given)
    assert all(shown[name] for name in names)
    assert "desk.example.org" in shown["ALLOWED_HOSTS"]
    assert shown["CSRF_TRUSTED_ORIGINS"] == ["https://desk.example.org"]
    assert shown["LOGGING"]["handlers"]["console"]["formatter"] == "json"
    assert shown["LOGGING"]["loggers"]["kitdesk.request"]["level"] == "INFO"


def test_the_deployment_check_is_clean(tmp_path):
    done = subprocess.run(
        [
            *(sys.executable, "-X", "importtime", "-m", "django"),
            *("check", "--deploy", "--fail-level", "WARNING"),
        ],
        env=_environment(tmp_path, DJANGO_SETTINGS_MODULE="kitdesk.settings", **PRODUCTION),
        capture_output=True,
        text=True,
        check=False,
        cwd=ROOT,
    )
    assert done.returncode == 0, done.stderr
    # What is heavy and used by few is loaded where it is used.
    assert "kitdesk.views.metrics" in done.stderr and "prometheus_client" not in done.stderr


def test_the_deployment_check_names_an_address_that_no_phone_can_open(settings):
    settings.SITE_URL = "http://127.0.0.1:8000"
    (problem,) = checks.site_address_is_public(None)
    assert problem.id == "kitdesk.W001"
    settings.SITE_URL = "https://desk.example.org"
    assert checks.site_address_is_public(None) == []


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"OPTIONS": {"init_command": "PRAGMA journal_mode=WAL"}}, "kitdesk.E001"),
        ({"ATOMIC_REQUESTS": True}, "kitdesk.E002"),
    ],
)
def test_wrong_sqlite_options_stop_the_start(change, code, monkeypatch):
    right = {
        "OPTIONS": {"transaction_mode": "IMMEDIATE", "init_command": "PRAGMA journal_mode=WAL;"}
    }
    database = {"ENGINE": "django.db.backends.sqlite3"} | right
    monkeypatch.setattr(checks, "settings", SimpleNamespace(DATABASES={"default": database}))
    assert checks.sqlite_is_set_for_many_writers(None) == []
    checks.settings.DATABASES = {"default": database | change}
    assert [problem.id for problem in checks.sqlite_is_set_for_many_writers(None)] == [code]


def test_a_data_folder_that_cannot_be_written_stops_the_start(settings, tmp_path):
    (tmp_path / "file").write_text("in the way")
    settings.VAR = tmp_path / "file"
    (problem,) = checks.data_folder_is_writable(None)
    assert problem.id == "kitdesk.E003"
    settings.VAR = tmp_path
    assert checks.data_folder_is_writable(None) == []
    assert sorted(path.name for path in tmp_path.iterdir()) == ["file"]


def test_a_form_of_the_log_that_there_is_not_is_named(settings):
    settings.KITDESK_LOG = "xml"
    (problem,) = checks.log_has_a_form(None)
    assert problem.id == "kitdesk.E007" and "'xml'" in problem.msg


@pytest.mark.django_db
def test_the_desk_as_it_stands_has_no_complaint():
    assert run_checks() == []


def test_the_key_is_made_once_and_kept_for_the_owner_only(tmp_path):
    first = kept_secret(tmp_path / "secret.key")
    assert len(first) >= 80
    assert kept_secret(tmp_path / "secret.key") == first
    assert [path.name for path in tmp_path.iterdir()] == ["secret.key"]
    if os.name != "nt":
        assert (tmp_path / "secret.key").stat().st_mode & 0o077 == 0


def test_processes_that_start_together_agree_on_the_key(tmp_path):
    code = (
        "import sys, pathlib; from kitdesk.secret import kept_secret;"
        " print(kept_secret(pathlib.Path(sys.argv[1])))"
    )
    keys: list[str] = []

    def start() -> None:
        done = subprocess.run(
            [sys.executable, "-c", code, tmp_path / "secret.key"],
            cwd=ROOT,
            capture_output=True,
            text=True,
            check=True,
        )
        keys.append(done.stdout)

    starts = [threading.Thread(target=start) for _ in range(4)]
    for thread in starts:
        thread.start()
    for thread in starts:
        thread.join()
    assert len(keys) == 4 and len(set(keys)) == 1


def test_a_font_file_that_cannot_be_embedded_is_named_at_start(settings, tmp_path):
    assert checks.font_files_are_usable(None) == []
    settings.KITDESK_FONTS = [str(tmp_path / "lacking.ttf")]
    (problem,) = checks.font_files_are_usable(None)
    assert problem.id == "kitdesk.E004"
    assert "lacking.ttf" in problem.msg

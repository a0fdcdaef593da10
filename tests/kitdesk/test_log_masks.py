"""The log names nobody, and no student's page."""

import logging

import pytest
from django.conf import settings
from django.db import OperationalError

from kitdesk.log_masks import MaskedFormatter

pytestmark = pytest.mark.any_database


def _line(logger: str, message: str, *filled_in: str, exc_info=None, **options: object) -> str:
    record = logging.LogRecord(logger, 30, __file__, 1, message, filled_in, exc_info)
    return MaskedFormatter("{levelname} {message}", style="{", **options).format(record)


def test_tokens_and_mail_addresses_are_masked():
    line = _line("kitdesk.x", "%s", "/my-kit/secret-token/x /calendar/secret-too.ics a.b@c.example")
    assert line.startswith("WARNING /my-kit/") and ".ics" in line
    assert not any(word in line for word in ("secret", "a.b", "c.example"))


def test_others_are_told_without_what_they_fill_in():
    assert _line("dependency", "Cannot open %s", "Mia") == "WARNING Cannot open %s"
    assert _line("django.security.DisallowedHost", "Bad: Mia") == "WARNING Refused: DisallowedHost"


def test_words_of_a_failure_are_kept_where_they_speak_of_code_or_for_a_developer():
    def told(problem: Exception, **options: object) -> str:
        return _line("kitdesk.x", "Failed", exc_info=(type(problem), problem, None), **options)

    assert "django.db.utils.OperationalError: no such table" in told(
        OperationalError("no such table")
    )
    assert told(OSError(28, "No space left", "/home/mia")).endswith("OSError: No space left")
    assert told(ValueError("Mia")).endswith("\nValueError")
    assert told(ValueError("Mia"), whole=True).rstrip().endswith("ValueError: Mia")
    hidden = KeyError("outer")
    hidden.__context__ = ValueError("inner")
    assert "and before that:" in told(hidden)
    hidden.__suppress_context__ = True
    assert "and before that:" not in told(hidden)


def test_every_line_passes_it():
    handlers = settings.LOGGING["handlers"]
    assert {handler["formatter"] for handler in handlers.values()} == {"plain"}
    for form, name in (("plain", "MaskedFormatter"), ("json", "JsonFormatter")):
        assert settings.LOGGING["formatters"][form]["()"] == f"kitdesk.log_masks.{name}"
    assert all(not logger["handlers"] for logger in settings.LOGGING["loggers"].values())

"""The log names no student's page."""

import logging

import pytest
from django.conf import settings

from kitdesk.log_masks import MaskedFormatter

pytestmark = pytest.mark.any_database


def test_a_line_and_its_traceback_are_masked():
    record = logging.LogRecord(
        "django.request", 30, __file__, 1, "Not Found: %s", ("/my-kit/secret-token/x",), None
    )
    line = MaskedFormatter("{levelname} {message}", style="{").format(record)
    assert line.startswith("WARNING Not Found: /my-kit/") and "secret-token" not in line


def test_the_address_of_a_calendar_is_masked():
    record = logging.LogRecord(
        "django.request", 30, __file__, 1, "Not Found: %s", ("/calendar/secret-token.ics",), None
    )
    line = MaskedFormatter("{message}", style="{").format(record)
    assert line.startswith("Not Found: /calendar/") and line.endswith(".ics")
    assert "secret-token" not in line


def test_every_line_passes_it():
    handlers = settings.LOGGING["handlers"]
    assert {handler["formatter"] for handler in handlers.values()} == {"line"}
    assert settings.LOGGING["formatters"]["line"]["()"].endswith("MaskedFormatter")
    assert all(not logger["handlers"] for logger in settings.LOGGING["loggers"].values())

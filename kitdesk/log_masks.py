"""Keeping private addresses out of the log."""

import logging
import re

from rentals.access_keys import without_keys
from rentals.student_tokens import MARKER, without_tokens

_CALENDAR = re.compile(r"(/calendar/)[^/\s\"'<>]+(\.ics)")


class MaskedFormatter(logging.Formatter):
    """Writes a line as usual, but without the tokens of students' pages, calendars and programs:
    what a page asked for, or where it failed, names its address.
    """

    def format(self, record: logging.LogRecord) -> str:
        line = without_keys(without_tokens(super().format(record)))
        return _CALENDAR.sub(rf"\1{MARKER}\2", line)

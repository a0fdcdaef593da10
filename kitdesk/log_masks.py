"""Keeping private addresses out of the log."""

import logging

from rentals.student_tokens import without_tokens


class MaskedFormatter(logging.Formatter):
    """Writes a line as usual, but without the tokens of students' pages: what a page asked for, or
    where it failed, names its address.
    """

    def format(self, record: logging.LogRecord) -> str:
        return without_tokens(super().format(record))

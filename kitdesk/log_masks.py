"""Keeping private words out of the log: addresses with a token, mail addresses, and whatever else
a failure or another library says of what it was given.
"""

import copy
import json
import logging
import re
import traceback
from collections.abc import Iterator
from datetime import UTC, datetime
from http import HTTPStatus

from kitdesk.traces.request_ids import current_request_id
from rentals.access_keys import without_keys
from rentals.student_tokens import MARKER, without_tokens

_CALENDAR = re.compile(r"(/calendar/)[^/\s\"'<>]+(\.ics)")
_MAIL_ADDRESS = re.compile(r"[^\s<>\"'(),;:=]+@[^\s<>\"'(),;:=]+")
#: Of servers that answer in our place: what they say of a request holds what was sent.
SERVER_LOGS = ("gunicorn.error", "gunicorn.access")
_OF_A_REQUEST = re.compile(r"^(Invalid request|Error handling request).*", re.DOTALL)
_OURS = ("kitdesk", "rentals", "readiness")
#: Failures whose words are made of names in the code, or tell how the database is reached.
_SPEAK_OF_CODE = (
    *("OperationalError", "ImportError", "ModuleNotFoundError"),
    *("AttributeError", "NameError", "UnboundLocalError"),
)
_MOST_CAUSES, _LINE_END = 10, "\n"


def masked(text: str) -> str:
    """A text without the tokens of students' pages, calendars and programs, and without mail
    addresses.
    """
    without = _CALENDAR.sub(rf"\1{MARKER}\2", without_keys(without_tokens(text)))
    return _MAIL_ADDRESS.sub(MARKER, without)


def safe_message(record: logging.LogRecord) -> str:
    """What a line may say. What others log is told without what they fill in: it may be an address
    that was called, or a header that was sent.
    """
    if record.name.partition(".")[0] in _OURS:
        return masked(record.getMessage())
    if record.name.startswith("django.security"):
        return f"Refused: {record.name.rpartition('.')[2]}"
    if record.name == "django.request":
        return _phrase(getattr(record, "status_code", 500))
    if record.name in SERVER_LOGS:
        return _OF_A_REQUEST.sub(r"\1", masked(_with_numbers(record)))
    return masked(str(record.msg))


def _with_numbers(record: logging.LogRecord) -> str:
    """Numbers of processes and the like name nobody."""
    args = record.args
    told = isinstance(args, tuple) and all(isinstance(arg, int) for arg in args)
    return record.getMessage() if told else str(record.msg)


def safe_traceback(problem: BaseException, *, whole: bool = False) -> str:
    """Where a failure arose, and of what kind it is, with all that led to it.

    Its own words are left out: they may hold what somebody typed, or a row of the database. `whole`
    keeps them, for whoever develops.
    """
    if whole:
        return "".join(traceback.format_exception(problem))
    told = []
    for cause in _causes(problem):
        places = "".join(traceback.format_tb(cause.__traceback__))
        told.append(f"{places}{_kind(cause)}")
    return "\nand before that:\n".join(told)


class MaskedFormatter(logging.Formatter):
    """Plain lines without private words. A line that belongs to a request ends with its number."""

    def __init__(self, fmt: str | None = None, *, style: str = "%", whole: bool = False) -> None:
        super().__init__(fmt, style=style)  # type: ignore[arg-type]
        self._whole = whole

    def format(self, record: logging.LogRecord) -> str:
        """The line, and the lines of the failure that it tells of."""
        clean = copy.copy(record)
        number = current_request_id()
        clean.msg = safe_message(record) + (f" [{number}]" if number else "")
        # Another writer may have kept the failure's own words here.
        vars(clean).update(args=None, exc_text=None)
        return super().format(clean)

    def formatException(self, ei: object) -> str:
        """Called by `format` for a failure."""
        problem = ei[1] if isinstance(ei, tuple) else None
        return masked(safe_traceback(problem, whole=self._whole)) if problem else ""


class JsonFormatter(MaskedFormatter):
    """One JSON object a line, for programs that collect logs."""

    def format(self, record: logging.LogRecord) -> str:
        """The line."""
        at = datetime.fromtimestamp(record.created, UTC)
        told: dict[str, object] = {
            "time": at.isoformat(timespec="milliseconds"),
            "level": record.levelname,
            "logger": record.name,
            "message": safe_message(record),
        }
        if current_request_id():
            told["request_id"] = current_request_id()
        told |= getattr(record, "facts", {})
        if record.exc_info and record.exc_info[1]:
            told["traceback"] = self.formatException(record.exc_info)
        return json.dumps(told, ensure_ascii=False)


def _phrase(status: int) -> str:
    try:
        return HTTPStatus(status).phrase
    except ValueError:
        return str(status)


def _causes(problem: BaseException) -> Iterator[BaseException]:
    cause: BaseException | None = problem
    for _ in range(_MOST_CAUSES):
        if cause is None:
            return
        yield cause
        hidden = cause.__suppress_context__
        cause = cause.__cause__ or (None if hidden else cause.__context__)


def _kind(problem: BaseException) -> str:
    kind = type(problem)
    name = f"{kind.__module__}.{kind.__qualname__}".removeprefix("builtins.")
    if kind.__name__ in _SPEAK_OF_CODE:
        return f"{name}: {str(problem).partition(_LINE_END)[0]}"
    if isinstance(problem, OSError) and problem.strerror:
        return f"{name}: {problem.strerror}"
    return name

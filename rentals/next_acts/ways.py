"""What an answer of the tables is made of: a button with where it leads, and what is next."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Argument(StrEnum):
    """What the address of a page is made with."""

    NOTHING = "nothing"
    KIT = "kit"
    LOAN = "loan"
    OVERDUE_MAIL = "loan of an overdue mail"
    DUE_SOON_MAIL = "loan of a mail before it is due"
    RUN = "run"
    NAME_OF_RUN = "name of a run"
    ROSTER = "roster"
    SHORTFALL = "shortfall"
    REPLACEMENT = "replacement"
    MESSAGE = "message"
    PART = "part"
    ITEM = "item"
    FOUND = "found"
    FAULT = "fault"


@dataclass(frozen=True)
class Way:
    """A button: its words, the name of the page it leads to, what that page's address needs."""

    act: str
    route: str
    argument: Argument


@dataclass(frozen=True)
class NextAct:
    """What is next with one thing.

    `here` is the act on the thing's own page, None where nothing is to be done; `reason` says why
    then. `there` leads from a list, a scan or the day's work to the page where it is done.
    """

    here: Way | None
    there: Way
    reason: str = ""

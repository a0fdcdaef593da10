"""Numbers, codes and names of one copy."""

from __future__ import annotations

from datetime import timedelta
from hashlib import blake2b
from itertools import product

from kitdesk.demo import scenario
from rentals.codes import KIT, PART, grouped, make_code
from rentals.models import CourseRun, Kit, Loan, Part, Student

from .played import Played
from .tables import Table

#: Loans of one run, and days that later groups of copies lie further back.
LOANS_OF_A_RUN = 300
DAYS_BETWEEN = 3
_PEOPLE = (*scenario.SUMMER_STUDENTS, *scenario.WINTER_STUDENTS, *scenario.SPRING_STUDENTS)
_FIRST = [name.partition(" ")[0] for name, *_ in _PEOPLE]
_LAST = [name.partition(" ")[2] for name, *_ in _PEOPLE]
#: Every first name with every last one.
NAMES = [f"{first} {last}" for last, first in product(_LAST, _FIRST)]


class CopyNumbers:
    """Copy `number` (the played practice is 0) of a practice drawn from `seed`. Copies of a group
    share their runs.
    """

    def __init__(self, played: Played, number: int, seed: int) -> None:
        self.played, self.number, self.seed = played, number, seed
        kits = len(played.tables[Kit].rows)
        in_group = max(1, LOANS_OF_A_RUN // kits)
        self.group = number // in_group
        self.begins_group = self.group > 0 and number % in_group == 0
        self.later = timedelta(days=-DAYS_BETWEEN * (self.group % 20))
        self._added: dict[Table, int] = {}
        self.words = self._words()

    def added(self, root: Table) -> int:
        """What is added to the numbers of the rows of a table without a parent."""
        if root not in self._added:
            times = self.group if root is CourseRun else self.number
            self._added[root] = times * self.played.tables[root].highest
        return self._added[root]

    def drawn(self, *about: object, size: int = 16) -> str:
        """Hexadecimal text, another for each copy and thing, the same for each seed."""
        words = f"{self.seed}|{self.number}|{about}"
        return blake2b(words.encode(), digest_size=size).hexdigest()

    def _words(self) -> dict[str, str]:
        words: dict[str, str] = {}
        for table, prefix in ((Kit, KIT), (Part, PART)):
            for pk, code in self.played.rows_of(table, "id", "code"):
                new = make_code(prefix, int(str(pk)) + self.added(table))
                words |= {str(code): new, grouped(str(code)): grouped(new)}
        for (serial,) in self.played.rows_of(Part, "serial"):
            words[str(serial)] = self._serial(str(serial))
        words |= self._students()
        for (name,) in self.played.rows_of(CourseRun, "name"):
            start, _, count = str(name).rpartition(" ")
            words[str(name)] = f"{start} {int(count) + self.added(CourseRun):03d}"
        for pk, number in self.played.rows_of(Loan, "id", "tracking_number"):
            if number:
                words[str(number)] = f"QB{int(str(pk)) + self.added(Loan):09d}"
        return words

    def _students(self) -> dict[str, str]:
        words: dict[str, str] = {}
        shift = int(self.drawn("names"), 16)
        for place, (name, email) in enumerate(self.played.rows_of(Student, "name", "email")):
            user, _, domain = str(email).partition("@")
            start, count = user.rstrip("0123456789"), int(user.lstrip("abcdefghijklmnopqrstuvwxyz"))
            words[str(email)] = f"{start}{count + self.added(Student):04d}@{domain}"
            words[str(name)] = NAMES[(place + shift) % len(NAMES)]
        return words

    def _serial(self, serial: str) -> str:
        start, _, count = serial.partition("-")
        return f"{start}-{int(count) + self.number * self.played.tables[Part].highest:04d}"

"""What a scan means: a code, a tracking number, a serial or a name becomes the page for the next
step.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any, overload

from django.db.models import QuerySet
from django.urls import reverse

from rentals.addresses import page_address
from rentals.codes import kind_of, parse_code
from rentals.counts import counted
from rentals.dates import short_date
from rentals.known_query import KnownRows
from rentals.models import OPEN_STAGES, CourseRun, Kit, Loan, Part, Student
from rentals.selectors.next_steps import scan_address
from rentals.selectors.search import (
    loans_by_tracking,
    may_be_printed,
    parts_with_serial,
    runs_found,
    students_found,
)

LONGEST_SCAN = 200
May = Callable[[str], bool]
"""Whether somebody may open the page at an address."""


def _anything(address: str) -> bool:
    return True


@dataclass(frozen=True)
class Match:
    """One thing the text may mean."""

    url: str
    what: str
    detail: str = ""
    code: str = ""

    @property
    def page(self) -> str:
        """Address of the kit or part that the code belongs to."""
        kind = "kit" if kind_of(self.code) == "kit" else "part"
        return page_address(f"rentals:{kind}", self.code)


@dataclass(frozen=True)
class Pile:
    """Rows of one kind that the text fits, and how a page of them becomes matches. Who may not
    open the list of that kind finds none of it.
    """

    listed: str
    rows: QuerySet[Any]
    matches_of: Callable[[list[Any]], Iterable[Match]]


class PiledMatches(Sequence[Match]):
    """The matches of several piles, one behind the other, of which only what is shown is read."""

    def __init__(self, may: May, *piles: Pile) -> None:
        self._may = may
        theirs = [pile for pile in piles if may(reverse(pile.listed))]
        counts = [(pile, pile.rows.count()) for pile in theirs]
        self._piles = [(pile, count) for pile, count in counts if count]

    def __len__(self) -> int:
        return sum(count for _, count in self._piles)

    @overload
    def __getitem__(self, place: int) -> Match: ...
    @overload
    def __getitem__(self, place: slice) -> list[Match]: ...
    def __getitem__(self, place: int | slice) -> Match | list[Match]:
        if isinstance(place, slice):
            start, stop, _ = place.indices(len(self))
            return self._between(start, stop)
        if not 0 <= place < len(self):
            raise IndexError(place)
        return self._between(place, place + 1)[0]

    def _between(self, start: int, stop: int) -> list[Match]:
        matches: list[Match] = []
        for pile, count in self._piles:
            rows = list(pile.rows[max(start, 0) : max(stop, 0)])
            matches.extend(_open_to(self._may, match) for match in pile.matches_of(rows))
            start, stop = start - count, stop - count
        return matches


@dataclass(frozen=True)
class Understood:
    """All that was understood, and the sentence that says so; one match is gone to at once."""

    sentence: str
    matches: Sequence[Match] = ()


def understand(text: str, may: May = _anything) -> Understood:
    """What the text of a scan box means to somebody who may open some pages. Codes first
    (checked, never guessed), then tracking numbers and serials as they are printed, then students
    and runs by any part of their name.
    """
    text = " ".join(text.replace("\x00", "").split())[:LONGEST_SCAN]
    if not text:
        return Understood("Nothing was scanned.")
    try:
        code = parse_code(text)
    except ValueError as unreadable:
        refused = str(unreadable)
    else:
        return _of_code(code, may)
    matches = PiledMatches(may)
    if may_be_printed(text):
        matches = PiledMatches(may, _by_tracking(text), _by_serial(text))
    if not matches:
        matches = PiledMatches(may, _by_student(text), _by_run(text))
    if not matches:
        nowhere = (
            f"“{text}” is no tracking number or serial of this desk and stands in no name of a"
            " student or run."
        )
        # A plain word was never meant as a code.
        as_code = any(letter.isdigit() for letter in text)
        return Understood(f"{nowhere} As a code: {refused}" if as_code else nowhere)
    if len(matches) == 1:
        # Read here, once: its page is gone to next.
        match = matches[0]
        return Understood(f"“{text}”: {match.what}.", (match,))
    return Understood(f"“{text}” fits {counted(len(matches), 'entry', 'entries')}.", matches)


def _open_to(may: May, match: Match) -> Match:
    """A kit whose next step is another's leads to its own page."""
    return match if may(match.url) or not match.code else replace(match, url=match.page)


def _of_code(code: str, may: May) -> Understood:
    kit = Kit.objects.filter(code=code).first()
    if kit is not None:
        word = kit.get_state_display()
        match = _open_to(may, Match(scan_address(kit), f"Kit {code}", word, code))
        return Understood(f"Kit {code}, {word}.", (match,))
    part = Part.objects.filter(code=code).select_related("kit").first()
    if part is not None:
        where = f"in kit {part.kit.code}" if part.kit else part.get_place_display()
        what = f"{part.get_kind_display()} {code}"
        return Understood(f"{what}, {where}.", (Match(part.get_absolute_url(), what, where, code),))
    return Understood(f"{code} is a valid code, but nothing at this desk carries it.")


def _by_tracking(text: str) -> Pile:
    return Pile(
        "rentals:kits",
        loans_by_tracking(text).select_related("kit", "enrolment__student").order_by("-pk"),
        lambda page: map(_of_parcel, page),
    )


def _of_parcel(loan: Loan) -> Match:
    return Match(
        scan_address(loan.kit) if loan.is_open else loan.get_absolute_url(),
        f"parcel of kit {loan.kit.code}, {loan.enrolment.student.name}",
        loan.get_stage_display(),
        loan.kit.code,
    )


def _by_serial(text: str) -> Pile:
    parts = parts_with_serial(text).select_related("kit").order_by("pk")
    return Pile("rentals:parts", parts, lambda page: map(_of_part, page))


def _of_part(part: Part) -> Match:
    return Match(
        part.get_absolute_url(),
        f"{part.get_kind_display()} {part.code}",
        f"in kit {part.kit.code}" if part.kit else part.get_place_display(),
        part.code,
    )


def _by_student(text: str) -> Pile:
    students = students_found(text).only("name").order_by("name", "pk")
    return Pile("rentals:students", students, _of_students)


def _of_students(students: list[Student]) -> list[Match]:
    """Each student with the kit they have now, if any."""
    loans = _OPEN_LOANS.rows([student.pk for student in students])
    # Of a faulty kit and the one that stands in for it, the later one counts.
    held = {loan.enrolment.student_id: loan for loan in loans}
    return [_of_student(student, held.get(student.pk)) for student in students]


def _open_loans() -> QuerySet[Loan]:
    loans = Loan.objects.filter(stage__in=OPEN_STAGES).select_related("kit", "enrolment")
    return loans.only("stage", "kit__code", "enrolment__student").order_by("assigned_at", "pk")


_OPEN_LOANS = KnownRows(_open_loans, by="enrolment__student")


def _of_student(student: Student, loan: Loan | None) -> Match:
    if loan is None:
        return Match(student.get_absolute_url(), student.name, "no kit at the moment")
    detail = f"kit {loan.kit.code}, {loan.get_stage_display()}"
    return Match(student.get_absolute_url(), student.name, detail, loan.kit.code)


def _by_run(text: str) -> Pile:
    runs = runs_found(text).order_by("-starts_on", "name")
    return Pile("rentals:runs", runs, lambda page: map(_of_run, page))


def _of_run(run: CourseRun) -> Match:
    days = f"{short_date(run.starts_on)} to {short_date(run.ends_on)}"
    return Match(run.get_absolute_url(), run.name, f"run, {days}")

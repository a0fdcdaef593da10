"""What the student's page shows of a loan: of this one alone, and of the student only the first
name.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.utils.translation import gettext

from rentals.catalogues import spoken_locale
from rentals.dates import weekday_date
from rentals.languages import known_locale
from rentals.models import Loan, PackingLine, Practice
from rentals.next_acts.student import StudentStep, student_step
from rentals.paper.addresses import address_lines
from rentals.planning.arrival import ArrivalStanding
from rentals.states import LoanStage

from .arrival import arrival_standing
from .paper_facts.practice import practice_facts


@dataclass(frozen=True)
class InnerBag:
    """One bag of the box in the order of packing; without a name what lies loose in the box."""

    name: str
    lines: list[PackingLine]


@dataclass(frozen=True)
class StudentKit:
    """The first page: what is next, the layout of the box, and what comes back of it."""

    first_name: str
    step: StudentStep
    sentence: str
    act: str
    route: str
    bags: list[InnerBag]
    arrival: ArrivalStanding
    check_open: bool


def first_name(name: str) -> str:
    """The name to greet by: the first word, or what follows the comma in ``Example, Ada``."""
    given = name.partition(",")[2] or name
    return next(iter(given.split()), "")


def student_kit(loan: Loan, practice: Practice, today: date) -> StudentKit:
    """All of that for a loan on a day, in the language that is spoken."""
    arrival = arrival_standing(loan, practice)
    step = step_of(loan, arrival, today)
    sentence, act, route = _next_words(step, loan)
    return StudentKit(
        first_name=first_name(loan.enrolment.student.name),
        step=step,
        sentence=sentence,
        act=act,
        route=route,
        bags=inner_bags(loan),
        arrival=arrival,
        check_open=arrival.is_open(today),
    )


def step_of(loan: Loan, arrival: ArrivalStanding, today: date) -> StudentStep:
    """How far the loan has come, seen from the student."""
    return student_step(
        LoanStage(loan.stage),
        loan.due_on,
        today,
        posted=loan.on_its_way_back,
        check_open=arrival.is_open(today) and arrival.times_sent == 0,
    )


def student_standing(loan: Loan, practice: Practice, today: date) -> StudentStep:
    """The same, with what was said of the arrival read from the rows."""
    return step_of(loan, arrival_standing(loan, practice), today)


def inner_bags(loan: Loan) -> list[InnerBag]:
    """The layout of the box, the first bag to be packed first; each bag once."""
    bags: dict[str, list[PackingLine]] = {}
    for line in loan.packing_lines.order_by("order", "pk"):
        bags.setdefault(line.inner_bag, []).append(line)
    return [InnerBag(name, lines) for name, lines in bags.items()]


def return_lines(loan: Loan) -> list[PackingLine]:
    """What comes back, in packing order."""
    return [line for bag in inner_bags(loan) for line in bag.lines if line.comes_back]


def return_address(loan: Loan, practice: Practice) -> list[str]:
    """Where the kit goes, as the lines of a label; nothing where the practice has no address."""
    facts = practice_facts(practice)
    if facts.address is None:
        return []
    from_country = str(loan.enrolment.student.country or facts.address.country)
    return address_lines(facts.address, from_country, spoken_locale())


def _next_words(step: StudentStep, loan: Loan) -> tuple[str, str, str]:
    """Sentence, button and the page it leads to; a step without a button has two empty texts."""
    due = {"day": weekday_date(loan.due_on, known_locale(spoken_locale()))}
    match step:
        case StudentStep.COMING:
            return gettext("Your kit is being packed. This is what you will get."), "", ""
        case StudentStep.CHECK:
            return (
                gettext("Has the parcel arrived? Please compare it with the list."),
                gettext("Check what has arrived"),
                "rentals:my_kit_arrival",
            )
        case StudentStep.USE:
            return (
                gettext("The kit is due back on %(day)s.") % due,
                gettext("How to use the kit"),
                "rentals:my_kit_use",
            )
        case StudentStep.SEND_BACK:
            return (
                gettext("Please post the kit so that it is back on %(day)s.") % due,
                gettext("Send the kit back"),
                "rentals:my_kit_return",
            )
        case StudentStep.OVERDUE:
            return (
                gettext("The kit was due back on %(day)s. Please post it now.") % due,
                gettext("Send the kit back"),
                "rentals:my_kit_return",
            )
        case StudentStep.POSTED:
            return gettext("Thank you: the kit is on its way back to us."), "", ""
    return gettext("The kit is back with us. Thank you for taking care of it."), "", ""

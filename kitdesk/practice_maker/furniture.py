"""What the played part of a practice stands on: house, stock for years, kits, spares, runs."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import product
from typing import Any

from kitdesk.demo import house, scenario
from kitdesk.demo.captures import TESTS
from kitdesk.owner import demo_owner
from readiness.actions.plan import change_plan
from rentals.actions.register import place_part
from rentals.actions.restock import restock, save_item
from rentals.actions.return_steps import take_starter_steps
from rentals.actions.runs import enrol, save_run, save_student
from rentals.models import (
    CourseRun,
    Enrolment,
    Kit,
    KitType,
    Part,
    StockItem,
    Student,
)
from rentals.states import PartEnd, PartPlace

from .clock import PracticeDays

#: Days from one run's first parcel to the next one's.
RUN_DAYS = 84
SPARES = 6


class Furniture:
    """The practice before its first loan: house and stock at once, the rest when called for."""

    def __init__(self, clock: PracticeDays, kits: int, loans: int, copies: int) -> None:
        self.clock, self.owner = clock, demo_owner()
        began = -RUN_DAYS * (loans + 1)
        self.began = clock.at(began)
        house.practice()
        items = self._stock(kits * loans * copies)
        self.kit_type = self._kit_type(items)
        self.kits: list[Kit] = []
        self.spares: dict[str, list[Part]] = {}
        self.students: list[Student] = []

    def bring_kits(self, kits: int) -> None:
        """Kits, and spares of every kind."""
        self.kits = house.kits(self.kit_type, kits, self.owner, self.began)
        self.spares = self._spares(kits)

    def bring_people(self, count: int) -> None:
        """So many students."""
        self.students = self._students(count)

    def _stock(self, loans: int) -> dict[str, StockItem]:
        """Enough for every loan, copies included; the batches outlast the last one."""
        items = {}
        for line in scenario.COUNTED_LINES:
            item = StockItem(name=line.name, kind=line.kind, by_batch=line.by_batch)
            item.reorder_point, item.shelf = line.reorder_at, line.shelf
            items[line.name] = save_item(item, actor=self.owner, at=self.began)
            pieces = (loans + 40) * (line.quantity + 1)
            batch: dict[str, Any] = {}
            if line.by_batch:
                lasts = self.clock.today + timedelta(days=900)
                batch = {"batch_number": f"{line.kind[:2].upper()}-0714", "expires_on": lasts}
            restock(item, pieces, actor=self.owner, at=self.began, **batch)
        return items

    def _kit_type(self, items: dict[str, StockItem]) -> KitType:
        kit_type = house.kit_type(items)
        take_starter_steps(kit_type)
        why = "We have built no second post yet."
        change_plan(kit_type, {"tests": list(TESTS)}, reason=why, actor=self.owner, at=self.began)
        return kit_type

    def _spares(self, kits: int) -> dict[str, list[Part]]:
        """Sound spares by kind, beside some that are out of use for every reason there is."""
        spares: dict[str, list[Part]] = {}
        for kind, *_ in scenario.SERIAL_LINES:
            numbers = range(kits + 10, kits + 10 + SPARES)
            spares[kind] = [house.part(kind, n, self.owner, self.began) for n in numbers]
        for cause, part in zip(PartEnd.values, spares["charger"], strict=False):
            place = PartPlace.LOST if cause == PartEnd.LOST else PartPlace.RETIRED
            place_part(part, place, cause=cause, actor=self.owner, at=self.began)
        facts: dict[str, Any] = {
            "reason": "a socket is loose",
            "actor": self.owner,
            "at": self.began,
        }
        place_part(spares["amplifier"].pop(0), PartPlace.REPAIR, **facts)
        spares["charger"] = spares["charger"][len(PartEnd.values) :]
        return spares

    def _students(self, count: int) -> list[Student]:
        people = [*scenario.SUMMER_STUDENTS, *scenario.WINTER_STUDENTS, *scenario.SPRING_STUDENTS]
        firsts = [name.partition(" ")[0] for name, *_ in people]
        names = [f"{first} {row[0].partition(' ')[2]}" for row, first in product(people, firsts)]
        students = []
        for number in range(count):
            _, street, city, postcode, country = people[number % len(people)]
            student = Student(name=names[number % len(names)], street=street, city=city)
            student.postcode, student.country = postcode, country
            student.email = f"player{number:04d}@strings.example"
            student.on_file_since = self.began
            students.append(save_student(student))
        return students

    def enrolled(self, number: int, first: date) -> list[Enrolment]:
        """A run that starts on a day, with all the students."""
        run = CourseRun(name=f"Ease at the Instrument {number + 1:03d}", kit_type=self.kit_type)
        run.starts_on, run.ends_on = first, first + timedelta(days=70)
        run.post_by, run.return_by = first - timedelta(days=7), first + timedelta(days=77)
        run.deposit = scenario.price("80")
        save_run(run)
        return [enrol(run, student) for student in self.students]

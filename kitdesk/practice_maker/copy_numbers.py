"""Numbers, codes and names of one copy, and of each of its scenes."""

from __future__ import annotations

from datetime import timedelta
from hashlib import blake2b
from itertools import product

from kitdesk.demo import scenario
from rentals.codes import KIT, PART, grouped, make_code
from rentals.models import CourseRun, Kit, Loan, Part, Student
from rentals.planning.payment_code import loan_reference, reference_text

from .chapters import Chapter
from .played import Played
from .story import Scene, Story
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
    """Copy `number` of a practice drawn from `seed`. Copies of a group share their runs."""

    def __init__(self, played: Played, story: Story, number: int, seed: int) -> None:
        self.played, self.story, self.number, self.seed = played, story, number, seed
        kits = len(played.rows[story.scenes[0].chapter][Kit])
        in_group = max(1, LOANS_OF_A_RUN // kits)
        self.group = number // in_group
        self.begins_group = number % in_group == 0
        self.later = timedelta(days=-DAYS_BETWEEN * (self.group % 20))
        self._started = int(self.drawn("names"), 16)
        self.words = self._kits(story.scenes[0])

    def added(self, root: Table, place: int) -> int:
        """What is added to the numbers of a table in the scene at a place of the story."""
        scene, start = self.story.scenes[place], self.story.chapters.start[root]
        times = self.group if root is CourseRun else self.number
        before = start + times * self.story.size[root] + self.story.before[place][root]
        return before - scene.chapter.after[root]

    def shifts(self, place: int) -> list[int]:
        """For each table with numbers of its own, what is added to those of a scene: to its own, to
        those of kits, to those of its people.
        """
        people = self.story.scenes[place].people
        roots = self.story.chapters.roots
        return [self.added(root, of) for root in roots for of in (place, 0, people)]

    def drawn(self, *about: object, size: int = 16) -> str:
        """Hexadecimal text, another for each copy and thing, the same for each seed."""
        words = f"{self.seed}|{self.number}|{about}"
        return blake2b(words.encode(), digest_size=size).hexdigest()

    def words_of(self, place: int) -> dict[str, str]:
        """What stands in the texts of a scene in place of the played codes and names."""
        scene = self.story.scenes[place]
        return self.words | self._students(scene.people) | self._loans(scene.chapter, place)

    def _kits(self, scene: Scene) -> dict[str, str]:
        words: dict[str, str] = {}
        for table, prefix in ((Kit, KIT), (Part, PART)):
            added = self.added(table, 0)
            for pk, code in self.played.values(scene.chapter, table, "id", "code"):
                new = make_code(prefix, int(str(pk)) + added)
                words |= {str(code): new, grouped(str(code)): grouped(new)}
        for (serial,) in self.played.values(scene.chapter, Part, "serial"):
            start, _, count = str(serial).partition("-")
            number = int(count) + self.number * self.story.size[Part]
            words[str(serial)] = f"{start}-{number:04d}"
        return words

    def _students(self, place: int) -> dict[str, str]:
        words: dict[str, str] = {}
        chapter, added = self.story.scenes[place].chapter, self.added(Student, place)
        for pk, name, email in self.played.values(chapter, Student, "id", "name", "email"):
            user, _, domain = str(email).partition("@")
            number = int(str(pk)) + added
            words[str(email)] = f"{user.rstrip('0123456789')}{number:04d}@{domain}"
            words[str(name)] = NAMES[(number + self._started) % len(NAMES)]
        return words

    def _loans(self, chapter: Chapter, place: int) -> dict[str, str]:
        words: dict[str, str] = {}
        added = self.added(CourseRun, place)
        for pk, name in self.played.values(chapter, CourseRun, "id", "name"):
            start, _, _ = str(name).rpartition(" ")
            words[str(name)] = f"{start} {int(str(pk)) + added:03d}"
        added = self.added(Loan, place)
        for pk, number in self.played.values(chapter, Loan, "id", "tracking_number"):
            old, new = int(str(pk)), int(str(pk)) + added
            if number:
                words[str(number)] = f"QB{new:09d}"
            before, after = loan_reference(old), loan_reference(new)
            words |= {before: after, reference_text(before): reference_text(after)}
        return words

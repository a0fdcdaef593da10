"""How the life of one copy is told: played chapters in order, past runs as often as it takes."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from .chapters import Chapter, Chapters, Kind
from .furniture import RUN_DAYS
from .tables import Table

#: So many past runs are played at most; a longer past tells them over and over.
PLAYED_RUNS = 2
#: So many loans has a kit from one sitting at the bench to the next.
LOANS_OF_A_SITTING = 8
#: So many loans has a student in the course of time, nearly.
LOANS_OF_A_STUDENT = 3.33


def played_runs(loans: int) -> range:
    """Which past runs of a kit with so many loans are played: the last ones."""
    return range(max(0, loans - 1 - PLAYED_RUNS), loans - 1)


def sitting_kits(run: int, kits: int) -> list[int]:
    """Places of the kits that are tested before a run."""
    return [place for place in range(kits) if (run + place) % LOANS_OF_A_SITTING == 0]


def all_sitting_kits(kits: int, loans: int) -> list[int]:
    """Places of the kits that are ever tested before a run."""
    return sorted({place for run in range(loans - 1) for place in sitting_kits(run, kits)})


@dataclass(frozen=True)
class Scene:
    """A chapter told so many days later than it was played, with the students of an earlier
    scene (its place in the story).
    """

    chapter: Chapter
    days: int
    people: int


class Story:
    """The scenes of a copy; all copies have the same ones."""

    def __init__(self, chapters: Chapters, kits: int, loans: int) -> None:
        self.chapters = chapters
        cohorts = max(1, round(loans / LOANS_OF_A_STUDENT))
        self.scenes = [Scene(chapters.one(Kind.KITS), 0, 1)]
        people = chapters.one(Kind.PEOPLE)
        self.scenes += [Scene(people, 0, place) for place in range(1, cohorts + 1)]
        runs = played_runs(loans)
        for run in range(loans - 1):
            whom = 1 + run % cohorts
            for place in sitting_kits(run, kits):
                days = RUN_DAYS * (run - runs[0])
                self.scenes.append(Scene(chapters.one(Kind.SITTING, place), days, whom))
            like = runs[(run - runs[0]) % len(runs)]
            chapter = chapters.one(Kind.RUN, like)
            self.scenes.append(Scene(chapter, RUN_DAYS * (run - like), whom))
        self.scenes.append(Scene(chapters.one(Kind.ENDING), 0, 1 + (loans - 1) % cohorts))
        self.before, self.size = self._numbers()

    def _numbers(self) -> tuple[list[Mapping[Table, int]], Mapping[Table, int]]:
        """For each scene, how many numbers of each table come before it in its copy; and all."""
        before: list[Mapping[Table, int]] = []
        used: Counter[Table] = Counter()
        for scene in self.scenes:
            before.append(used.copy())
            for root in self.chapters.roots:
                used[root] += scene.chapter.size(root)
        return before, used

    def taken(self) -> Iterator[tuple[tuple[Table, int], int]]:
        """Pieces that a copy takes out of stock, scene by scene."""
        for scene in self.scenes:
            yield from scene.chapter.taken.items()

"""The guided round at hand: which tests it leads through, which of its files wait for a word, and
what is proposed for them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Q, QuerySet
from django.utils import timezone
from django.utils.dateparse import parse_datetime

from readiness.intake.owners import silent_question
from readiness.intake.proposing import Proposal, UnnamedFile, fits, propose
from readiness.models import Capture, GuidedRound, TurnedAway
from readiness.models.guided import OPEN_FOR
from readiness.selectors.kits import KitBench, TestLine, kit_bench
from readiness.selectors.next_steps import NextStep, asks_column
from readiness.states import CaptureStatus, VerdictWord
from rentals.models import Kit

MOST_FILES = 50
LONGEST_NUMBER = 18
IN_WORK = (CaptureStatus.WAITING, CaptureStatus.SCORING)
NEED_A_NAME = ("kit test", "kit", "test")


def round_at_hand(moment: datetime) -> GuidedRound | None:
    """The round begun last before a moment, by anybody, and open then."""
    rounds = GuidedRound.objects.filter(
        begun_at__lte=moment, begun_at__gt=moment - OPEN_FOR, ended_at=None
    )
    return rounds.select_related("kit", "begun_by").order_by("-begun_at", "-pk").first()


def open_round(kit: Kit, at: datetime | None = None) -> GuidedRound | None:
    """The open round of a kit; None where none is open, or where it has run out."""
    at = at or timezone.now()
    # One that began ahead of now did so before the clock was set back.
    begun = (at - OPEN_FOR, at + OPEN_FOR)
    return kit.guided_rounds.filter(ended_at=None, begun_at__range=begun).first()


def tests_to_lead(bench: KitBench) -> list[TestLine]:
    """The tests of the plan that have no fit capture in the round of now; all of them where every
    one has.
    """
    return [line for line in bench.tests if line.verdict != VerdictWord.FIT] or bench.tests


@dataclass(frozen=True)
class GuidedPage:
    """What the page of a guided round shows. ``plan`` names the tests of the kit's plan, ``tests``
    are those the round leads through; ``asking``, ``unreadable`` and ``turned_away`` are files that
    no proposal is made for, ``in_work`` counts those that are being read.
    """

    bench: KitBench
    open: GuidedRound | None
    tests: list[TestLine]
    proposals: list[Proposal]
    remark: str
    asking: list[Capture]
    columns: list[Capture]
    unreadable: list[Capture]
    turned_away: list[TurnedAway]
    in_work: int

    @property
    def plan(self) -> list[str]:
        """Names of the tests of the plan."""
        return [line.kind.name for line in self.bench.tests]

    @property
    def names(self) -> list[str]:
        """Names of the tests that the round leads through."""
        return [line.kind.name for line in self.tests]

    @property
    def next(self) -> NextStep | None:
        """What to do when the round has come to a verdict; None while it goes on."""
        return self.bench.next if self.bench.verdict and not self.proposals else None

    @property
    def asks_again(self) -> str:
        """How often the page looks for what is new, empty where nothing will come by itself."""
        if self.in_work:
            return "every 2s"
        expects_files = self.open and not self.is_completed_by(_tests_of(self.proposals))
        return "every 5s" if expects_files else ""

    def is_completed_by(self, chosen: Mapping[int, str]) -> bool:
        """Whether with these files every test that the round leads through has one."""
        return set(self.names) <= set(chosen.values())


def _tests_of(proposals: list[Proposal]) -> dict[int, str]:
    return {proposal.file.key: proposal.test for proposal in proposals}


def guided_page(kit: Kit, drop: str = "") -> GuidedPage:
    """Everything for the page of a kit's round; `drop` is the number of the drop whose files were
    just sent, as the address says it.
    """
    bench = kit_bench(kit)
    tests = tests_to_lead(bench)
    names = [line.kind.name for line in tests]
    waiting = waiting_files(kit)
    expected = _expected(waiting, names, [line.kind.name for line in bench.tests])
    proposals = proposals_of(kit, waiting, expected)
    silent = {capture.pk for capture in waiting}
    others = [c for c in _asking(kit) if c.pk not in silent]
    upload = int(drop) if drop.isdecimal() and len(drop) < LONGEST_NUMBER else 0
    return GuidedPage(
        bench=bench,
        open=open_round(kit),
        tests=tests,
        proposals=proposals,
        remark=fits(proposals, expected) if proposals else "",
        asking=[c for c in others if c.missing and not asks_column(c)],
        columns=[c for c in others if asks_column(c)],
        unreadable=_unreadable(kit, upload),
        turned_away=list(TurnedAway.objects.filter(upload=upload).select_related("same_as")),
        in_work=files_of_round(kit).filter(status__in=IN_WORK).count(),
    )


def _expected(waiting: list[Capture], lacking: list[str], plan: list[str]) -> list[str]:
    """The tests that files are expected of: those that lack, or, where there is a file for each
    test of the plan, all of it: somebody recorded everything anew.
    """
    return plan if len(waiting) == len(plan) else lacking


def _asking(kit: Kit) -> list[Capture]:
    asking = files_of_round(kit).filter(status=CaptureStatus.ASKING)
    return list(asking.order_by("pk")[: 2 * MOST_FILES])


def _unreadable(kit: Kit, upload: int) -> list[Capture]:
    """Files that cannot be read: of this drop, and of what came since the round was begun."""
    began = open_round(kit)
    recent = Q(upload=upload)
    if began is not None:
        recent |= Q(upload__at__gte=began.begun_at)
    unreadable = files_of_round(kit).filter(recent, status=CaptureStatus.UNREADABLE)
    return list(unreadable.order_by("-pk")[:MOST_FILES])


def files_of_round(kit: Kit) -> QuerySet[Capture]:
    """Files that came with a guided round of a kit and are not scored."""
    came = Capture.objects.filter(declared__round_kit=kit.code, set_aside="")
    return came.exclude(status=CaptureStatus.SCORED).select_related("kit", "upload")


def waiting_files(kit: Kit) -> list[Capture]:
    """Those that name neither their kit nor their test, or only one of them: what a proposal is
    made for. At most ``MOST_FILES``, the first that came.
    """
    asking = files_of_round(kit).filter(status=CaptureStatus.ASKING, missing__in=NEED_A_NAME)
    silent = [capture for capture in asking.order_by("pk") if is_silent(capture, kit)]
    return silent[:MOST_FILES]


def is_silent(capture: Capture, kit: Kit) -> bool:
    """Whether a capture of a kit's round only lacks a name, and says nothing against that kit."""
    if capture.refusal != silent_question(capture.missing).sentence:
        return False
    return "kit" in capture.missing.split() or capture.kit_id == kit.pk


def proposals_of(kit: Kit, waiting: list[Capture], tests: list[str]) -> list[Proposal]:
    """What is proposed for the files that wait."""
    begun = kit.guided_rounds.order_by("-begun_at").first()
    files = [
        UnnamedFile(capture.pk, capture.name, capture.test, moment_of(capture))
        for capture in waiting
    ]
    return propose(files, tests, begun.begun_at if begun else None)


def moment_of(capture: Capture) -> datetime | None:
    """When a capture was recorded, as the file says, else when it was saved; None where neither is
    known.
    """
    if capture.taken_known:
        return capture.taken
    saved_at = capture.declared.get("saved_at")
    return parse_datetime(saved_at) if saved_at else None

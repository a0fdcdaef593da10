"""The demo's story, told by the real actions at the times they would have happened, scored by the
real engine.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path
from typing import Protocol

from django.conf import settings
from django.contrib.auth.models import User
from django.core.files.base import ContentFile
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from kitdesk.demo import guide, house, scenario
from kitdesk.demo.captures import TESTS, CaptureOrder, make_all
from kitdesk.owner import demo_owner
from readiness.actions.plan import change_plan
from readiness.actions.score import score_one
from readiness.actions.upload import store_upload
from readiness.models import Capture, Verdict
from readiness.signal.simulator.captures import Fault
from readiness.states import VerdictWord
from rentals import transaction
from rentals.actions.arrival_check import send_arrival_check
from rentals.actions.assign import assign
from rentals.actions.deposit import receive_deposit
from rentals.actions.dispatch import dispatch
from rentals.actions.issue import hold
from rentals.actions.mail_setup import add_usual_rules
from rentals.actions.note_sent import note_sent
from rentals.actions.pack import pack, tick
from rentals.actions.packing_list import draw_up
from rentals.actions.receive import arrive, finish_check, note_line, write_off
from rentals.actions.remind import remind
from rentals.actions.runs import withdraw
from rentals.actions.settle import charge, chase, settle, waive
from rentals.counts import counted
from rentals.dates import month_and_year
from rentals.models import Enrolment, Event, Kit, KitType, Loan, Message, Student
from rentals.planning.arrival import Arrived
from rentals.verify import verify

KITS = 24
# : Kits with a known fault, by their number: a lead B that opens when bent, an amplifier that
# hisses.
INTERMITTENT, NOISY = 8, 9
WEAK_PACK = 21
BROKEN_LEAD_B = {"flex": (Fault("intermittent_lead", 0.06, "B", count=4),)}
BROKEN_LEAD_A = {"flex": (Fault("intermittent_lead", 0.05, "A", count=3),)}
HISS = {test: (Fault("excess_noise", 2.4),) for test in TESTS}


class Out(Protocol):
    """Where the story is told."""

    def write(self, msg: str) -> object: ...


@dataclass(frozen=True)
class Sitting:
    """A kit on the bench on one day: the tests done, and what is wrong with it."""

    kit: int
    day: int
    tests: tuple[str, ...] = TESTS
    faults: Mapping[str, tuple[Fault, ...]] = field(default_factory=dict)
    volts: float = 2.86
    edf: bool = False


SITTINGS = [
    *(Sitting(kit, -240, ("still",)) for kit in range(1, 15)),
    *(Sitting(kit, -112) for kit in range(1, 15)),
    *(Sitting(kit, -20, edf=kit == 16) for kit in range(15, 21)),
    *(Sitting(kit, -13) for kit in range(1, 8)),
    Sitting(INTERMITTENT, -13, faults=BROKEN_LEAD_B),
    Sitting(NOISY, -13, faults=HISS),
    Sitting(WEAK_PACK, -6, volts=2.405),
]
#: Files left in a folder to be dropped on the Bench page: a sound kit, and one whose lead A opens.
TO_TRY = [Sitting(22, -1, edf=True), Sitting(23, -1, faults=BROKEN_LEAD_A)]


class Desk:
    """The clock, the owner, the kits and the capture files while the story is told."""

    def __init__(self) -> None:
        self.owner: User = demo_owner()
        self.now = timezone.now()
        self.today = timezone.localdate(self.now)
        self.kits: list[Kit] = []
        self.files: dict[tuple[int, int, str], tuple[str, bytes]] = {}

    def at(self, days: int, hour: float = 10.0) -> datetime:
        """A moment so many days from today, local time; none that is still to come. An act that is
        dated ahead looks like one of a clock that was set back since.
        """
        midnight = datetime.combine(self.today + timedelta(days=days), datetime.min.time())
        return min(timezone.make_aware(midnight) + timedelta(hours=hour), self.now)

    def kit(self, number: int) -> Kit:
        """A kit by its number, fresh from the database."""
        return Kit.objects.get(pk=self.kits[number - 1].pk)

    def record(self, sittings: list[Sitting]) -> None:
        """Make the capture files of all sittings."""
        orders, keys = [], []
        for sitting in sittings:
            for order, test in enumerate(sitting.tests):
                keys.append((sitting.kit, sitting.day, test))
                orders.append(
                    CaptureOrder(
                        kit=self.kits[sitting.kit - 1].code,
                        test=test,
                        taken=self.at(sitting.day, 9)
                        + timedelta(minutes=8 * (sitting.kit % 12) + order),
                        seed=10_000 * sitting.kit - 10 * sitting.day + order,
                        # Each amplifier has its own noise, and rises a little with age.
                        noise_nv=28.0 + 1.5 * (sitting.kit % 7) + 0.01 * (240 + sitting.day),
                        volts=sitting.volts,
                        faults=sitting.faults.get(test, ()),
                        edf=sitting.edf,
                    )
                )
        for key, capture_order, data in zip(keys, orders, make_all(orders), strict=True):
            self.files[key] = (capture_order.name, data)

    def setup(self, sitting: Sitting) -> None:
        """Upload the files of a sitting and score them."""
        named_files = [self.files[sitting.kit, sitting.day, test] for test in sitting.tests]
        files = [ContentFile(data, name=name) for name, data in named_files]
        at = self.at(sitting.day, 12)
        upload = store_upload(files, actor=self.owner, at=at)
        for pk in upload.captures.order_by("pk").values_list("pk", flat=True):
            score_one(pk, at=at, actor=self.owner)


def load_demo(out: Out) -> None:
    """Load the whole demo into an empty desk. The same every time but for the dates, which count
    from today.
    """
    desk = Desk()
    with transaction.atomic():
        type_ = _furnish(desk)
    out.write(f"Built {KITS} kits; recording their captures on simulated benches.")
    desk.record(SITTINGS + TO_TRY)
    with transaction.atomic():
        _tell(desk, type_)
    # The story scored its captures itself, in their order: nothing is left for the workers to do.
    DBTaskResult.objects.all().delete()
    faults = verify()
    if faults:
        raise RuntimeError("The demo's history does not fit: " + " ".join(faults[:3]))
    folder = _leave_files(desk)
    _say_what_there_is(out, folder)


def _furnish(desk: Desk) -> KitType:
    house.practice()
    items = house.stock(desk.owner, desk.at(-262), desk.today)
    type_ = house.kit_type(items)
    reason = "We have built no second post yet."
    change_plan(type_, {"tests": list(TESTS)}, reason=reason, actor=desk.owner, at=desk.at(-260))
    desk.kits = house.kits(type_, KITS, desk.owner, desk.at(-260))
    return type_


def _tell(desk: Desk, type_: KitType) -> None:
    for sitting in SITTINGS:
        if sitting.day <= -112:
            desk.setup(sitting)
    autumn = house.run(
        type_, _run_name(desk, -95), desk.today - timedelta(days=95), scenario.SUMMER_STUDENTS
    )
    for number, enrolment in enumerate(autumn, 1):
        _send(desk, desk.kit(number), enrolment, -103)
    _bring_back(desk)
    for sitting in SITTINGS:
        if sitting.day > -112:
            desk.setup(sitting)
    hold(
        desk.kit(NOISY),
        reason="Amplifier too noisy: to be repaired",
        actor=desk.owner,
        at=desk.at(-12),
    )
    winter = house.run(
        type_,
        _run_name(desk, 9),
        desk.today + timedelta(days=9),
        scenario.WINTER_STUDENTS,
        works_out_days=True,
    )
    _start_winter(desk, winter)
    # Far enough away that nothing is packed for it, and near enough to ask whom to chase.
    house.run(type_, _run_name(desk, 45), desk.today + timedelta(days=45), scenario.SPRING_STUDENTS)
    add_usual_rules()
    remind(now=desk.at(0, 7))


def _mailed(desk: Desk, loan: Loan, at: datetime) -> None:
    """The mails drafted for a loan went out at the time, from another program."""
    for message in loan.messages.filter(state=Message.State.DRAFT):
        note_sent(
            message, how="Sent from the practice's own mail program.", actor=desk.owner, at=at
        )


def _run_name(desk: Desk, days: int) -> str:
    return f"Ease at the Instrument, {month_and_year(desk.today + timedelta(days=days))}"


def _packed(desk: Desk, kit: Kit, at: datetime) -> Loan:
    for line in draw_up(kit).packing_lines.all():
        tick(line, at=at)
    return pack(kit, actor=desk.owner, at=at)


def _send(desk: Desk, kit: Kit, enrolment: Enrolment, day: int) -> Loan:
    asked = assign(kit, enrolment, actor=desk.owner, at=desk.at(day, 8))
    receive_deposit(asked, way="transfer", actor=desk.owner, at=desk.at(day, 9))
    loan = _packed(desk, kit, desk.at(day, 11))
    _mailed(desk, loan, desk.at(day, 12))
    number = f"QB{loan.pk:04d}{kit.pk:03d}"
    return dispatch(
        kit, tracking_number=number, carrier="parcel post", actor=desk.owner, at=desk.at(day, 16)
    )


def _bring_back(desk: Desk) -> None:
    """Returns of the autumn run: most complete, some not, two overdue, one lost."""
    guide.hum_solved(Loan.objects.get(kit=desk.kit(12)), desk.at(-60))
    for number in range(1, 11):
        _return(desk, number, -22 + number // 2)
    arrive(desk.kit(11), actor=desk.owner, at=desk.at(0, 7.5))
    lost = write_off(
        desk.kit(14),
        reason="The carrier lost the parcel",
        actor=desk.owner,
        at=desk.at(-5),
    )
    for short in lost.shortfalls.all():
        waive(short, reason="the carrier paid for it", actor=desk.owner, at=desk.at(-4))


def _return(desk: Desk, number: int, day: int) -> None:
    kit = desk.kit(number)
    check = arrive(kit, actor=desk.owner, at=desk.at(day, 9))
    for line in check.lines.select_related("packing_line"):
        kind = line.packing_line.part_kind
        if not line.packing_line.comes_back:
            continue
        if number == 10 and kind == "licence_key":
            note_line(line, "missing", note="not in the parcel")
        elif number == 10 and kind == "lead_set":
            note_line(line, "damaged", damaged_lead="B", note="kinked at the housing")
        elif number == 5 and kind == "band":
            note_line(line, "back", quantity_back=1, cleaned=True)
        else:
            note_line(line, "back", cleaned=True, charged=True)
    loan = finish_check(check, actor=desk.owner, at=desk.at(day, 10))
    for short in loan.shortfalls.select_related("packing_line"):
        if number == 5:
            charge(
                short, short.amount, reason="agreed by phone", actor=desk.owner, at=desk.at(day + 2)
            )
        elif short.packing_line.part_kind == "licence_key":
            chase(short, actor=desk.owner, at=desk.at(day + 1))
    if number <= 6:
        settle(loan, actor=desk.owner, at=desk.at(day + 3))
        _mailed(desk, loan, desk.at(day + 3, 11))


def _start_winter(desk: Desk, winter: list[Enrolment]) -> None:
    """The next run: two kits under way, two packed, more to pack, one that the bench refused."""
    people = iter(winter)
    for number in (1, 15):
        sent = _send(desk, desk.kit(number), next(people), -2)
    guide.jumps_reported(sent, desk.at(0, 6.5))
    _miss_a_piece(desk, sent)
    for number in (2, 3):
        kit = desk.kit(number)
        assign(kit, next(people), actor=desk.owner, at=desk.at(-2, 8))
        _packed(desk, kit, desk.at(-1, 15))
    for number in (4, 5, 6, 16, 17, INTERMITTENT):
        assign(desk.kit(number), next(people), actor=desk.owner, at=desk.at(-2, 9))
    leaver = winter[-1]
    assign(desk.kit(18), leaver, actor=desk.owner, at=desk.at(-2, 9))
    withdraw(leaver, on=desk.today - timedelta(days=1), actor=desk.owner, at=desk.at(-1, 9))


def _miss_a_piece(desk: Desk, loan: Loan) -> None:
    """A student has checked the parcel: all is there but one piece of one line."""
    lines = list(loan.packing_lines.all())
    arrived = {line.pk: Arrived() for line in lines}
    several = next(line for line in lines if line.quantity > 1 and line.comes_back)
    arrived[several.pk] = Arrived(missing=1, note="There was only one in the bag.")
    send_arrival_check(loan, arrived, at=desk.at(0, 6.7))


def _leave_files(desk: Desk) -> Path:
    """Captures to try the Bench page with, in a folder of the demo."""
    folder = Path(settings.VAR) / "try"
    folder.mkdir(parents=True, exist_ok=True)
    for sitting in TO_TRY:
        for test in sitting.tests:
            name, data = desk.files[sitting.kit, sitting.day, test]
            (folder / name).write_bytes(data)
    return folder


def _say_what_there_is(out: Out, folder: Path) -> None:
    verdicts = Verdict.objects.filter(current=True)
    counts = ", ".join(f"{verdicts.filter(verdict=word).count()} {word}" for word in VerdictWord)
    house = (
        counted(Kit.objects.count(), "kit", "kits"),
        counted(Student.objects.count(), "student", "students"),
        counted(Loan.objects.count(), "loan", "loans"),
        counted(Event.objects.count(), "event", "events"),
    )
    captures = counted(Capture.objects.count(), "capture", "captures")
    out.write(f"{', '.join(house)}; every history verified.")
    out.write(f"{captures} scored: {counts}.")
    out.write(f"Captures to drop on the Bench page lie in {folder}")

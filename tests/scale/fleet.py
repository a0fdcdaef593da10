"""A fleet of any size, written straight into the tables: every kit with its parts, half of them on
a loan.
"""

from __future__ import annotations

from datetime import date, timedelta

from django.db import connection
from django.utils import timezone

from kitdesk.planner_counts import count_for_planner
from rentals.codes import make_code
from rentals.models import (
    CourseRun,
    Enrolment,
    Entry,
    Event,
    Kit,
    KitType,
    Loan,
    Message,
    PackingLine,
    Part,
    Shortfall,
    StockItem,
    Student,
)
from tests.factories import CourseRunFactory, KitTypeFactory

STATES = ("shelf", "bench", "assigned", "packed", "away", "check", "held", "away")
STAGES = {"assigned": "assigned", "packed": "packed", "away": "away", "check": "check"}
KINDS = ("amplifier", "licence_key", "lead_set", "battery_pack", "charger")


def grow(to: int) -> None:
    """Make the fleet `to` kits large, with as many students, events and mails as belong to it."""
    have = Kit.objects.count()
    kit_type = KitType.objects.first() or KitTypeFactory()
    run = CourseRun.objects.first() or CourseRunFactory(kit_type=kit_type)
    numbers = range(have + 1, to + 1)
    kits = Kit.objects.bulk_create([_kit(number, kit_type) for number in numbers])
    Part.objects.bulk_create(_part(kit, order) for kit in kits for order in range(len(KINDS)))
    students = Student.objects.bulk_create(
        Student(name=f"Student {number}", email=f"s{number}@strings.example", city="Rosinburg")
        for number in numbers
    )
    enrolments = Enrolment.objects.bulk_create(
        Enrolment(run=run, student=student) for student in students
    )
    pairs = [
        (kit, enrolment)
        for kit, enrolment in zip(kits, enrolments, strict=True)
        if kit.state in STAGES
    ]
    loans = Loan.objects.bulk_create(_loan(kit, enrolment) for kit, enrolment in pairs)
    lines = PackingLine.objects.bulk_create(
        PackingLine(loan=loan, order=0, part_kind="amplifier", name="Amplifier") for loan in loans
    )
    now = timezone.now()
    Shortfall.objects.bulk_create(
        Shortfall(loan=line.loan, packing_line=line, kind="missing", opened_at=now)
        for line in lines
        if line.loan.stage == "check"
    )
    Event.objects.bulk_create(
        Event(
            chain=kit.code,
            number=1,
            at=now,
            verb="registered",
            text="Registered.",
            kit=kit,
            hash="0" * 64,
        )
        for kit in kits
    )
    Entry.objects.bulk_create(_asked(loan) for loan in loans)
    Message.objects.bulk_create(_mail(loan) for loan in loans)
    StockItem.objects.bulk_create(
        StockItem(name=f"Bands {n}", kind="band", on_hand=1) for n in numbers
    )
    # Till then the database knows nothing of so many rows.
    count_for_planner()
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            # As it does by itself after a while.
            cursor.execute("ANALYZE")


def _kit(number: int, kit_type: KitType) -> Kit:
    state = STATES[number % len(STATES)]
    held = state == "held"
    return Kit(
        code=make_code("K", 100_000 + number),
        kit_type=kit_type,
        state=state,
        cleared=state in ("shelf", "assigned", "packed", "away"),
        held_from="bench" if held else "",
        hold_reason="smells" if held else "",
    )


def _part(kit: Kit, order: int) -> Part:
    code = make_code("P", 100_000 + kit.pk * len(KINDS) + order)
    return Part(code=code, kind=KINDS[order], serial=f"S{kit.pk}-{order}", kit=kit, place="fitted")


def _loan(kit: Kit, enrolment: Enrolment) -> Loan:
    now, stage = timezone.now(), STAGES[kit.state]
    beyond = stage != "assigned"
    return Loan(
        kit=kit,
        enrolment=enrolment,
        stage=stage,
        post_by=date.today() - timedelta(days=30),
        due_on=date.today() - timedelta(days=kit.pk % 9),
        assigned_at=now,
        packed_at=now if beyond else None,
        cleared_at_packing=now if beyond else None,
        dispatched_at=now if stage in ("away", "check") else None,
        arrived_at=now if stage == "check" else None,
    )


def _asked(loan: Loan) -> Entry:
    return Entry(
        loan=loan,
        kind="deposit_asked",
        debit="student",
        credit="deposits",
        amount=80,
        currency="EUR",
        day=date.today(),
        at=timezone.now(),
    )


def _mail(loan: Loan) -> Message:
    return Message(
        occasion="overdue",
        loan=loan,
        to_address="s@strings.example",
        subject=f"Loan {loan.pk}",
        body_text="Please send it back.",
        message_id=f"<{loan.pk}@desk.example>",
        drafted_at=timezone.now(),
    )

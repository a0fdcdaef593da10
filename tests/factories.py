"""Rows for tests: fixed sequences, no chance. Kits are built by the real actions, or by what
these write, so that their events are true.
"""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import factory
from django.contrib.auth.models import User
from django.utils import timezone

from readiness.models import BenchPlan
from rentals import transaction
from rentals.actions.assign import assign
from rentals.actions.deposit import receive_deposit
from rentals.actions.issue import clear
from rentals.actions.pack import pack
from rentals.actions.record import record_kit
from rentals.actions.register import register_kit, register_part
from rentals.lifecycle import Verb
from rentals.models import (
    ContentsLine,
    CourseRun,
    ElectrodeBatch,
    Enrolment,
    Kit,
    KitType,
    Loan,
    Part,
    PartKind,
    StockItem,
    Student,
)
from rentals.selectors.contents import NEVER_TESTED
from tests.replayed import replayed

PLAN_OF_THREE = ("still", "flex", "lift")


class DeskFactory(factory.django.DjangoModelFactory):
    """Rows of which the log knows, as if an act had written them."""

    class Meta:
        abstract = True

    @classmethod
    @transaction.atomic
    def _generate(cls, strategy, params):
        return super()._generate(strategy, params)


class UserFactory(DeskFactory):
    """A colleague at the desk without the owner's rights."""

    class Meta:
        model = User

    username = factory.Sequence(lambda n: f"colleague{n:05d}")


class StockItemFactory(DeskFactory):
    """Counted stock, plenty of it."""

    class Meta:
        model = StockItem

    name = factory.Sequence(lambda n: f"Wrist bands {n:05d}")
    kind = PartKind.BAND
    on_hand = 500
    reorder_point = 10
    shelf = "B2"


class ElectrodeBatchFactory(DeskFactory):
    """A batch of pre-gelled electrodes that lasts a year."""

    class Meta:
        model = ElectrodeBatch

    item = factory.SubFactory(
        StockItemFactory,
        name=factory.Sequence(lambda n: f"Gel electrodes {n:05d}"),
        kind=PartKind.ELECTRODES,
        by_batch=True,
        on_hand=0,
    )
    batch_number = factory.Sequence(lambda n: f"G{n:04d}")
    expires_on = factory.LazyFunction(lambda: date.today() + timedelta(days=365))
    on_hand = 5000


class KitTypeFactory(DeskFactory):
    """A kit type with the usual contents: five serial parts, electrodes that are used up, bands and
    a box.
    """

    class Meta:
        model = KitType
        skip_postgeneration_save = True

    name = factory.Sequence(lambda n: f"Two-lead kit {n:05d}")

    @factory.post_generation
    def contents(self, create: bool, extracted: bool | None, **kwargs: object) -> None:
        if not create or extracted is False:
            return
        serial = [
            (PartKind.AMPLIFIER, "Amplifier", 180, "240.00", "instrument bag"),
            (PartKind.LICENCE_KEY, "Licence key", 12, "90.00", "small bag"),
            (PartKind.LEAD_SET, "Lead set", 60, "45.00", "lead bag"),
            (PartKind.BATTERY_PACK, "Battery pack", 30, "18.00", "instrument bag"),
            (PartKind.CHARGER, "Charger", 90, "22.00", "instrument bag"),
        ]
        for order, (kind, name, mass, price, bag) in enumerate(serial):
            ContentsLine.objects.create(
                kit_type=self,
                order=order,
                part_kind=kind,
                name=name,
                tracked_by="serial",
                replacement_price=Decimal(price),
                mass_g=mass,
                inner_bag=bag,
            )
        ContentsLine.objects.create(
            kit_type=self,
            order=5,
            part_kind=PartKind.ELECTRODES,
            name="Gel electrodes",
            quantity=24,
            stock_item=ElectrodeBatchFactory().item,
            comes_back=False,
            single_use=True,
            mass_g=2,
            inner_bag="small bag",
        )
        ContentsLine.objects.create(
            kit_type=self,
            order=6,
            part_kind=PartKind.BAND,
            name="Wrist band",
            quantity=2,
            stock_item=StockItemFactory(),
            cleaned_between_users=True,
            replacement_price=Decimal("3.00"),
            mass_g=15,
            inner_bag="small bag",
        )
        ContentsLine.objects.create(
            kit_type=self,
            order=7,
            part_kind=PartKind.BOX,
            name="Shipping box",
            stock_item=StockItemFactory(name=f"Boxes for {self.name}", kind=PartKind.BOX),
            replacement_price=Decimal("6.00"),
            mass_g=210,
        )


class CourseRunFactory(DeskFactory):
    """A run that starts in two weeks."""

    class Meta:
        model = CourseRun

    name = factory.Sequence(lambda n: f"Ease at the Instrument, run {n:05d}")
    kit_type = factory.SubFactory(KitTypeFactory)
    starts_on = factory.LazyFunction(lambda: date.today() + timedelta(days=14))
    ends_on = factory.LazyAttribute(lambda run: run.starts_on + timedelta(days=70))
    post_by = factory.LazyAttribute(lambda run: run.starts_on - timedelta(days=7))
    return_by = factory.LazyAttribute(lambda run: run.ends_on + timedelta(days=7))
    deposit = Decimal("80.00")


class StudentFactory(DeskFactory):
    """A student with a full address."""

    class Meta:
        model = Student

    name = factory.Sequence(lambda n: f"Viola Tester {n:05d}")
    email = factory.Sequence(lambda n: f"student{n:05d}@strings.example")
    street = factory.Sequence(lambda n: f"Bow Lane {n + 1}")
    city = "Rosinburg"
    postcode = "12345"
    country = "DE"


class EnrolmentFactory(DeskFactory):
    """A student on a run."""

    class Meta:
        model = Enrolment

    run = factory.SubFactory(CourseRunFactory)
    student = factory.SubFactory(StudentFactory)


def spare(kind: str, serial: str = "", **facts: object):
    """A registered spare part; the serial counts up by itself."""
    spare.number = getattr(spare, "number", 0) + 1
    return register_part(kind, serial or f"S{spare.number:05d}", **facts)


@replayed
@transaction.atomic
def complete_kit(kit_type: KitType | None = None, *, cleared: bool = True) -> Kit:
    """A registered kit with all its serial parts fitted, cleared unless asked otherwise."""
    kit_type = kit_type or KitTypeFactory()
    # A bench without the second post: a new kit type asks for it, and most tests need no more
    # than three captures a kit.
    BenchPlan.objects.get_or_create(kit_type=kit_type, defaults={"tests": [*PLAN_OF_THREE]})
    kit = register_kit(kit_type)
    serial = kit_type.lines.filter(tracked_by="serial")
    _fit_all(kit, [spare(line.part_kind) for line in serial for _ in range(line.quantity)])
    if cleared:
        clear(kit, why="all required tests fit")
    kit.refresh_from_db()
    return kit


def _fit_all(kit: Kit, parts: list[Part]) -> None:
    """What `fit_part` writes for each of them, without what it asks first: most tests begin with a
    complete kit, and it is half of their time.
    """
    Part.objects.filter(pk__in=[part.pk for part in parts]).update(kit=kit, place=Part.Place.FITTED)
    for part in parts:
        text = f"{part.get_kind_display()} {part.code} fitted (serial {part.serial})."
        record_kit(kit, Verb.FITTED, text, part=part)
    kit.not_cleared_reason = NEVER_TESTED
    kit.save(update_fields=["not_cleared_reason"])


@replayed
@transaction.atomic
def assigned_loan(kit: Kit | None = None, enrolment: Enrolment | None = None) -> Loan:
    """A cleared kit assigned to a student of a run of its type, who has paid the deposit."""
    kit = kit or complete_kit()
    enrolment = enrolment or EnrolmentFactory(run__kit_type=kit.kit_type)
    loan = assign(kit, enrolment)
    return receive_deposit(loan, way="transfer") if loan.deposit else loan


@replayed
@transaction.atomic
def packed_loan(kit: Kit | None = None, enrolment: Enrolment | None = None) -> Loan:
    """The same, every line ticked and packed."""
    loan = assigned_loan(kit, enrolment)
    loan.packing_lines.update(ticked_at=timezone.now())
    return pack(loan.kit)

"""A small desk on which acts happen at random, and what must hold after each of them."""

from __future__ import annotations

import random
from collections.abc import Callable
from datetime import timedelta
from decimal import Decimal

from django.db.models import Sum
from django.utils import timezone

from rentals import transaction
from rentals.accounts import Account
from rentals.actions import (
    runs,
)
from rentals.errors import Refused
from rentals.models import (
    ContentsLine,
    ElectrodeBatch,
    Enrolment,
    FoundPart,
    Loan,
    PackingLine,
    Part,
    PartKind,
    ReturnLine,
    Shortfall,
    StockItem,
    Student,
)
from rentals.planning.ledger import balance as account_balance
from rentals.selectors.ledger import loan_lines, loan_sums
from rentals.verify import verify
from tests.factories import (
    CourseRunFactory,
    ElectrodeBatchFactory,
    KitTypeFactory,
    StockItemFactory,
    complete_kit,
    spare,
)
from tests.rentals.traces import traces

Act = Callable[["RandomDesk"], object]
Draw = Callable[["RandomDesk"], Act]
SERIALS = (PartKind.AMPLIFIER, PartKind.LEAD_SET, PartKind.CHARGER)
AWAY_FROM_STOCK = ("packed", "away", "check", "returned", "settled", "lost")


@transaction.atomic
def small_desk() -> None:
    """Two kits of three parts, counted stock, three spares and a run: what every sequence begins
    with.
    """
    kit_type = KitTypeFactory(contents=False)
    batch = ElectrodeBatchFactory(on_hand=100)
    for order, kind in enumerate(SERIALS):
        price = {"replacement_price": Decimal(20 + order), "tracked_by": "serial"}
        ContentsLine.objects.create(
            kit_type=kit_type, order=order, part_kind=kind, name=str(kind), **price
        )
    once = {"comes_back": False, "single_use": True, "stock_item": batch.item, "quantity": 4}
    ContentsLine.objects.create(
        kit_type=kit_type, order=5, part_kind="electrodes", name="Electrodes", **once
    )
    bands = {"stock_item": StockItemFactory(on_hand=9), "replacement_price": Decimal("3.33")}
    ContentsLine.objects.create(
        kit_type=kit_type, order=6, part_kind="band", name="Band", quantity=2, **bands
    )
    for _ in range(2):
        complete_kit(kit_type)
    for kind in SERIALS:
        spare(kind)
    CourseRunFactory(kit_type=kit_type, deposit=Decimal(25))


class RandomDesk:
    """One sequence: it draws acts from a seed, carries them out and looks after each."""

    def __init__(self, seed: int, draw: Draw) -> None:
        self.chance, self.draw = random.Random(seed), draw
        self.now = timezone.now()
        self.log: list[str] = []
        self.erased: list[tuple[str, ...]] = []
        self.parts = Part.objects.count()
        self.bought: dict[int, int] = {}
        self.at_first = _on_hand()
        self.students = 0
        run = Enrolment._meta.get_field("run").related_model.objects.get()
        self.run = run
        for _ in range(2):
            self.enrol()

    # What can be drawn -------------------------------------------------------

    def some(self, rows):
        """One of the rows, or none."""
        found = list(rows.order_by("pk"))
        return self.chance.choice(found) if found else None

    def words(self) -> str:
        """A note that names a student on file, as people write it."""
        student = self.some(Student.objects.filter(erased_at=None))
        return f"{student.name} rang, {student.phone}" if student else "Nobody rang"

    def step(self) -> None:
        """One act, refused or not."""
        act = self.draw(self)
        try:
            act(self)
        except Refused as refusal:
            self.log.append(f"{act.__name__}: {refusal}")
        else:
            self.log.append(act.__name__)
        self.now += timedelta(hours=self.chance.randint(1, 40))

    def enrol(self) -> None:
        """A new student with words found nowhere else."""
        self.students += 1
        mark = f"{self.chance.randrange(10**8):08d}"
        student = Student(
            name=f"Quill{mark} Zarvik{mark}",
            email=f"q{mark}@wolken.example",
            phone=f"+49 170 {mark}",
            street=f"Wolkenpfad {mark}",
            country="DE",
        )
        runs.enrol_new(self.run, student)

    # What must hold ----------------------------------------------------------

    def faults(self, *, thorough: bool = False) -> list[str]:
        """What does not hold now."""
        found = [*verify(), *self._parts(), *self._stock(), *_money()]
        if thorough:
            words = [word for student in self.erased for word in student]
            found += [f"personal data in {place}" for place in traces(words)] if words else []
        return found

    def _parts(self) -> list[str]:
        faults = []
        if Part.objects.count() != self.parts:
            faults.append("a part is nowhere")
        for part in Part.objects.all():
            if (part.place == "fitted") != (part.kit_id is not None):
                faults.append(f"{part.code} is {part.place}, in kit {part.kit_id}")
        out = PackingLine.objects.filter(loan__stage__in=["packed", "away"], part__isnull=False)
        seen = set()
        for line in out.exclude(return_line__outcome="back").select_related("loan", "part"):
            if line.part_id in seen:
                faults.append(f"{line.part.code} is with two students")
            seen.add(line.part_id)
            elsewhere = FoundPart.objects.filter(part=line.part).exists()
            if line.part.kit_id != line.loan.kit_id and not elsewhere:
                faults.append(f"{line.part.code} is out with {line.loan_id} and not in its kit")
        return faults

    def _stock(self) -> list[str]:
        counted = PackingLine.objects.filter(stock_item__isnull=False)
        taken = _summed(counted.filter(loan__stage__in=AWAY_FROM_STOCK), "quantity")
        booked = ReturnLine.objects.filter(
            check_of__loan__stage__in=["returned", "settled", "lost"],
            packing_line__stock_item__isnull=False,
            packing_line__comes_back=True,
        )
        back = _summed(booked, "quantity_back", "packing_line__stock_item")
        recovered = Shortfall.objects.filter(state="recovered", packing_line__part=None)
        again = _summed(recovered, "quantity", "packing_line__stock_item")
        faults = []
        for item, here in _on_hand().items():
            first = self.at_first[item] + self.bought.get(item, 0)
            due = first - taken.get(item, 0) + back.get(item, 0) + again.get(item, 0)
            if here != due or here < 0:
                faults.append(f"stock {item}: {here} on hand, {due} by what went and came")
        return faults


def _summed(rows, column: str, item: str = "stock_item") -> dict[int, int]:
    return dict(rows.order_by().values_list(item).annotate(Sum(column)))


def _on_hand() -> dict[int, int]:
    of_batches = _summed(ElectrodeBatch.objects.all(), "on_hand", "item")
    return {item.pk: item.on_hand + of_batches.get(item.pk, 0) for item in StockItem.objects.all()}


def _money() -> list[str]:
    """Postings of each loan add up to nothing; its sums are what the accounts hold; what is charged
    is what is on file as charged.
    """
    faults = []
    for loan in Loan.objects.exclude(stage="cancelled"):
        lines, sums = loan_lines(loan), loan_sums(loan)
        if sum(account_balance(lines, account) for account in Account):
            faults.append(f"loan {loan.pk}: the ledger is out of balance")
        if loan.stage == "settled" and account_balance(lines, Account.DEPOSITS):
            faults.append(f"loan {loan.pk}: settled, and a deposit is still held")
        owed = account_balance(lines, Account.STUDENT)
        if loan.stage == "settled" and owed != sums.to_pay - sums.refund:
            faults.append(f"loan {loan.pk}: {owed} by its accounts, {sums}")
        charged = sum(short.amount for short in loan.shortfalls.filter(state="charged"))
        if (
            -account_balance(lines, Account.CHARGES) - sums.written_off < 0
            or sums.charged != charged
        ):
            faults.append(f"loan {loan.pk}: {charged} charged, {sums}")
    return faults

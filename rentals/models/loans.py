"""Loans: one kit for one enrolment, from assignment to settling, with the packing list and the
return check.
"""

from __future__ import annotations

from decimal import Decimal

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django_countries.fields import CountryField

from rentals.addresses import page_address
from rentals.counts import pieces
from rentals.marks import Mark, mark_of
from rentals.noted import NotedManager
from rentals.states import OPEN_STAGES, LoanStage, ReturnOutcome

from .kit_types import PartKind
from .kits import Kit
from .parts import Lead, Part
from .runs import Enrolment
from .search_words import Searched, SearchedManager
from .stock import ElectrodeBatch, StockItem

#: A loan whose student has not said that the kit is posted: see `Loan.on_its_way_back`.
NOT_ON_ITS_WAY_BACK = Q(sent_back_on__isnull=True, return_tracking_number="")


class Loan(Searched):
    """One kit lent for one enrolment. A rule says how a day was worked out; it is empty for a day
    that somebody entered.
    """

    kit = models.ForeignKey(Kit, on_delete=models.PROTECT, related_name="loans")
    enrolment = models.ForeignKey(Enrolment, on_delete=models.PROTECT, related_name="loans")
    stage = models.CharField(
        max_length=10,
        choices=LoanStage.choices,
        default=LoanStage.ASSIGNED,
    )
    post_by = models.DateField()
    post_by_rule = models.TextField(blank=True)
    due_on = models.DateField()
    due_on_rule = models.TextField(blank=True)
    assigned_at = models.DateTimeField()
    packed_at = models.DateTimeField(null=True, blank=True)
    dispatched_at = models.DateTimeField(null=True, blank=True)
    arrived_at = models.DateTimeField(null=True, blank=True)
    closed_at = models.DateTimeField(null=True, blank=True)
    cleared_at_packing = models.DateTimeField(null=True, blank=True)
    override_reason = models.CharField(max_length=500, blank=True)
    overridden_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    short_dated_reason = models.CharField(
        max_length=500, blank=True, help_text="Why stock that expires during the loan may go out."
    )
    carrier = models.CharField(max_length=60, blank=True)
    tracking_number = models.CharField(max_length=60, blank=True)
    sent_back_on = models.DateField(
        null=True, blank=True, help_text="The student has posted it; reminders keep quiet."
    )
    return_tracking_number = models.CharField(max_length=60, blank=True)
    parcel_mass_g = models.PositiveIntegerField(null=True, blank=True)
    deposit = models.DecimalField(max_digits=9, decimal_places=3, default=Decimal(0))
    packing_list_hash = models.CharField(max_length=64, blank=True)
    replaces = models.ForeignKey(
        "self",
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="successors",
        help_text="The loan of the same enrolment whose faulty kit this one stands in for.",
    )
    fault = models.CharField(
        max_length=300,
        blank=True,
        help_text="What is wrong with the kit, where another one is sent in its place.",
    )

    objects = SearchedManager()
    found_by, word_of = frozenset({"tracking_number", "return_tracking_number"}), "loan"
    joined = True

    class Meta:
        ordering = ["-assigned_at", "-pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["kit"], condition=Q(stage__in=OPEN_STAGES), name="kit_on_one_open_loan"
            ),
            models.UniqueConstraint(
                fields=["enrolment"],
                condition=Q(stage__in=OPEN_STAGES, fault=""),
                name="enrolment_has_one_open_loan",
            ),
            models.UniqueConstraint(
                fields=["replaces"],
                condition=~Q(stage=LoanStage.CANCELLED),
                name="loan_is_replaced_once",
            ),
            models.CheckConstraint(
                condition=~Q(replaces=F("id")), name="loan_does_not_replace_itself"
            ),
            models.CheckConstraint(
                condition=Q(fault="") | Q(dispatched_at__isnull=False),
                name="loan_faulty_only_once_it_went_out",
            ),
            models.CheckConstraint(
                condition=Q(due_on__gte=F("post_by")), name="loan_due_after_posting"
            ),
            models.CheckConstraint(
                condition=Q(arrived_at__isnull=True) | Q(arrived_at__gte=F("dispatched_at")),
                name="loan_ends_after_it_starts",
            ),
            models.CheckConstraint(
                condition=Q(stage__in=[LoanStage.ASSIGNED, LoanStage.CANCELLED])
                | Q(cleared_at_packing__isnull=False)
                | ~Q(override_reason=""),
                name="loan_issued_only_when_cleared_or_overridden",
            ),
            models.CheckConstraint(
                condition=Q(stage__in=[LoanStage.ASSIGNED, LoanStage.CANCELLED])
                | Q(packed_at__isnull=False),
                name="loan_beyond_packing_was_packed",
            ),
        ]
        indexes = [
            models.Index(fields=["stage", "due_on"]),
        ]

    def __str__(self) -> str:
        return f"{self.kit.code} to {self.enrolment.student.name}"

    def get_absolute_url(self) -> str:
        return page_address("rentals:loan", self.pk)

    @property
    def mark(self) -> Mark:
        """How its stage is shown."""
        return mark_of(LoanStage(self.stage))

    @property
    def is_open(self) -> bool:
        return self.stage in OPEN_STAGES

    @property
    def on_its_way_back(self) -> bool:
        """Whether the student has posted the kit: by the day or the tracking number on file."""
        return self.sent_back_on is not None or self.return_tracking_number != ""


class PackingLine(models.Model):
    """One line of what goes out: drawn up when packing begins, frozen when the kit is packed."""

    loan = models.ForeignKey(Loan, on_delete=models.CASCADE, related_name="packing_lines")
    order = models.PositiveSmallIntegerField()
    inner_bag = models.CharField(max_length=60, blank=True)
    part_kind = models.CharField(max_length=20, choices=PartKind.choices)
    name = models.CharField(max_length=80)
    quantity = models.PositiveSmallIntegerField(default=1)
    comes_back = models.BooleanField(default=True)
    single_use = models.BooleanField(default=False)
    cleaned_between_users = models.BooleanField(default=False)
    replacement_price = models.DecimalField(max_digits=9, decimal_places=3, default=Decimal(0))
    mass_g = models.PositiveIntegerField(default=0, help_text="Grams a piece.")
    days_beyond_due = models.PositiveSmallIntegerField(default=0)
    part = models.ForeignKey(
        Part, on_delete=models.PROTECT, null=True, blank=True, related_name="packing_lines"
    )
    part_code = models.CharField(max_length=12, blank=True)
    serial = models.CharField(max_length=60, blank=True)
    stock_item = models.ForeignKey(
        StockItem, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    batch = models.ForeignKey(
        ElectrodeBatch, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    batch_number = models.CharField(max_length=40, blank=True)
    expires_on = models.DateField(null=True, blank=True)
    origin = CountryField(blank=True)
    tariff_number = models.CharField(max_length=14, blank=True)
    ticked_at = models.DateTimeField(null=True, blank=True)
    sent_with = models.ForeignKey(
        "rentals.Replacement",
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="lines",
        help_text="Set where it was sent later, in place of a faulty line.",
    )

    objects = NotedManager()

    class Meta:
        ordering = ["loan", "order", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(quantity__gte=1), name="packing_quantity_at_least_one"
            ),
            models.CheckConstraint(
                condition=~Q(single_use=True, comes_back=True),
                name="packing_single_use_never_comes_back",
            ),
        ]

    def __str__(self) -> str:
        return pieces(self.quantity, self.name)

    @property
    def is_replaced(self) -> bool:
        """Whether something was sent in its place, so that it is faulty where it comes back."""
        return self.replacements.filter(cancelled_at__isnull=True).exists()


class ReturnCheck(models.Model):
    """The check of a parcel that came back, line by line against its packing list."""

    loan = models.OneToOneField(Loan, on_delete=models.CASCADE, related_name="return_check")
    started_at = models.DateTimeField()
    finished_at = models.DateTimeField(null=True, blank=True)
    note = models.TextField(blank=True)

    objects = NotedManager()

    def __str__(self) -> str:
        return f"Return check of {self.loan}"


class ReturnLine(models.Model):
    """What became of one packing line."""

    Outcome = ReturnOutcome

    check_of = models.ForeignKey(ReturnCheck, on_delete=models.CASCADE, related_name="lines")
    packing_line = models.OneToOneField(
        PackingLine, on_delete=models.CASCADE, related_name="return_line"
    )
    outcome = models.CharField(max_length=8, choices=Outcome.choices, default=Outcome.OPEN)
    quantity_back = models.PositiveSmallIntegerField(default=0)
    damaged_lead = models.CharField(max_length=6, choices=Lead.Role.choices, blank=True)
    cleaned = models.BooleanField(default=False)
    charged = models.BooleanField(default=False)
    note = models.CharField(max_length=300, blank=True)

    objects = NotedManager()

    class Meta:
        ordering = ["packing_line__order", "pk"]

    def __str__(self) -> str:
        return f"{self.packing_line.name}: {self.get_outcome_display()}"

    @property
    def mark(self) -> Mark:
        """How its outcome is shown."""
        return mark_of(ReturnOutcome(self.outcome))

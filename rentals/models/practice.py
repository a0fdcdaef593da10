"""The practice itself (who lends the kits) and the forms it has already handled."""

from __future__ import annotations

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from django_countries.fields import CountryField

from rentals.languages import USUAL_LANGUAGE
from rentals.noted import NotedManager

MOST_WORKING_DAYS = 60
MOST_MONTHS = 120


def _working_days(usual: int, help_text: str) -> models.PositiveSmallIntegerField:
    """A number of working days that the plan counts with."""
    return models.PositiveSmallIntegerField(
        default=usual, validators=[MaxValueValidator(MOST_WORKING_DAYS)], help_text=help_text
    )


def _months(usual: int, help_text: str) -> models.PositiveSmallIntegerField:
    """For how many months something about students is kept."""
    limits = [MinValueValidator(1), MaxValueValidator(MOST_MONTHS)]
    return models.PositiveSmallIntegerField(default=usual, validators=limits, help_text=help_text)


class Practice(models.Model):
    """Who lends the kits: one row, made when the practice is first saved."""

    name = models.CharField(max_length=120, default="Our practice")
    instructor = models.CharField(max_length=120, blank=True)
    email = models.EmailField(blank=True)
    phone = models.CharField(max_length=40, blank=True)
    street = models.CharField(max_length=200, blank=True)
    city = models.CharField(max_length=100, blank=True)
    postcode = models.CharField(max_length=20, blank=True)
    region = models.CharField(max_length=100, blank=True)
    country = CountryField(blank=True, blank_label="not given")
    currency = models.CharField(max_length=3, default="EUR")
    mail_language = models.CharField(
        max_length=12,
        default=USUAL_LANGUAGE,
        help_text="Where a student has none, or one without a wording.",
    )
    mains_hz = models.PositiveSmallIntegerField(default=50, choices=[(50, "50 Hz"), (60, "60 Hz")])
    paper = models.CharField(
        max_length=6, default="A4", choices=[("A4", "A4"), ("Letter", "US Letter")]
    )
    site_url = models.URLField(
        blank=True, help_text="Address that phones reach this desk under; printed in QR codes."
    )

    payment_instructions = models.TextField(
        blank=True,
        max_length=500,
        help_text="Bank and account, or another way. Printed where a student has still to pay.",
    )
    days_to_pay = models.PositiveSmallIntegerField(
        null=True,
        blank=True,
        default=14,
        validators=[MaxValueValidator(365)],
        help_text="Counted from the day a loan is settled. Left empty, no day is named.",
    )

    deposit_first = models.BooleanField(
        default=False,
        help_text="A parcel is not handed over before its deposit has come; else it is only said.",
    )
    account_name = models.CharField(
        max_length=70, blank=True, help_text="Whose account it is; left empty, the practice's name."
    )
    iban = models.CharField(
        max_length=34,
        blank=True,
        help_text="With it a statement in euros carries a code that banking apps read.",
    )
    bic = models.CharField(max_length=11, blank=True, help_text="Only where your bank asks for it.")
    charge_after_days = models.PositiveSmallIntegerField(
        null=True,
        blank=True,
        validators=[MaxValueValidator(365)],
        help_text=(
            "Counted from the day a shortfall was opened: it is then proposed for charging. Left"
            " empty, it is not."
        ),
    )

    days_to_spare = _working_days(1, "Between a parcel's last day to arrive and the run's start.")
    days_to_send = _working_days(2, "For a student to post the kit once the run has ended.")
    days_to_check = _working_days(1, "To open the parcel and check what came back.")
    days_to_clean = _working_days(0, "To clean what is cleaned between users.")
    days_to_charge = _working_days(1, "To charge the cells.")
    days_to_bench = _working_days(1, "To test the kit on the bench.")
    days_to_restock = _working_days(0, "To fill it up with electrodes and the like.")

    stock_service = models.PositiveSmallIntegerField(
        default=95,
        validators=[MinValueValidator(50), MaxValueValidator(99)],
        help_text="Percent of runs for which stock shall reach; more means more in reserve.",
    )

    months_to_keep_students = _months(
        24, "After their last loan is settled; then they are erased by themselves."
    )
    months_to_keep_photos = _months(6, "Photos of damage, after the loan is settled.")
    days_to_keep_drafts = models.PositiveSmallIntegerField(
        default=30,
        validators=[MinValueValidator(1), MaxValueValidator(365)],
        help_text="Rosters that were uploaded, taken over or not.",
    )

    opens_packing_list = models.BooleanField(
        default=False,
        help_text="As soon as a parcel is closed; else it is printed from the kit's page.",
    )
    mails_leave_at_once = models.BooleanField(
        default=False, help_text="Without anybody reading them first; else they wait as drafts."
    )

    arrival_days = models.PositiveSmallIntegerField(
        default=28,
        validators=[MaxValueValidator(365)],
        help_text="Counted from the day of posting. What is missing then is never charged.",
    )
    student_page_days = models.PositiveSmallIntegerField(
        default=30,
        validators=[MaxValueValidator(365)],
        help_text="A student's page opens so many days longer than the loan lasts.",
    )

    objects = NotedManager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(pk=1),
                name="one_practice",
                violation_error_message="A desk belongs to one practice.",
            )
        ]

    def __str__(self) -> str:
        return self.name

    @classmethod
    def current(cls) -> Practice:
        """The one row; before anybody has saved it, one with the defaults that is in no table."""
        return cls.objects.filter(pk=1).first() or cls(pk=1)


class SubmittedForm(models.Model):
    """The key of a form that was carried out, so that sending it again does nothing twice."""

    key = models.UUIDField(primary_key=True)
    act = models.CharField(max_length=40)
    result = models.CharField(max_length=300, blank=True)
    at = models.DateTimeField(auto_now_add=True)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )

    def __str__(self) -> str:
        return f"{self.act} {self.key}"

"""Course runs, students and enrolments."""

from __future__ import annotations

from decimal import Decimal

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.db.models.functions import Lower
from django.utils import timezone
from django_countries.fields import CountryField

from rentals.addresses import page_address

from .search_words import Searched, SearchedManager


class CourseRun(Searched):
    """One run of the course, with the day its parcels must be posted and the day kits are due
    back. A rule says how a day was worked out; it is empty for a day that somebody entered.
    """

    name = models.CharField(max_length=100, unique=True)
    kit_type = models.ForeignKey("rentals.KitType", on_delete=models.PROTECT, related_name="runs")
    starts_on = models.DateField()
    ends_on = models.DateField()
    post_by = models.DateField()
    post_by_rule = models.TextField(blank=True)
    return_by = models.DateField()
    return_by_rule = models.TextField(blank=True)
    deposit = models.DecimalField(max_digits=9, decimal_places=3, default=Decimal(0))
    sessions_per_week = models.PositiveSmallIntegerField(
        default=5, validators=[MinValueValidator(1), MaxValueValidator(50)]
    )
    minutes_per_session = models.PositiveSmallIntegerField(
        default=20, validators=[MinValueValidator(1), MaxValueValidator(600)]
    )
    note = models.TextField(blank=True)
    changed_at = models.DateTimeField(auto_now=True)

    objects = SearchedManager()
    found_by, word_of = frozenset({"name"}), "run"

    class Meta:
        ordering = ["-starts_on", "name"]
        indexes = [
            models.Index(fields=["-starts_on", "name"]),
            models.Index(fields=["-starts_on", "-id"]),
            models.Index(fields=["ends_on"]),
        ]
        constraints = [
            models.CheckConstraint(
                condition=Q(ends_on__gte=F("starts_on")),
                name="run_ends_after_it_starts",
                violation_error_message="The run ends before it starts. Check both days.",
            ),
            models.CheckConstraint(
                condition=Q(return_by__gte=F("post_by")),
                name="run_return_after_posting",
                violation_error_message=(
                    "Kits would be due back before they are posted. Check both days."
                ),
            ),
            models.CheckConstraint(
                condition=Q(deposit__gte=0),
                name="run_deposit_not_negative",
                violation_error_message="A deposit is 0 or more.",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return page_address("rentals:run", self.pk)


#: What a person writes down of a student.
STUDENT_FIELDS = (
    "name",
    "email",
    "phone",
    "street",
    "city",
    "postcode",
    "region",
    "country",
    "language",
    "note",
)


class Student(Searched):
    """Somebody who rents a kit. The e-mail address tells two students apart."""

    name = models.CharField(max_length=120)
    email = models.EmailField(max_length=254, unique=True)
    phone = models.CharField(max_length=40, blank=True)
    street = models.CharField(
        max_length=200, blank=True, help_text="Street and number; several lines are kept."
    )
    city = models.CharField(max_length=100, blank=True)
    postcode = models.CharField(max_length=20, blank=True)
    region = models.CharField(max_length=100, blank=True)
    country = CountryField(blank=True, blank_label="not given")
    language = models.CharField(
        max_length=12, blank=True, help_text="Mails are written in it where a wording is."
    )
    note = models.TextField(blank=True)
    on_file_since = models.DateTimeField(default=timezone.now, editable=False)
    erased_at = models.DateTimeField(null=True, blank=True, editable=False)

    objects = SearchedManager()
    found_by, word_of = frozenset({"name", "email", "city"}), "student"

    class Meta:
        ordering = ["name", "pk"]
        indexes = [
            models.Index(fields=["name", "id"]),
            models.Index(Lower("email"), name="student_by_email"),
        ]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return page_address("rentals:student", self.pk)


class Enrolment(models.Model):
    """A student on a run."""

    run = models.ForeignKey(CourseRun, on_delete=models.CASCADE, related_name="enrolments")
    student = models.ForeignKey(Student, on_delete=models.PROTECT, related_name="enrolments")
    withdrawn_on = models.DateField(null=True, blank=True)

    class Meta:
        ordering = ["run", "student__name", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["run", "student"], name="student_enrolled_once_per_run")
        ]

    def __str__(self) -> str:
        return f"{self.student.name}, {self.run.name}"

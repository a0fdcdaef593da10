"""What Setup says about mail: the wording per occasion, the rules for reminders, and the calendar's
private links.
"""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from rentals.counts import counted
from rentals.languages import USUAL_LANGUAGE, language_name

from .messages import Message


class MailWording(models.Model):
    """The practice's own wording for one occasion in one language, or one of the phrases that stand
    for a name (then without a subject); without a row the wording Kitdesk came with is used.
    """

    class Phrase(models.TextChoices):
        MISSING_PART = "missing_part", "a missing part"
        DAMAGED_PART = "damaged_part", "a damaged part"
        PART_SERIAL = "part_serial", "a part with its serial number"

    occasion = models.CharField(max_length=12, choices=[*Message.Occasion.choices, *Phrase.choices])
    language = models.CharField(max_length=12, default=USUAL_LANGUAGE)
    subject = models.CharField(max_length=150, blank=True)
    text = models.TextField(max_length=6000)
    drafted_by_itself = models.BooleanField(default=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["occasion", "language"],
                name="wording_once_per_language",
                violation_error_message="There is a wording in this language already.",
            )
        ]

    def __str__(self) -> str:
        return f"Wording of {self.get_occasion_display()}, {language_name(self.language)}"


class ReminderRule(models.Model):
    """When a student is reminded, counted from a day of the loan."""

    class Moment(models.TextChoices):
        BEFORE_DUE = "before_due", "before the kit is due back"
        AFTER_DUE = "after_due", "after the kit was due back"
        AFTER_DISPATCH = "after_dispatch", "after the kit was posted"
        BEFORE_RECHARGE = "recharge", "before the cells may run low"
        AFTER_SHORTFALL = "shortfall", "after something was found to be missing"

    days = models.PositiveSmallIntegerField()
    moment = models.CharField(max_length=14, choices=Moment.choices)
    working_days = models.BooleanField(default=False, help_text="Count working days only.")
    automatic = models.BooleanField(
        default=False, help_text="Send without anybody reading it first."
    )
    active = models.BooleanField(default=True)

    class Meta:
        ordering = ["moment", "days", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["moment", "days", "working_days"],
                name="reminder_rule_once",
                violation_error_message="There is a rule for this day already. Change that one.",
            ),
            models.CheckConstraint(
                condition=Q(days__lte=365),
                name="reminder_within_a_year",
                violation_error_message="Give a number of days from 0 to 365.",
            ),
        ]

    def __str__(self) -> str:
        if self.working_days:
            days = counted(self.days, "working day", "working days")
        else:
            days = counted(self.days, "day", "days")
        return f"{days} {self.get_moment_display()}"

    @property
    def occasion(self) -> str:
        """The mail that the rule drafts."""
        return {
            self.Moment.BEFORE_DUE.value: Message.Occasion.DUE_SOON.value,
            self.Moment.AFTER_DUE.value: Message.Occasion.OVERDUE.value,
            self.Moment.BEFORE_RECHARGE.value: Message.Occasion.RECHARGE.value,
            self.Moment.AFTER_DISPATCH.value: Message.Occasion.ARRIVED.value,
            self.Moment.AFTER_SHORTFALL.value: Message.Occasion.SHORTFALL.value,
        }[self.moment]

    @property
    def mail_name(self) -> str:
        """That mail's name in words."""
        return str(Message.Occasion(self.occasion).label)


class CalendarLink(models.Model):
    """A private address of the calendar feed; whoever has it can read the days, so it can be
    revoked. The address itself is kept nowhere: only what it is known again by.
    """

    name = models.CharField(max_length=60, help_text="For whom or for which calendar it is.")
    token_sha256 = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    revoked_at = models.DateTimeField(null=True, blank=True)
    read_at = models.DateTimeField(
        null=True, blank=True, help_text="Last day on which a calendar asked for it."
    )

    class Meta:
        ordering = [F("revoked_at").asc(nulls_first=True), "-made_at", "-pk"]

    def __str__(self) -> str:
        return self.name

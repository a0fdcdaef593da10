"""The test plan of a kit type: which tests a kit must pass, and against which limits."""

from __future__ import annotations

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import Q

from readiness.signal.catalogue import CATALOGUE, in_bench_order, usual_plan
from rentals.addresses import page_address
from rentals.models import KitType
from rentals.noted import NotedManager


def check_tests(names: object) -> None:
    """Refuse what is no list of bench tests.

    Raises
    ------
    ValidationError
        For an empty list, or one with a name the catalogue does not know.
    """
    if not isinstance(names, list) or not names:
        raise ValidationError("Choose at least one test.", code="no_test")
    unknown = [name for name in names if name not in CATALOGUE]
    if unknown:
        raise ValidationError(
            "There is no bench test %(names)s.",
            code="unknown_test",
            params={"names": ", ".join(map(str, unknown))},
        )


class BenchPlan(models.Model):
    """What the bench asks of every kit of a type. Each limit stands with the reason it has."""

    kit_type = models.OneToOneField(KitType, on_delete=models.CASCADE, related_name="bench_plan")
    tests = models.JSONField(
        default=usual_plan,
        validators=[check_tests],
        help_text="Names of the tests a kit must pass.",
    )
    noise_limit_uv = models.FloatField(
        "highest noise floor, µV RMS",
        default=2.0,
        help_text="Over 20 to 450 Hz; an amplifier's own limit goes first.",
    )
    noise_reason = models.CharField("why this noise limit", max_length=300, blank=True)
    battery_limit_v = models.FloatField(
        "lowest battery voltage under load, V",
        null=True,
        blank=True,
        help_text="Empty: by the chemistry and the number of cells of the pack in the kit.",
    )
    battery_reason = models.CharField("why this voltage", max_length=300, blank=True)
    high_pass_hz = models.FloatField(
        "the amplifier's high-pass, Hz",
        null=True,
        blank=True,
        help_text=(
            "0 for none, empty where it is not known. From 2 Hz on nothing may be left of a moved"
            " cable in flex: then the operator confirms that each lead was moved."
        ),
    )
    low_pass_hz = models.FloatField(
        "the amplifier's low-pass, Hz",
        null=True,
        blank=True,
        help_text=(
            "Empty where it is not known. Above it nothing is missed in a capture; without it a"
            " file that ends below 400 Hz counts as filtered by a program."
        ),
    )
    notch = models.BooleanField(
        "the amplifier takes the mains out (a notch)",
        null=True,
        blank=True,
        help_text=(
            "Then little hum on the second post proves no ground. If it has none, a file with a"
            " notch counts as filtered by a program."
        ),
    )
    column_maps = models.JSONField(default=list, blank=True)
    changed_at = models.DateTimeField(null=True, blank=True)

    objects = NotedManager()

    class Meta:
        ordering = ["kit_type"]
        constraints = [
            models.CheckConstraint(
                condition=~Q(tests=[]),
                name="plan_asks_for_a_test",
                violation_error_message="Choose at least one test.",
            ),
            models.CheckConstraint(
                condition=Q(noise_limit_uv__gt=0, noise_limit_uv__lte=1000),
                name="plan_noise_limit_can_be",
                violation_error_message="A noise limit lies above 0 and up to 1000 µV.",
            ),
            models.CheckConstraint(
                condition=Q(high_pass_hz__isnull=True)
                | Q(high_pass_hz__gte=0, high_pass_hz__lte=100),
                name="plan_high_pass_can_be",
                violation_error_message="A high-pass lies from 0 up to 100 Hz.",
            ),
            models.CheckConstraint(
                condition=Q(low_pass_hz__isnull=True)
                | Q(low_pass_hz__gte=100, low_pass_hz__lte=20000),
                name="plan_low_pass_can_be",
                violation_error_message="A low-pass lies from 100 up to 20,000 Hz.",
            ),
            models.CheckConstraint(
                condition=Q(battery_limit_v__isnull=True)
                | Q(battery_limit_v__gt=0, battery_limit_v__lte=15),
                name="plan_battery_limit_can_be",
                violation_error_message="A battery limit lies above 0 and up to 15 V.",
            ),
        ]

    def __str__(self) -> str:
        return f"Test plan of {self.kit_type}"

    def get_absolute_url(self) -> str:
        return page_address("readiness:plan", self.kit_type_id)

    @property
    def required(self) -> tuple[str, ...]:
        """The tests a kit must pass, in bench order."""
        return tuple(in_bench_order(self.tests))

    @classmethod
    def of(cls, kit_type: KitType) -> BenchPlan:
        """The plan of a kit type; where nobody has changed it yet, the usual one, not stored.

        Reading writes nothing: the row is made by the action that first changes the plan.
        """
        stored_plan = cls.objects.filter(kit_type=kit_type).first()
        return stored_plan or cls(kit_type=kit_type)

    @classmethod
    def preloaded(cls, kit_type: KitType) -> BenchPlan:
        """The same of a kit type that was looked up together with its plan, without a query."""
        stored_plan: BenchPlan | None = getattr(kit_type, "bench_plan", None)
        return stored_plan or cls(kit_type=kit_type)

"""Every text that the papers of a loan or a run print, to see which letters the fonts must have."""

from __future__ import annotations

from collections.abc import Iterator

from rentals.models import OPEN_STAGES, CourseRun, Loan

_ADDRESS = ("name", "street", "city", "region", "postcode")
_PACKED = ("name", "inner_bag", "serial", "batch_number")


def loan_texts(loan: Loan) -> Iterator[str]:
    """Every text of one loan that some paper prints: names, address, run, lines and reasons."""
    student, kit_type = loan.enrolment.student, loan.kit.kit_type
    yield from (getattr(student, field) for field in _ADDRESS)
    yield loan.enrolment.run.name
    yield from (kit_type.name, kit_type.instructions, loan.override_reason)
    for texts in loan.packing_lines.values_list(*_PACKED):
        yield from texts
    yield from loan.shortfalls.values_list("reason", flat=True)


def run_texts(run: CourseRun) -> Iterator[str]:
    """Names and addresses on a run's open loans, and the names of what is packed: two queries
    however many they are.
    """
    yield from (run.name, run.kit_type.name, run.kit_type.instructions)
    loans = Loan.objects.filter(enrolment__run=run, stage__in=OPEN_STAGES)
    for texts in loans.values_list(*(f"enrolment__student__{field}" for field in _ADDRESS)):
        yield from texts
    for texts in run.kit_type.lines.values_list("name", "inner_bag"):
        yield from texts

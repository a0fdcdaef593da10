"""The words by which a student can be known, read from all rows that hold them."""

from __future__ import annotations

from django.db.models import Q

from rentals.models import Loan, Message, Student
from rentals.privacy.sweeping import Person


def person_of(student: Student) -> Person:
    """All words of a student, for what belongs to this student alone."""
    return Person([*_of_the_student(student), *_of_the_loans(student)])


def person_alone(student: Student) -> Person:
    """The words that no other student on file shares, for what may belong to others: a family's
    phone and a namesake's name stay.
    """
    fields = ("name", "phone", "street")
    of_the_student = {field: str(getattr(student, field)) for field in fields}
    others = Student.objects.filter(erased_at=None).exclude(pk=student.pk)
    shared = {
        word
        for field, word in of_the_student.items()
        if word and others.filter(**{f"{field}__icontains": word}).exists()
    }
    words = {*_of_the_student(student), *_of_the_loans(student)}
    mails = {address for address in words if "@" in address}
    taken = others.filter(email__in=mails).values_list("email", flat=True)
    return Person(words - shared - set(taken))


def _of_the_student(student: Student) -> list[str]:
    streets = student.street.splitlines()
    return [student.name, student.email, student.phone, student.street, *streets]


def _of_the_loans(student: Student) -> list[str]:
    """Tracking numbers, and the names and addresses to which mails went, also those of before."""
    loans = Loan.objects.filter(enrolment__student=student)
    numbers = loans.values_list("tracking_number", "return_tracking_number")
    written = Message.objects.filter(Q(loan__enrolment__student=student))
    whom = written.values_list("to_name", "to_address").distinct()
    return [word for pair in (*numbers, *whom) for word in pair]

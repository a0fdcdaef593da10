"""The language that a student chooses for all that we show and send them."""

from __future__ import annotations

from datetime import datetime

from rentals import transaction
from rentals.catalogues import gettext, languages_at_hand
from rentals.errors import Refused
from rentals.languages import language_name
from rentals.lifecycle import Verb
from rentals.models import Loan, Student

from .record import lock_kit, record_kit
from .renew_mail import renew_loan


@transaction.atomic
def choose_student_language(loan: Loan, code: str, *, at: datetime | None = None) -> Student:
    """Keep the language that the student of a loan chose; mails that wait are written in it.

    Raises
    ------
    Refused
        If there is no catalogue of that language; said in the language that is spoken now.
    """
    if code not in languages_at_hand():
        raise Refused(
            gettext("There is no such language here. Choose one from the list."), field="language"
        )
    kit = lock_kit(loan.kit_id)
    students = Student.objects.select_for_update()
    student = students.get(pk=loan.enrolment.student_id)
    if student.language == code:
        return student
    student.language = code
    student.save(update_fields=["language"])
    text = f"The student chose {language_name(code)} as their language."
    record_kit(kit, Verb.NOTED, text, loan=loan, at=at)
    renew_loan(loan, at=at)
    return student

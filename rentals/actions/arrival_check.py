"""What a student says of a parcel that has arrived, and the desk's answer."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from django.utils import timezone

from rentals import transaction
from rentals.catalogues import gettext
from rentals.counts import pieces
from rentals.errors import Refused
from rentals.lifecycle import Verb
from rentals.models import ArrivalCheck, ArrivalLine, Loan, Message, PackingLine, Practice
from rentals.planning.arrival import Arrived
from rentals.planning.starter import in_students_words
from rentals.selectors.arrival import arrival_standing

from .discard import discard_unsent
from .record import Actor, lock_kit, record_kit

_LONGEST_TEXT = 600


@transaction.atomic
def send_arrival_check(
    loan: Loan, arrived: Mapping[int, Arrived], *, note: str = "", at: datetime | None = None
) -> ArrivalCheck:
    """Keep what the student says of every packing line, by its number; what was said before is
    replaced.

    Raises
    ------
    Refused
        If the check is not taken any more, a line is left out, or more is missing than went out;
        said in the language that is spoken now.
    """
    at = at or timezone.now()
    kit = lock_kit(loan.kit_id)
    loan = Loan.objects.select_for_update(no_key=True).get(pk=loan.pk)
    standing = arrival_standing(loan, Practice.current())
    if not standing.is_open(timezone.localdate(at)):
        raise Refused(gettext("The arrival check is closed. Please write to us instead."))
    lines = list(loan.packing_lines.all())
    for line in lines:
        _check_line(line, arrived.get(line.pk))
    check, _ = ArrivalCheck.objects.update_or_create(
        loan=loan,
        defaults={
            "sent_at": at,
            "times_sent": standing.times_sent + 1,
            "note": note.strip()[:_LONGEST_TEXT],
            "answered_at": None,
            "answer": "",
        },
    )
    check.lines.all().delete()
    ArrivalLine.objects.bulk_create(
        ArrivalLine(
            check_of=check,
            packing_line=line,
            missing=arrived[line.pk].missing,
            damaged=arrived[line.pk].damaged,
            note=arrived[line.pk].note.strip()[:300],
        )
        for line in lines
    )
    text = f"The student, on their page: {_in_words(lines, arrived)}"[:_LONGEST_TEXT]
    data = {"arrival": [[line.pk, *_counts(arrived[line.pk])] for line in lines]}
    record_kit(kit, Verb.NOTED, text, loan=loan, data=data, at=at)
    discard_unsent(
        loan, [Message.Occasion.ARRIVED], reason="The student has said what arrived.", at=at
    )
    return check


def _check_line(line: PackingLine, found: Arrived | None) -> None:
    if found is None:
        sentence = gettext("Say of %(part)s whether it is here.")
        raise Refused(sentence % {"part": in_students_words(line.name)}, field=f"line{line.pk}")
    if found.missing + found.damaged > line.quantity or min(_counts(found)) < 0:
        sentence = gettext("%(part)s: no more can lack than was sent.")
        raise Refused(sentence % {"part": in_students_words(line.name)}, field=f"line{line.pk}")


def _counts(arrived: Arrived) -> tuple[int, int]:
    return arrived.missing, arrived.damaged


def _in_words(lines: list[PackingLine], arrived: Mapping[int, Arrived]) -> str:
    """What lacks, in English for the desk's history."""
    missing = [
        pieces(arrived[line.pk].missing, line.name) for line in lines if arrived[line.pk].missing
    ]
    damaged = [
        pieces(arrived[line.pk].damaged, line.name) for line in lines if arrived[line.pk].damaged
    ]
    sentences = []
    if missing:
        sentences.append(f"missing on arrival: {', '.join(missing)}")
    if damaged:
        sentences.append(f"damaged on arrival: {', '.join(damaged)}")
    return f"{'; '.join(sentences) or 'everything on the list has arrived'}."


@transaction.atomic
def answer_arrival(
    loan: Loan, answer: str, *, actor: Actor = None, at: datetime | None = None
) -> ArrivalCheck:
    """What lacked on arrival was seen to. Another word replaces it.

    Raises
    ------
    Refused
        If the student said nothing, or it is not said what was done.
    """
    kit = lock_kit(loan.kit_id)
    check = ArrivalCheck.objects.select_for_update().filter(loan=loan).first()
    if check is None:
        raise Refused("The student has not said anything about the arrival.")
    if not answer.strip():
        raise Refused("Say what was done about it.", field="answer")
    check.answer, check.answered_at = answer.strip()[:300], at or timezone.now()
    check.save(update_fields=["answer", "answered_at"])
    text = f"Seen to what lacked on arrival: {check.answer}"
    record_kit(kit, Verb.NOTED, text, actor=actor, loan=loan, at=at)
    return check

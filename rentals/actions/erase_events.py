"""The words of events, when their student is erased: others in their place, and the salt gone."""

from __future__ import annotations

from collections.abc import Iterable

from django.db.models import Q

from rentals.models import Enrolment, Event, Student
from rentals.privacy.event_words import without_the_student
from rentals.privacy.sweeping import Person

from .erase_rows import may_hold
from .record import words_hash


def plain_words_of_loans(student: Student, person: Person) -> dict[str, str]:
    """Give the events of a student's loans words that name nobody. Returns, by the event's number,
    the hash of the words that stand there now: what `verify` asks for.
    """
    enrolments = list(Enrolment.objects.filter(student=student).values_list("pk", flat=True))
    own = Q(loan__enrolment__in=enrolments) | Q(data__enrolment__in=enrolments)
    events = Event.objects.filter(own).only("pk", "verb", "text")
    return _rewritten(
        (event, person.swept(without_the_student(event.verb, event.text))) for event in events
    )


def sweep_events(person: Person) -> dict[str, str]:
    """The same for every other event in which the person's words stand."""
    if not person:
        return {}
    events = Event.objects.filter(may_hold(person, Event, ["text"])).only("pk", "verb", "text")
    return _rewritten((event, person.swept(event.text)) for event in events)


def _rewritten(pairs: Iterable[tuple[Event, str]]) -> dict[str, str]:
    longest = Event._meta.get_field("text").max_length
    hashes = {}
    for event, text in pairs:
        if text == event.text:
            continue
        text = text[:longest]
        Event.objects.filter(pk=event.pk).update(text=text, words_salt="")
        hashes[str(event.pk)] = words_hash("", text)
    return hashes

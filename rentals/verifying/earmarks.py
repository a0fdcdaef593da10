"""Is what is set aside for students what the events say?"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress

from rentals.event_facts import DATA, OddFact, facts_said, flag_said, row_said
from rentals.lifecycle import Verb
from rentals.models import Earmark, Event
from rentals.plain_rows import plain_rows


def earmark_faults() -> Iterator[str]:
    """What is set aside for a student must be what the events say, in the order of writing."""
    verbs = [Verb.SET_ASIDE, Verb.LET_GO, Verb.ASSIGNED]
    events = Event.objects.filter(verb__in=verbs).order_by("pk")
    facts = events.values_list("verb", "kit__code", DATA, "loan__enrolment")
    told: dict[int, tuple[str, bool]] = {}
    for verb, code, text, assigned in plain_rows(facts):
        data = facts_said(text)
        with suppress(OddFact):
            who = row_said(data.get("enrolment", assigned))
            if verb == Verb.SET_ASIDE:
                told[who] = (code, flag_said(data.get("pinned")))
            else:
                told.pop(who, None)
    on_file = Earmark.objects.values_list("enrolment", "kit__code", "pinned")
    found = {who: (code, pinned) for who, code, pinned in on_file}
    for who in sorted(told.keys() | found.keys()):
        if told.get(who) != found.get(who):
            code, _ = found.get(who) or told[who]
            yield f"{code}: what is set aside for enrolment {who} is not what its events say."

"""A roster that another program sends: looked at, or carried out at once, by the same rules as the
one on the page. Nothing of it waits in between, and a roster that waits on the page stays there.
"""

from __future__ import annotations

import hashlib
from collections.abc import Collection
from datetime import datetime

from django.utils import timezone

from rentals import transaction
from rentals.counts import counted
from rentals.errors import Refused
from rentals.models import CourseRun, RosterDraft
from rentals.roster.people import PersonRow, RowStanding
from rentals.roster.questions import RowQuestion
from rentals.roster.sheet import RosterSheet
from rentals.selectors.rosters import column_doubt, lacks_columns, people_of

from .record import Actor
from .roster import import_draft, new_draft

SENT_BY = "Sent by a program"


def question_id(row: PersonRow, question: RowQuestion) -> str:
    """What a question is answered with. Another sentence is another question: its answer does not
    count any more.
    """
    digest = hashlib.sha256(question.sentence.encode()).hexdigest()[:12]
    return f"{row.number}-{question.key}-{digest}"


def look_at_roster(
    run: CourseRun, sheet: RosterSheet, yes: Collection[str] = (), *, columns_said: bool = False
) -> list[PersonRow]:
    """What a roster would do, row by row; writes nothing. Rows that are on the run already are left
    out, so that the same roster can be sent again.

    Parameters
    ----------
    yes : collection of str
        The questions answered with yes, by `question_id`.
    columns_said : bool
        Whether the columns are what their heads say beyond doubt.

    Raises
    ------
    Refused
        If its letters or its columns are not certain.
    """
    return people_of(_decided(run, sheet, yes, columns_said))


@transaction.atomic
def push_roster(
    run: CourseRun,
    sheet: RosterSheet,
    yes: Collection[str] = (),
    *,
    columns_said: bool = False,
    actor: Actor = None,
    at: datetime | None = None,
) -> str:
    """Carry a roster out, all or nothing; what it did, in a sentence.

    Raises
    ------
    Refused
        As `look_at_roster`, and if a row stands in the way.
    """
    CourseRun.objects.select_for_update(no_key=True).get(pk=run.pk)
    draft = _decided(run, sheet, yes, columns_said)
    people = people_of(draft)
    if all(row.left_out for row in people):
        return f"Nothing to add: {counted(len(people), 'row is', 'rows are')} on the run already."
    draft.at, draft.by = at or timezone.now(), actor
    draft.save()
    return import_draft(draft, actor=actor, at=at).result


def _decided(
    run: CourseRun, sheet: RosterSheet, yes: Collection[str], columns_said: bool
) -> RosterDraft:
    """The draft with all that is decided, not saved."""
    if sheet.letters:
        raise Refused("It is not certain how the letters are read: send UTF-8.", field="file")
    draft = new_draft(run, sheet, file_name=SENT_BY)
    draft.content["columns_said"] = columns_said
    if lacks_columns(draft):
        raise Refused("Give heads to the columns: Name and E-mail at least.", field="file")
    if doubt := column_doubt(draft):
        raise Refused(doubt.sentence, field="file")
    people = people_of(draft)
    draft.content["left_out"] = [row.number for row in people if row.standing == RowStanding.ON_RUN]
    draft.content["answers"] = {
        str(row.number): {
            question.key: question.sentence
            for question in row.questions
            if question_id(row, question) in yes
        }
        for row in people
    }
    return draft

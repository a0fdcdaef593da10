"""Operations for the site of a course: rosters sent in, and who has which kit."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest
from ninja import Router

from rentals.actions.roster_push import look_at_roster, push_roster, question_id
from rentals.errors import Refused
from rentals.models import Loan
from rentals.roster.people import PersonRow
from rentals.roster.sheet import MAX_BYTES
from rentals.selectors.programs import loans_in_order

from .course_shapes import ROSTER_BODY, Answers, DryRun, ListedLoan, RosterAnswer
from .fleet import RowNumber, run_with
from .once import once_for_key
from .operation import operation
from .paging import page_after
from .problems import DoorProblem
from .rosters import table_of
from .shapes import Cursor, IdempotencyKey, Limit, PageOf
from .tokens import token_of

router = Router(tags=["Course site"])
WRITE, READ, NAMES = "rosters:write", "loans:read", "students:read"
#: Said instead of a question that would name somebody else on file.
_UNNAMED = {
    "postal": "Somebody else has this postal address. Are they two people with one address?",
    "name": "This mail address is on file with another name. Shall the record follow the roster?",
}


@operation(
    router,
    "POST",
    "/runs/{pk}/roster",
    scope=WRITE,
    answers={200: RosterAnswer},
    refuses=(404,),
    body=ROSTER_BODY,
    limit=f"{MAX_BYTES // 2**20} MiB, 5,000 rows",
)
def send_roster(
    request: HttpRequest,
    pk: RowNumber,
    dry_run: DryRun = False,
    yes: Answers = [],  # noqa: B006  (the library copies it)
    idempotency_key: IdempotencyKey = None,
) -> Any:
    """Send the roster of a run

    The table as CSV, or its rows as JSON. With `dry_run` it says row by row what it would do and
    what it asks, and does nothing. Without, it is carried out, all or nothing. A question is
    answered by sending its `id` in `yes`; a row is left out by not sending it. Whoever is on the
    run already stays as they are, so the same roster can be sent again. With the scope
    `students:read` questions name other students; without, they do not.
    """
    run, acting = run_with(pk), token_of(request)
    sheet, columns_said, digest = table_of(request)

    def look() -> list[PersonRow]:
        try:
            return look_at_roster(run, sheet, yes, columns_said=columns_said)
        except Refused as refusal:
            raise DoorProblem(422, refusal.sentence, pointer="/body") from refusal

    def push() -> str:
        _refuse_bad(look())
        return push_roster(run, sheet, yes, columns_said=columns_said, actor=acting.account)

    if dry_run:
        rows = [_row(row, names=NAMES in acting.scopes) for row in look()]
        return {"dry_run": True, "result": "Nothing was saved.", "rows": rows}
    result = once_for_key(
        request, idempotency_key, "send a roster", f"{pk} {digest} {sorted(yes)}", push
    )
    return {"dry_run": False, "result": result, "rows": []}


def _refuse_bad(people: list[PersonRow]) -> None:
    places = []
    for row in people:
        if not row.bad:
            continue
        at = f"/body/rows/{row.number}"
        places += [(f"{at}/{fault.field}".rstrip("/"), fault.sentence) for fault in row.faults]
        places += [(at, _asked(question.key)) for question in row.open_questions]
    if places:
        raise DoorProblem(
            422,
            "Nothing was saved: rows stand in the way. Correct them, leave them out, or send the id"
            " of each question of the dry run in yes.",
            places=places,
        )


def _asked(key: str) -> str:
    return _UNNAMED.get(key, "A question about this row is open; the dry run says which.")


def _row(row: PersonRow, *, names: bool) -> dict[str, Any]:
    faults = [
        {"pointer": f"/body/rows/{row.number}/{fault.field}".rstrip("/"), "detail": fault.sentence}
        for fault in row.faults
        if not row.left_out
    ]
    questions = [
        {
            "id": question_id(row, question),
            "sentence": question.sentence
            if names
            else _UNNAMED.get(question.key, question.sentence),
            "answered": question.answered,
        }
        for question in row.questions
    ]
    return {
        "row": row.number,
        "standing": row.standing.value,
        "changes": [difference.label for difference in row.differences],
        "warnings": list(row.warnings),
        "faults": faults,
        "questions": questions,
    }


@operation(
    router,
    "GET",
    "/runs/{pk}/loans",
    scope=READ,
    answers={200: PageOf[ListedLoan]},
    refuses=(404,),
)
def list_loans(
    request: HttpRequest, pk: RowNumber, cursor: Cursor = None, limit: Limit = 50
) -> Any:
    """List the loans of a run

    Who has which kit until when, and loans of the past. Names and mail addresses are there with the
    scope `students:read` alone; without it students go by their number.
    """
    names = NAMES in token_of(request).scopes
    loans = loans_in_order(run_with(pk))
    return page_after(loans, cursor, limit, lambda loan: _loan(loan, names=names))


def _loan(loan: Loan, *, names: bool) -> dict[str, Any]:
    facts = (
        *("post_by", "due_on", "dispatched_at", "arrived_at", "carrier", "tracking_number"),
        *("sent_back_on", "return_tracking_number"),
    )
    student = loan.enrolment.student
    return {
        "id": loan.pk,
        "student": student.pk,
        "name": student.name if names else None,
        "email": student.email if names else None,
        "kit": loan.kit.code,
        "state": loan.stage,
        **{name: getattr(loan, name) for name in facts},
    }

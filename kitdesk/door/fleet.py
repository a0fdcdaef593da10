"""Operations on kits and runs: lists and one, with their states."""

from __future__ import annotations

from datetime import date, datetime
from typing import Annotated, Any

from django.http import Http404, HttpRequest
from ninja import Path, Query, Router, Schema
from pydantic import Field

from rentals.codes import NotACode, parse_code
from rentals.models import CourseRun, Kit
from rentals.selectors.programs import kits_in_order, runs_in_order

from .operation import operation
from .paging import moment, page_after
from .problems import DoorProblem
from .shapes import LARGEST_NUMBER, Cursor, Limit, PageOf

router = Router(tags=["Kits and runs"])
SCOPE = "kits:read"

KitCode = Annotated[
    str, Path(description="The code on its label.", examples=["K0001O"], max_length=40)
]
RowNumber = Annotated[int, Path(ge=1, le=LARGEST_NUMBER, examples=[17])]
ChangedSince = Annotated[
    str | None,
    Query(
        description="Only what has changed at this moment or later.",
        examples=["2026-01-31T08:00:00Z"],
        format="date-time",
        max_length=40,
    ),
]


class KitFacts(Schema):
    """A kit and where it stands."""

    code: str = Field(examples=["K0001O"])
    kit_type: str = Field(examples=["Training kit"])
    state: str = Field(
        description="shelf, assigned, packed, away, check, bench, held or retired",
        examples=["away"],
    )
    cleared: bool = Field(description="Whether the bench has cleared it for going out.")
    cleared_at: datetime | None
    not_cleared_reason: str
    loan: int | None = Field(description="Its open loan.")
    run: int | None = Field(description="The run of that loan.")
    due_on: date | None
    changed_at: datetime | None


class ListedRun(Schema):
    """A course run with its days."""

    id: int = Field(examples=[3])
    name: str = Field(examples=["Spring course"])
    kit_type: str = Field(examples=["Training kit"])
    starts_on: date
    ends_on: date
    post_by: date
    return_by: date
    students: int = Field(description="How many are on it; whoever has withdrawn does not count.")
    changed_at: datetime


def kit_with(code: str) -> Kit:
    """The kit with a code, however it is written.

    Raises
    ------
    DoorProblem
        If it is no code, or no kit has it.
    """
    try:
        kit = kits_in_order().filter(code=parse_code(code)).first()
    except NotACode as wrong:
        raise DoorProblem(404, wrong.sentence, pointer="/path/code") from wrong
    if kit is None:
        sentence = "There is no kit with this code. Check the code on its label."
        raise DoorProblem(404, sentence, pointer="/path/code")
    return kit


def run_with(pk: int) -> CourseRun:
    """The run of a number; Http404 where there is none."""
    run = runs_in_order().filter(pk=pk).first()
    if run is None:
        raise Http404("There is no run with this number. GET /api/v1/runs lists them.")
    return run


def _kit(kit: Kit) -> dict[str, Any]:
    [loan] = getattr(kit, "open_loans", None) or [None]
    return {
        "code": kit.code,
        "kit_type": kit.kit_type.name,
        "state": kit.state,
        "cleared": kit.cleared,
        "cleared_at": kit.cleared_at,
        "not_cleared_reason": kit.not_cleared_reason,
        "loan": loan.pk if loan else None,
        "run": loan.enrolment.run_id if loan else None,
        "due_on": loan.due_on if loan else None,
        "changed_at": getattr(kit, "changed_at", None),
    }


def _run(run: CourseRun) -> dict[str, Any]:
    names = ("name", "starts_on", "ends_on", "post_by", "return_by", "changed_at")
    facts = {name: getattr(run, name) for name in names}
    students = getattr(run, "students", 0)
    return {"id": run.pk, "kit_type": run.kit_type.name, "students": students, **facts}


@operation(router, "GET", "/kits", scope=SCOPE, answers={200: PageOf[KitFacts]})
def list_kits(
    request: HttpRequest,
    cursor: Cursor = None,
    limit: Limit = 50,
    changed_since: ChangedSince = None,
) -> Any:
    """List kits

    Retired ones too, in the order in which they were registered.
    """
    kits = kits_in_order(moment(changed_since, "changed_since"))
    return page_after(kits, cursor, limit, _kit)


@operation(router, "GET", "/kits/{code}", scope=SCOPE, answers={200: KitFacts}, refuses=(404,))
def read_kit(request: HttpRequest, code: KitCode) -> Any:
    """Read one kit"""
    return _kit(kit_with(code))


@operation(router, "GET", "/runs", scope=SCOPE, answers={200: PageOf[ListedRun]})
def list_runs(
    request: HttpRequest,
    cursor: Cursor = None,
    limit: Limit = 50,
    changed_since: ChangedSince = None,
) -> Any:
    """List course runs

    In the order in which they were made.
    """
    runs = runs_in_order(moment(changed_since, "changed_since"))
    return page_after(runs, cursor, limit, _run)


@operation(router, "GET", "/runs/{pk}", scope=SCOPE, answers={200: ListedRun}, refuses=(404,))
def read_run(request: HttpRequest, pk: RowNumber) -> Any:
    """Read one course run"""
    return _run(run_with(pk))

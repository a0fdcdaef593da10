"""What the operations of a course's site take and give."""

from __future__ import annotations

from datetime import date, datetime
from typing import Annotated

from ninja import Query, Schema
from pydantic import Field

from rentals.roster.people import KEPT
from rentals.roster.sheet import MAX_CELL

from .shapes import ProblemPlace

_CELL = {"type": ["string", "null"], "maxLength": MAX_CELL}
_ROW = {
    "type": "object",
    "properties": dict.fromkeys(KEPT, _CELL),
    "required": ["name", "email"],
    "additionalProperties": False,
}
_EXAMPLE = {"name": "Ada Example", "email": "ada@school.example", "city": "Lisbon", "country": "PT"}
ROSTER_BODY = {
    "text/csv": {
        "schema": {"type": "string"},
        "example": "Name,E-mail,City,Country\nAda Example,ada@school.example,Lisbon,PT\n",
    },
    "application/json": {
        "schema": {
            "type": "object",
            "properties": {"rows": {"type": "array", "items": _ROW, "minItems": 1}},
            "required": ["rows"],
            "additionalProperties": False,
        },
        "example": {"rows": [_EXAMPLE]},
    },
}

DryRun = Annotated[bool, Query(description="Say what it would do, and do nothing.")]
Answers = Annotated[
    list[str],
    Query(description="Ids of the questions answered with yes.", max_length=5000),
]


class AskedOfRow(Schema):
    """A question about a row of a roster."""

    id: str
    sentence: str
    answered: bool


class RosterRow(Schema):
    """What a row of a roster would do."""

    row: int = Field(description="As a spreadsheet counts: the heads are row 1.")
    standing: str = Field(
        description="new, known (the record changes), same, or on_run (stays as it is)",
        examples=["new"],
    )
    changes: list[str] = Field(description="What of a known student's record changes.")
    warnings: list[str]
    faults: list[ProblemPlace]
    questions: list[AskedOfRow]


class RosterAnswer(Schema):
    """What a roster does, or did."""

    dry_run: bool
    result: str = Field(examples=["2 enrolled, 1 of them new, 1 known record updated."])
    rows: list[RosterRow] = Field(description="Of a dry run; else empty.")


class ListedLoan(Schema):
    """A loan: which kit, for whom, until when."""

    id: int = Field(examples=[21])
    student: int = Field(description="The student's number at the desk.")
    name: str | None
    email: str | None
    kit: str = Field(examples=["K0001O"])
    state: str = Field(
        description="assigned, packed, away, check, returned, settled, lost or cancelled",
        examples=["away"],
    )
    post_by: date
    due_on: date
    dispatched_at: datetime | None
    arrived_at: datetime | None
    carrier: str
    tracking_number: str
    sent_back_on: date | None
    return_tracking_number: str

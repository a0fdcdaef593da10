"""What goes in and out, as the description shows it: shapes that all operations share."""

from __future__ import annotations

from typing import Annotated, Generic, TypeVar

from ninja import Header, Query, Schema
from pydantic import Field

Item = TypeVar("Item")

MOST_ON_A_PAGE = 200
LARGEST_NUMBER = 2**63 - 1

Cursor = Annotated[
    str | None,
    Query(
        description="`next` of the page before; left out, the first page.",
        examples=["50"],
        pattern="^[0-9]{1,18}$",
    ),
]
Limit = Annotated[int, Query(ge=1, le=MOST_ON_A_PAGE, description="Rows on a page, 200 at most.")]
IdempotencyKey = Annotated[
    str | None,
    Header(
        alias="Idempotency-Key",
        max_length=200,
        examples=["roster-2026-01-31"],
        pattern="^[!-~]+$",
        description=(
            "Any text of your own: the same request with the same key is done once, and answered"
            " alike each time, for a day at least."
        ),
    ),
]


class PageOf(Schema, Generic[Item]):
    """One page of a list."""

    items: list[Item]
    next: str | None = Field(description="Cursor of the next page; null on the last one.")


class ProblemPlace(Schema):
    """One place that is wrong."""

    pointer: str = Field(examples=["/query/kit"])
    detail: str


class ProblemBody(Schema):
    """Why a request was refused (RFC 9457)."""

    type: str = Field(examples=["about:blank"])
    title: str = Field(examples=["Unprocessable Entity"])
    status: int = Field(examples=[422])
    detail: str = Field(
        description="What is wrong and what to do.",
        examples=["There is no kit K 0001 O at this desk. Check the code on its label."],
    )
    errors: list[ProblemPlace]

"""What the bench's operations take and give."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Literal

from ninja import Query, Schema
from pydantic import Field

from readiness.signal.catalogue import CATALOGUE
from readiness.states import CaptureStatus

Word = Literal["fit", "retest", "not fit"]


class TakenCapture(Schema):
    """What became of a file."""

    id: int = Field(examples=[17])
    address: str = Field(examples=["/api/v1/captures/17"])
    page: str = Field(description="Its page at the desk.", examples=["/bench/captures/17/"])
    name: str = Field(examples=["K0001O still.csv"])
    sha256: str
    new: bool = Field(description="False where the desk had these bytes before.")


class CaptureFacts(Schema):
    """How far a capture has come."""

    id: int
    name: str
    sha256: str
    state: Literal[tuple(CaptureStatus.values)] = Field(  # type: ignore[valid-type]
        description="waiting and scoring pass by themselves; asking waits for an answer at the desk"
    )
    kit: str | None
    test: str | None
    taken: datetime
    sentence: str = Field(description="What is asked, or why it is not readable.")
    verdict: Word | None
    page: str


class ScoreValues(Schema):
    """Scores from 0 to 100; null where a capture does not judge the aspect."""

    continuity: float | None
    noise: float | None
    battery: float | None


class ScoreFinding(Schema):
    """What was found, and what to do about it."""

    code: str
    aspect: str
    lead: str | None
    verdict: str
    text: str
    action: str


class ScoreMeasurement(Schema):
    """A measured value with its interval and limit."""

    name: str
    value: float | None
    unit: str
    low: float | None
    high: float | None
    limit: float | None


class ScoreChannel(Schema):
    """A channel of the file, with its first samples."""

    label: str
    role: str
    unit: str
    rate_hz: float | None
    samples: int
    first: list[float | None]


class ScoreBody(Schema):
    """What `python3 manage.py score --json` says of a file, key by key."""

    file: str
    readable: bool
    refusal: str | None
    kit: str | None
    test: str | None
    rate_hz: float | None
    duration_s: float | None
    mains_hz: float | None
    channels: list[ScoreChannel]
    verdict: Word | None
    scores: ScoreValues
    findings: list[ScoreFinding]
    measurements: list[ScoreMeasurement]


class TestStanding(Schema):
    """One test of a kit's plan in its present round."""

    test: str
    verdict: Word | None
    capture: int | None

    __test__ = False  # no test of pytest's, in spite of its name


class Readiness(Schema):
    """What the present round of a kit has come to."""

    kit: str
    state: str
    cleared: bool
    cleared_at: datetime | None
    since: datetime | None = Field(description="When the round began; null: at its first day.")
    verdict: Word | None = Field(description="Null while the round is open.")
    sentence: str
    tests: list[TestStanding]
    scores: ScoreValues
    warnings: list[str]


class ListedRound(Schema):
    """One round of a kit, as it was last judged."""

    id: int
    current: bool
    since: datetime | None
    at: datetime
    verdict: Word | None
    sentence: str
    scores: ScoreValues
    cleared_at: datetime | None


KitParameter = Annotated[
    str | None,
    Query(
        description="The kit, where neither the file nor its name says it.",
        examples=["K0001O"],
        max_length=40,
    ),
]
TestParameter = Annotated[
    str | None,
    Query(
        description="The test, where neither the file nor its name says it.",
        examples=["still"],
        pattern=f"^({'|'.join(CATALOGUE)})$",
    ),
]
NameParameter = Annotated[
    str,
    Query(
        description="How the file is called, for a body that is the file itself.",
        examples=["K0001O still.csv"],
        min_length=1,
        max_length=255,
    ),
]
SavedAt = Annotated[
    str | None,
    Query(
        description="When the file was saved.",
        examples=["2026-01-31T08:00:00Z"],
        format="date-time",
        max_length=40,
    ),
]
Sha256 = Annotated[
    str | None, Query(description="SHA-256 of the bytes of a file.", pattern="^[0-9a-f]{64}$")
]

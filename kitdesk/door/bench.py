"""Operations of the bench: captures sent in, what was found in them, what a kit has come to."""

from __future__ import annotations

from functools import partial
from typing import Any

from django.conf import settings
from django.core.files.base import File
from django.http import Http404, HttpRequest
from ninja import Router, Status

from readiness.actions.lay_down import DroppedFile, laid_drop, wrong_size
from readiness.actions.partners import with_partners
from readiness.actions.take_file import round_of_file
from readiness.actions.upload import keep_drop
from readiness.models import BenchTest, Capture
from readiness.selectors.kits import KitBench, kit_bench
from readiness.selectors.rounds import verdict_of, with_verdict
from readiness.signal.result import Report
from rentals.actions.once import refused_in_words
from rentals.codes import NotACode, parse_code
from rentals.models import Kit

from .bench_shapes import (
    CaptureFacts,
    KitParameter,
    ListedRound,
    NameParameter,
    Readiness,
    SavedAt,
    ScoreBody,
    Sha256,
    TakenCapture,
    TestParameter,
)
from .bodies import MIB, files_of
from .fleet import KitCode, RowNumber, kit_with
from .once import once_for_key
from .operation import operation
from .paging import moment, page_after
from .problems import DoorProblem
from .shapes import Cursor, IdempotencyKey, Limit, PageOf
from .tokens import token_of

router = Router(tags=["Bench"])
WRITE, READ = "captures:write", "verdicts:read"
_NEW = "new"
#: A header with its signal file, and the frame of a form around them.
MOST_BYTES = settings.KITDESK_CAPTURE_MAX_BYTES + 2 * MIB

_FILE = {"type": "string", "format": "binary"}
BODY = {
    "application/octet-stream": {"schema": _FILE},
    "multipart/form-data": {
        "schema": {"type": "object", "properties": {"file": _FILE}, "required": ["file"]}
    },
}


@operation(
    router,
    "POST",
    "/captures",
    scope=WRITE,
    answers={202: TakenCapture, 200: TakenCapture},
    body=BODY,
    limit="34 MiB; a capture has 32 MiB at most",
)
def send_capture(
    request: HttpRequest,
    name: NameParameter = "capture",
    kit: KitParameter = None,
    test: TestParameter = None,
    saved_at: SavedAt = None,
    idempotency_key: IdempotencyKey = None,
) -> Any:
    """Send a capture

    One recording: the bytes of its file as the body, or a form with the file, for WFDB with both of
    its files. It is kept as it came and scored in the background: 202. Bytes that the desk has
    already are not kept again: 200 with the capture they are. One that names no kit or test is
    proposed to the guided round that was open at `saved_at`.
    """
    page_kit = _kit_named(kit)
    saved = moment(saved_at, "saved_at")
    file = _one_recording(files_of(request, name, MOST_BYTES))

    def keep(dropped: list[DroppedFile]) -> str:
        _, dropped_for = round_of_file(file.name or "", saved) if saved else (None, None)
        upload = keep_drop(
            dropped,
            actor=token_of(request).account,
            kit=page_kit,
            test=test or "",
            dropped_for=dropped_for,
        )
        capture = upload.captures.first()
        if capture is not None:
            return f"{capture.pk} {_NEW}"
        turned_away = upload.turned_away.get()
        if turned_away.same_as_id is None:
            raise DoorProblem(422, turned_away.sentence, pointer="/body")
        return str(turned_away.same_as_id)

    with refused_in_words(), laid_drop([file]) as dropped:
        sent = f"{dropped[0].digest} {kit} {test}"
        keep_them = partial(keep, dropped)
        result = once_for_key(request, idempotency_key, "send a capture", sent, keep_them)
    pk, _, word = result.partition(" ")
    capture = Capture.objects.get(pk=int(pk))
    return Status(202 if word else 200, _taken(capture, new=bool(word)))


def _kit_named(code: str | None) -> Kit | None:
    if not code:
        return None
    try:
        return kit_with(parse_code(code))
    except NotACode as wrong:
        raise DoorProblem(422, wrong.sentence, pointer="/query/kit") from wrong
    except DoorProblem as none:
        raise DoorProblem(422, none.sentence, pointer="/query/kit") from none


def _one_recording(files: list[File]) -> File:
    together = with_partners(files)
    if len(together) != 1:
        raise DoorProblem(
            422,
            "Send one recording at a time, in the field file of the form.",
            pointer="/body/file",
        )
    [file] = together
    if sentence := wrong_size(file.size):
        raise DoorProblem(413 if file.size else 422, sentence, pointer="/body")
    return file


def _taken(capture: Capture, *, new: bool) -> dict[str, Any]:
    return {
        "id": capture.pk,
        "address": f"/api/v1/captures/{capture.pk}",
        "page": capture.get_absolute_url(),
        "name": capture.name,
        "sha256": capture.sha256,
        "new": new,
    }


def _capture(pk: int) -> Capture:
    captures = with_verdict(Capture.objects.filter(pk=pk).select_related("kit"))
    capture = captures.first()
    if capture is None:
        raise Http404("There is no capture with this number.")
    return capture


@operation(router, "GET", "/captures/{pk}", scope=READ, answers={200: CaptureFacts}, refuses=(404,))
def read_capture_state(request: HttpRequest, pk: RowNumber) -> Any:
    """Read how far a capture has come"""
    return _facts(_capture(pk))


def _facts(capture: Capture) -> dict[str, Any]:
    verdict = verdict_of(capture)
    return {
        "id": capture.pk,
        "name": capture.name,
        "sha256": capture.sha256,
        "state": capture.status,
        "kit": capture.kit.code if capture.kit else None,
        "test": capture.test or None,
        "taken": capture.taken,
        "sentence": capture.refusal,
        "verdict": verdict.verdict if verdict else None,
        "page": capture.get_absolute_url(),
    }


@operation(router, "GET", "/captures", scope=READ, answers={200: PageOf[CaptureFacts]})
def list_captures(
    request: HttpRequest, sha256: Sha256 = None, cursor: Cursor = None, limit: Limit = 50
) -> Any:
    """List captures

    In the order in which they came. With `sha256` the one of these bytes, if the desk has it: so
    nothing need be sent twice.
    """
    captures = with_verdict(Capture.objects.select_related("kit").order_by("pk"))
    if sha256 is not None:
        captures = captures.filter(sha256=sha256)
    return page_after(captures, cursor, limit, _facts)


@operation(
    router,
    "GET",
    "/captures/{pk}/score",
    scope=READ,
    answers={200: ScoreBody},
    refuses=(404, 409),
)
def read_score(request: HttpRequest, pk: RowNumber) -> Any:
    """Read what was found in a capture

    Exactly what `python3 manage.py score --json` prints. A capture that is not scored yet answers
    409 with the seconds to wait; one that asks something answers as a file that is not readable.
    """
    capture = _capture(pk)
    verdict = verdict_of(capture)
    if verdict is not None:
        return {name: verdict.result.get(name) for name in ScoreBody.model_fields}
    if not capture.settled:
        raise DoorProblem(409, "It is being scored. Ask again in some seconds.", retry_after=5)
    report = Report(capture.name, False, capture.refusal, capture.missing, None, None)
    kit = capture.kit.code if capture.kit else None
    return report.to_json() | {"kit": kit, "test": capture.test or None}


@operation(
    router, "GET", "/kits/{code}/readiness", scope=READ, answers={200: Readiness}, refuses=(404,)
)
def read_readiness(request: HttpRequest, code: KitCode) -> Any:
    """Read whether a kit is ready to go out"""
    return _readiness(kit_bench(kit_with(code)))


def _readiness(bench: KitBench) -> dict[str, Any]:
    return {
        "kit": bench.kit.code,
        "state": bench.kit.state,
        "cleared": bench.kit.cleared,
        "cleared_at": bench.kit.cleared_at,
        "since": bench.since.at,
        "verdict": bench.verdict or None,
        "sentence": bench.sentence,
        "tests": [
            {"test": line.kind.name, "verdict": line.verdict or None, "capture": line.capture_id}
            for line in bench.tests
        ],
        "scores": _scores(bench.round),
        "warnings": bench.round.warnings if bench.round else [],
    }


def _scores(bench_round: BenchTest | None) -> dict[str, float | None]:
    names = ("continuity", "noise", "battery")
    return {name: getattr(bench_round, name, None) for name in names}


@operation(
    router,
    "GET",
    "/kits/{code}/rounds",
    scope=READ,
    answers={200: PageOf[ListedRound]},
    refuses=(404,),
)
def list_rounds(
    request: HttpRequest, code: KitCode, cursor: Cursor = None, limit: Limit = 50
) -> Any:
    """List the rounds of a kit on the bench

    In the order in which they began.
    """
    rounds = BenchTest.objects.filter(kit=kit_with(code)).order_by("pk")
    return page_after(rounds, cursor, limit, _round)


def _round(bench_round: BenchTest) -> dict[str, Any]:
    names = ("current", "since", "at", "sentence", "cleared_at")
    facts = {name: getattr(bench_round, name) for name in names}
    verdict = bench_round.verdict or None
    return {"id": bench_round.pk, "verdict": verdict, "scores": _scores(bench_round), **facts}

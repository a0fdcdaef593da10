"""The bench itself: dropping files, what became of a drop, the timer."""

from __future__ import annotations

from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from readiness.actions.lay_down import laid_drop
from readiness.actions.upload import keep_drop
from readiness.forms.bench import AnswerForm, FindKitForm, UploadForm
from readiness.models import Upload
from readiness.selectors import bench as bench_selectors
from readiness.selectors.batches import asking_captures, progress_of, row_of, worst_first
from readiness.selectors.bench_day import bench_day
from readiness.signal.catalogue import CATALOGUE, DURATION_S, STILL
from readiness.views.cautions import CAUTIONS
from rentals.codes import NotACode, parse_code
from rentals.models import Kit
from rentals.web.acting import carry_out
from rentals.web.finding import page_of
from rentals.web.page_or_part import page_again, page_or_part, wants_part
from rentals.web.request import DeskRequest

UPLOAD_HELP = (
    "CSV, TSV, TXT, EDF, BDF, WAV, or .hea with its .dat; many kits at once, 32 MiB each at most."
    " Best named by kit and test: K0014E flex.csv"
)


@require_safe
def bench(request: DeskRequest) -> HttpResponse:
    """The drop zone, the kits that wait for the bench, the last drops; `kit` in the address finds
    one kit.
    """
    form = FindKitForm(request.GET if "kit" in request.GET else None)
    if form.is_bound and form.is_valid():
        return redirect("readiness:kit_at_hand", form.cleaned_data["kit"].code)
    return render(request, "readiness/bench.html", _bench_context(request, form))


def _bench_context(
    request: DeskRequest, form: FindKitForm, refused: UploadForm | None = None
) -> dict[str, object]:
    page = page_of(request, bench_selectors.kits_to_bench(), rows_of=bench_selectors.kits_of_lines)
    day = bench_day(timezone.localdate())
    return {
        "form": form,
        "page": page,
        "lines": bench_selectors.bench_lines(page),
        "day": bench_selectors.bench_day_line(day) if day else None,
        "asking": bench_selectors.asking_captures(),
        "drifting": bench_selectors.drifting_rounds(),
        "uploads": bench_selectors.recent_uploads(),
        "tests": CATALOGUE.values(),
        "upload_help": UPLOAD_HELP,
        "cautions": CAUTIONS,
        "upload_errors": upload_errors(refused),
    }


def upload_errors(refused: UploadForm | None) -> list[str]:
    """What stands in the way of a drop: with its files, or with the desk (a full disk)."""
    if refused is None:
        return []
    return [*refused.errors.get("files", []), *refused.non_field_errors()]


@require_POST
def upload(request: DeskRequest) -> HttpResponse:
    """Take in a drop of files; on to its page."""
    form = UploadForm(request.POST)
    kit = _kit_named(request.POST.get("kit", ""))
    files = request.FILES.getlist("files")
    stored = carry_out(
        request,
        "upload captures",
        lambda dropped: keep_drop(dropped, actor=request.user, kit=kit),
        first=lambda: laid_drop(files),
        form=form,
    )
    if stored is not None:
        return stored
    context = _bench_context(request, FindKitForm(), form)
    return page_again(request, "readiness/bench.html", context)


def _kit_named(code: str) -> Kit | None:
    try:
        return Kit.objects.filter(code=parse_code(code)).first() if code else None
    except NotACode:
        return None


@require_safe
def drops(request: DeskRequest) -> HttpResponse:
    """All drops, newest first."""
    page = page_of(request, bench_selectors.uploads_listed())
    return render(
        request,
        "readiness/drops.html",
        {"page": page, "lines": bench_selectors.drop_lines(page)},
    )


@require_safe
def batch(request: DeskRequest, pk: int) -> HttpResponse:
    """One drop: progress while it lasts, then every file, worst first, each with its one next
    action.
    """
    drop = get_object_or_404(Upload.objects.select_related("by"), pk=pk)
    return batch_page(request, drop)


def batch_page(
    request: DeskRequest, drop: Upload, refused: AnswerForm | None = None
) -> HttpResponse:
    """The page of a drop; `refused` is an answer that was not accepted, shown with its errors."""
    progress = progress_of(drop)
    page = page_of(request, worst_first(drop.captures.all()))
    questions = _questions(drop, refused)
    context = {
        "upload": drop,
        "progress": progress,
        "page": page,
        "kits": bench_selectors.kits_of_drop(drop),
        "rows": [row_of(capture) for capture in page],
        "turned_away": drop.turned_away.select_related("same_as"),
        "questions": questions,
        "bound": refused,
        "swapped": wants_part(request),
    }
    templates = "readiness/batch.html", "readiness/_batch.html"
    response = page_or_part(request, *templates, context, refused=refused is not None)
    questions_shown = request.GET.get("asked", "")
    if progress.finished and questions_shown not in ("", str(len(questions))):
        # Files that ask something have come up since the page was loaded: show it anew, with its
        # questions.
        response["HX-Refresh"] = "true"
    return response


def _questions(drop: Upload, refused: AnswerForm | None) -> list[AnswerForm]:
    """A form for each file that asks something; a refused one stays as it was sent."""
    sent = {refused.capture.pk: refused} if refused is not None else {}
    return [sent.get(capture.pk) or AnswerForm(capture) for capture in asking_captures(drop)]


@require_safe
def timer(request: DeskRequest, test: str = STILL.name) -> HttpResponse:
    """The guided ten seconds of one test."""
    if test not in CATALOGUE:
        raise Http404(f"There is no test {test}.")
    kit = _kit_named(request.GET.get("kit", ""))
    context = {
        "test": CATALOGUE[test],
        "tests": CATALOGUE.values(),
        "kit": kit,
        "duration_s": round(DURATION_S),
        "duration_ms": round(DURATION_S * 1000),
        "back": (
            reverse("readiness:kit_bench", args=[kit.code]) if kit else reverse("readiness:bench")
        ),
    }
    return render(request, "readiness/timer.html", context)


@require_safe
def timer_index(request: DeskRequest) -> HttpResponse:
    """The timer without a test: the first one."""
    return redirect("readiness:timer", STILL.name)

"""A guided round with the kit at hand: the tests one after the other, then its files in one go."""

from __future__ import annotations

from urllib.parse import quote

from django.http import HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.http import require_safe

from readiness.actions.guided import begin_round, confirm_files
from readiness.actions.lay_down import laid_drop
from readiness.actions.upload import RoundOfDrop, keep_drop
from readiness.forms.bench import AnswerForm, UploadForm
from readiness.forms.guided import RoundFilesForm, saved_at
from readiness.selectors.guided import guided_page
from readiness.selectors.kits import kit_bench
from readiness.signal.catalogue import DURATION_S
from readiness.views.cautions import CAUTIONS
from readiness.views.desk import upload_errors
from rentals.codes import grouped
from rentals.counts import counted
from rentals.models import Kit
from rentals.web.acting import carry_out, post_or_go_to, press_button
from rentals.web.finding import kit_or_404
from rentals.web.page_or_part import page_or_part, wants_part
from rentals.web.request import DeskRequest

FILES = "#round-files"
HELP = (
    "All of the round together, under any name. What names no kit or test is proposed by time and"
    " order; you confirm it once."
)
posted_in_a_round = post_or_go_to("readiness:round")


def _home(kit: Kit, drop: object = "") -> str:
    address = reverse("readiness:round", args=[kit.code])
    return f"{address}?drop={drop}{FILES}" if drop else address


@require_safe
def kit_at_hand(request: DeskRequest, code: str) -> HttpResponse:
    """Where a scan of a kit leads at the bench: to its guided round, or to its results where no
    test is left to be recorded.
    """
    kit = kit_or_404(code)
    bench = kit_bench(kit)
    to_record = bench.at_the_bench and bench.next_test is not None and not bench.verdict
    return redirect("readiness:round" if to_record else "readiness:kit_bench", kit.code)


@require_safe
def guided_round(request: DeskRequest, code: str) -> HttpResponse:
    """The sequence of the tests, the place for their files, and what is proposed for these."""
    return _page(request, kit_or_404(code))


def _page(
    request: DeskRequest,
    kit: Kit,
    *,
    refused: RoundFilesForm | None = None,
    upload_form: UploadForm | None = None,
) -> HttpResponse:
    """The page of a round; `refused` is a table and `upload_form` a drop that was not taken."""
    drop_sent = request.GET.get("drop", "")
    was_refused = refused is not None or upload_form is not None
    seen = guided_page(kit, drop_sent)
    context = {
        "kit": kit,
        "seen": seen,
        "form": refused or RoundFilesForm(seen.proposals, seen.plan),
        "questions": [AnswerForm(capture) for capture in seen.asking],
        "cautions": CAUTIONS,
        "help": HELP,
        "here": _home(kit, quote(drop_sent)).removesuffix(FILES),
        "asks_again": "" if was_refused else seen.asks_again,
        "upload_errors": upload_errors(upload_form),
        "duration_s": round(DURATION_S),
        "duration_ms": round(DURATION_S * 1000),
        "swapped": wants_part(request),
    }
    templates = "readiness/round.html", "readiness/_round_files.html"
    return page_or_part(request, *templates, context, refused=was_refused)


@posted_in_a_round
def begin(request: DeskRequest, code: str) -> HttpResponse:
    """Begin the round. Where the timer's script asks, only what waits for files is shown anew: the
    clock runs meanwhile.
    """
    kit = kit_or_404(code)
    goes_on = wants_part(request)
    answer = press_button(
        request,
        "begin a guided round",
        lambda: begin_round(kit, actor=request.user),
        home=_home(kit),
        success="" if goes_on else f"The round of kit {grouped(kit.code)} is begun.",
    )
    begun = kit.guided_rounds.filter(ended_at=None).exists()
    return _page(request, kit) if goes_on and begun else answer


@posted_in_a_round
def drop(request: DeskRequest, code: str) -> HttpResponse:
    """Take in the files of the round; those that name no kit or test are proposed to it."""
    kit = kit_or_404(code)
    form = UploadForm(request.POST)
    files = request.FILES.getlist("files")
    times = saved_at(request.POST.get("saved_at", ""))
    stored = carry_out(
        request,
        "drop the files of a round",
        lambda dropped: keep_drop(
            dropped, actor=request.user, dropped_for=RoundOfDrop(kit, True, times)
        ),
        first=lambda: laid_drop(files),
        then=lambda upload: _home(kit, upload.pk),
        form=form,
    )
    return stored or _page(request, kit, upload_form=form)


def _confirmed(scored: int, left_out: int) -> str:
    sentences = []
    if scored or not left_out:
        sentences.append(f"{counted(scored, 'file is', 'files are')} scored as confirmed.")
    if left_out:
        files = counted(left_out, "file is", "files are")
        sentences.append(f"{files} left out, and asks for its kit on the Bench page.")
    return " ".join(sentences)


@posted_in_a_round
def confirm(request: DeskRequest, code: str) -> HttpResponse:
    """Score the files as the tests that the table says."""
    kit = kit_or_404(code)
    seen = guided_page(kit)
    form = RoundFilesForm(seen.proposals, seen.plan, request.POST)
    confirmed = carry_out(
        request,
        "confirm the files of a round",
        lambda: confirm_files(kit, form.tests(), complete=seen.is_completed_by(form.tests())),
        then=_home(kit) + FILES,
        success=lambda files: _confirmed(files, len(form.tests()) - files),
        form=form,
    )
    return confirmed or _page(request, kit, refused=form)

"""Taking a capture that a student sends in the help by symptom: kept and queued for scoring, apart
from all that the bench knows.
"""

from __future__ import annotations

from datetime import datetime
from functools import partial

from django.core.files.base import File
from django.utils import timezone
from django.utils.translation import gettext as _

from readiness.intake.student_files import MOST_BYTES, has_known_ending
from readiness.models import StudentCapture
from rentals import transaction
from rentals.errors import Refused
from rentals.models import GuideVisit
from rentals.states import GuideOutcome

from .scoring_tasks import score_student_later
from .upload import digest_of, shown_name

MOST_OF_VISIT, MOST_OF_LOAN = 6, 30


@transaction.atomic
def take_student_capture(
    visit: GuideVisit, file: File, *, at: datetime | None = None
) -> StudentCapture:
    """Keep a file that a student sends and start its scoring in the background. The same bytes sent
    again give the capture that is there.

    Raises
    ------
    Refused
        If it is empty, too large or named like no recording, the visit has ended, or many were sent
        already.
    """
    _refuse_by_looks(file)
    visit = GuideVisit.objects.select_for_update().get(pk=visit.pk)
    if visit.outcome != GuideOutcome.OPEN:
        raise Refused(_("This help has ended. Begin it again if the trouble has come back."))
    digest = digest_of(file)
    earlier = StudentCapture.objects.filter(visit=visit, sha256=digest).first()
    if earlier is not None:
        return earlier
    _refuse_too_many(visit)
    capture = StudentCapture(
        visit=visit,
        name=shown_name(file.name),
        size=file.size,
        sha256=digest,
        at=at or timezone.now(),
    )
    file.seek(0)
    capture.file.save(digest, file, save=False)
    transaction.on_rollback(partial(capture.file.storage.delete, str(capture.file.name)))
    capture.save()
    score_student_later(capture.pk)
    return capture


def _refuse_by_looks(file: File) -> None:
    if not file.size:
        raise Refused(_("The file is empty. Save the recording again."), field="file")
    if file.size > MOST_BYTES:
        raise Refused(_("The file is too large. Save only the ten seconds."), field="file")
    if not has_known_ending(file.name or ""):
        raise Refused(
            _("Choose a recording: a file whose name ends in csv, tsv, txt, edf, bdf or wav."),
            field="file",
        )


def _refuse_too_many(visit: GuideVisit) -> None:
    of_loan = StudentCapture.objects.filter(visit__loan=visit.loan_id)
    if of_loan.filter(visit=visit).count() >= MOST_OF_VISIT or of_loan.count() >= MOST_OF_LOAN:
        raise Refused(
            _("Many recordings were sent already. Send the report; your instructor sees them all."),
            field="file",
        )

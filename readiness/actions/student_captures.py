"""Taking a capture that a student sends in the help by symptom: kept and queued for scoring, apart
from all that the bench knows.
"""

from __future__ import annotations

from datetime import datetime

from django.core.files.base import File
from django.utils import timezone
from django.utils.translation import gettext as _

from readiness.intake.student_files import MOST_BYTES, has_known_ending
from readiness.models import StudentCapture
from readiness.models.student_captures import stored_name
from rentals import transaction
from rentals.errors import Refused
from rentals.laid_files import LaidFile, digest_of, laying_down
from rentals.models import GuideVisit
from rentals.states import GuideOutcome

from .lay_down import shown_name
from .scoring_tasks import score_student_later

MOST_OF_VISIT, MOST_OF_LOAN = 6, 30


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
    capture = StudentCapture(
        visit=visit,
        name=shown_name(file.name),
        size=file.size,
        sha256=digest_of(file),
        at=at or timezone.now(),
    )
    # Looked at before anything is stored, and again under the lock: what is refused costs no bytes.
    if earlier := _earlier_or_refused(capture, GuideVisit.objects.get(pk=visit.pk)):
        return earlier
    with laying_down() as lay:
        laid = lay(stored_name(capture, ""), file, capture.sha256)
        return _keep(capture, laid)


@transaction.atomic
def _keep(capture: StudentCapture, laid: LaidFile) -> StudentCapture:
    visit = GuideVisit.objects.select_for_update().get(pk=capture.visit_id)
    if earlier := _earlier_or_refused(capture, visit):
        return earlier
    capture.file = laid.named()
    capture.save()
    score_student_later(capture.pk)
    return capture


def _earlier_or_refused(capture: StudentCapture, visit: GuideVisit) -> StudentCapture | None:
    """The capture of the same bytes in this visit, if there is one; Refused where no further one is
    taken.
    """
    if visit.outcome != GuideOutcome.OPEN:
        raise Refused(_("This help has ended. Begin it again if the trouble has come back."))
    sent = StudentCapture.objects.filter(visit=visit, sha256=capture.sha256)
    if earlier := sent.first():
        return earlier
    _refuse_too_many(visit)
    return None


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

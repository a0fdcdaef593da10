"""What a scan means: a code, a tracking number or a name becomes the page for the next step."""

from __future__ import annotations

from dataclasses import dataclass

from django.db.models import Q
from django.urls import reverse

from rentals.codes import kind_of, parse_code
from rentals.models import OPEN_STAGES, Kit, Loan, Part, Student
from rentals.selectors.next_steps import scan_address

MOST = 50


@dataclass(frozen=True)
class Match:
    """One thing the text may mean."""

    url: str
    what: str
    detail: str = ""
    code: str = ""

    @property
    def page(self) -> str:
        """Address of the kit or part that the code belongs to."""
        return reverse(
            f"rentals:{'kit' if kind_of(self.code) == 'kit' else 'part'}", args=[self.code]
        )


@dataclass(frozen=True)
class Understood:
    """All that was understood, and the sentence that says so; one match is gone to at once."""

    sentence: str
    matches: tuple[Match, ...] = ()


def understand(text: str) -> Understood:
    """What the text of a scan box means. Codes first (checked, never guessed), then tracking
    numbers, then names.
    """
    text = " ".join(text.replace("\x00", "").split())[:200]
    if not text:
        return Understood(
            "Nothing was scanned. Scan a label or type a code, a name or a tracking number."
        )
    try:
        code = parse_code(text)
    except ValueError as unreadable:
        refused = str(unreadable)
    else:
        return _of_code(code)
    entries = _by_tracking(text) or _by_name(text) or _by_serial(text)
    if not entries:
        return Understood(
            f"“{text}” is no tracking number, name or serial of this desk. As a code: {refused}"
        )
    sentence = (
        f"“{text}”: {entries[0].what}."
        if len(entries) == 1
        else f"“{text}” fits {len(entries)} entries."
    )
    return Understood(sentence, entries)


def _of_code(code: str) -> Understood:
    kit = Kit.objects.filter(code=code).first()
    if kit is not None:
        word = kit.get_state_display()
        return Understood(
            f"Kit {code}, {word}.", (Match(scan_address(kit), f"Kit {code}", word, code),)
        )
    part = Part.objects.filter(code=code).select_related("kit").first()
    if part is not None:
        where = f"in kit {part.kit.code}" if part.kit else part.get_place_display()
        what = f"{part.get_kind_display()} {code}"
        return Understood(f"{what}, {where}.", (Match(part.get_absolute_url(), what, where, code),))
    return Understood(f"{code} is a valid code, but nothing at this desk carries it.")


def _by_tracking(text: str) -> tuple[Match, ...]:
    number = text.replace(" ", "")
    loans = (
        Loan.objects.filter(
            Q(tracking_number__iexact=number) | Q(return_tracking_number__iexact=number)
        )
        .select_related("kit", "enrolment__student")
        .order_by("-pk")[:MOST]
    )
    return tuple(
        Match(
            scan_address(loan.kit) if loan.is_open else loan.get_absolute_url(),
            f"parcel of kit {loan.kit.code}, {loan.enrolment.student.name}",
            loan.get_stage_display(),
            loan.kit.code,
        )
        for loan in loans
    )


def _by_name(text: str) -> tuple[Match, ...]:
    students = list(
        Student.objects.filter(Q(name__icontains=text) | Q(email__icontains=text))[:MOST]
    )
    loans = {
        loan.enrolment.student_id: loan
        for loan in Loan.objects.filter(
            stage__in=OPEN_STAGES, enrolment__student__in=students
        ).select_related("kit", "enrolment")
    }
    matches = []
    for student in students:
        loan = loans.get(student.pk)
        if loan is None:
            url = reverse("rentals:student", args=[student.pk])
            matches.append(Match(url, student.name, "no kit at the moment"))
        else:
            detail = f"kit {loan.kit.code}, {loan.get_stage_display()}"
            matches.append(Match(scan_address(loan.kit), student.name, detail, loan.kit.code))
    return tuple(matches)


def _by_serial(text: str) -> tuple[Match, ...]:
    parts = Part.objects.filter(serial__iexact=text).select_related("kit")[:MOST]
    return tuple(
        Match(
            part.get_absolute_url(),
            f"{part.get_kind_display()} {part.code}",
            f"in kit {part.kit.code}" if part.kit else part.get_place_display(),
            part.code,
        )
        for part in parts
    )

"""Receiving, loans and shortfalls on screen."""

import io
import uuid
from datetime import timedelta

import pypdf
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from django.utils import timezone
from PIL import Image

from rentals.actions.dispatch import dispatch
from rentals.actions.receive import arrive
from rentals.models import Kit, Loan, Part, Shortfall
from tests.factories import EnrolmentFactory, assigned_loan, complete_kit, packed_loan

pytestmark = pytest.mark.django_db


@pytest.fixture
def away() -> Loan:
    return dispatch(packed_loan().kit, tracking_number="RR 77")


@pytest.fixture
def check(away):
    return arrive(away.kit)


def home(loan) -> str:
    return reverse("rentals:receive_kit", args=[loan.kit.code])


def filled(check, **others) -> dict[str, str]:
    """The form with every line back, cleaned and charged, but for what `others` says by part
    kind.
    """
    data = {"finish": "1"}
    for line in check.lines.select_related("packing_line"):
        prefix = f"line{line.pk}"
        data |= {f"{prefix}-outcome": "back", f"{prefix}-cleaned": "on", f"{prefix}-charged": "on"}
        for name, value in others.get(line.packing_line.part_kind, {}).items():
            data[f"{prefix}-{name}"] = value
        if not line.packing_line.comes_back:
            data[f"{prefix}-outcome"] = ""
    return data


def test_the_button_brings_the_parcel_in_once(signed_in, away):
    assert "The parcel is here" in signed_in.get(home(away)).content.decode()
    arrived = reverse("rentals:receive_arrived", args=[away.kit.code])
    key = "7b0c1c0e-1111-4222-8333-444455556666"
    assert signed_in.post(arrived, {"form_key": key}).url == home(away)
    assert signed_in.post(arrived, {"form_key": key}).url == home(away)
    page = signed_in.get(home(away)).content.decode()
    assert "Look at every line" in page
    assert "Not looked at: Amplifier" in page


def test_a_complete_return_goes_to_the_bench(signed_in, check):
    answer = signed_in.post(home(check.loan), filled(check))
    assert answer.url == check.loan.get_absolute_url()
    assert Kit.objects.get().state == "bench"
    assert not Shortfall.objects.exists()


def test_what_lacks_is_named_and_nothing_typed_is_lost(signed_in, check):
    data = filled(check, lead_set={"outcome": "damaged", "damaged_lead": "B", "note": "kinked"})
    del data[next(name for name in data if name.endswith("outcome") and data[name] == "back")]
    answer = signed_in.post(home(check.loan), data)
    page = answer.content.decode()
    assert answer.status_code == 422
    line = next(name for name in filled(check) if name.endswith("outcome") and name not in data)
    assert f'<a href="#line-{line[4:].split("-")[0]}">Amplifier: not looked at yet.</a>' in page
    assert 'value="kinked"' in page
    assert Loan.objects.get().stage == "check"


def test_shortfalls_follow_and_are_chased_recovered_charged_and_waived(signed_in, check):
    data = filled(
        check,
        licence_key={"outcome": "missing"},
        lead_set={"outcome": "damaged", "damaged_lead": "B", "note": "kinked"},
        band={"quantity_back": "1"},
    )
    signed_in.post(home(check.loan), data)
    page = signed_in.get(check.loan.get_absolute_url()).content.decode()
    assert "Licence key missing" in page
    assert "lead B: kinked" in page
    key, leads, band = (
        Shortfall.objects.get(packing_line__part_kind=kind)
        for kind in ("licence_key", "lead_set", "band")
    )
    assert "Licence key missing" in signed_in.get(reverse("rentals:shortfalls")).content.decode()
    signed_in.post(reverse("rentals:shortfall_chase", args=[key.pk]))
    signed_in.post(reverse("rentals:shortfall_recover", args=[key.pk]))
    bad = signed_in.post(
        reverse("rentals:shortfall_charge", args=[leads.pk]), {"amount": "-3", "reason": "x"}
    )
    assert bad.status_code == 422
    signed_in.post(
        reverse("rentals:shortfall_charge", args=[leads.pk]),
        {"amount": "40.50", "reason": "agreed"},
    )
    unreasoned = signed_in.post(reverse("rentals:shortfall_waive", args=[band.pk]), {"reason": " "})
    assert unreasoned.status_code == 422
    early = signed_in.post(reverse("rentals:loan_settle", args=[check.loan.pk]))
    assert "Still open: Wrist band" in early.content.decode()
    signed_in.post(reverse("rentals:shortfall_waive", args=[band.pk]), {"reason": "old and torn"})
    signed_in.post(reverse("rentals:loan_settle", args=[check.loan.pk]))
    assert Loan.objects.get().stage == "settled"
    assert dict(Shortfall.objects.values_list("packing_line__part_kind", "state")) == {
        "licence_key": "recovered",
        "lead_set": "charged",
        "band": "waived",
    }
    assert Part.objects.get(kind="licence_key").place == "spare"


def test_a_line_is_kept_as_soon_as_it_is_touched(signed_in, check):
    line = check.lines.get(packing_line__part_kind="amplifier")
    address = reverse("rentals:receive_line", args=[check.loan.kit.code, line.pk])
    answer = signed_in.post(
        address, {f"line{line.pk}-outcome": "back"}, headers={"HX-Request": "true"}
    )
    page = answer.content.decode()
    assert f'id="line-{line.pk}"' in page
    assert 'hx-swap-oob="true"' in page
    line.refresh_from_db()
    assert line.outcome == "back"


def test_a_press_that_arrives_again_late_does_not_undo_a_later_one(signed_in, check):
    line = check.lines.get(packing_line__part_kind="amplifier")
    address = reverse("rentals:receive_line", args=[check.loan.kit.code, line.pk])
    outcome = f"line{line.pk}-outcome"
    first = {outcome: "damaged", "form_key": str(uuid.uuid4())}
    second = {outcome: "back", "form_key": str(uuid.uuid4())}
    for press in (first, second, first):
        answer = signed_in.post(address, press, headers={"HX-Request": "true"})
    line.refresh_from_db()
    assert line.outcome == "back"
    assert 'value="back" checked' in " ".join(answer.content.decode().split())


def test_a_count_does_not_outlive_its_outcome(signed_in, check):
    """The page fills the count in by itself: after a change of mind it must neither hide a
    shortfall nor make one.
    """
    line = check.lines.get(packing_line__part_kind="band")
    address = reverse("rentals:receive_line", args=[check.loan.kit.code, line.pk])
    outcome, count = f"line{line.pk}-outcome", f"line{line.pk}-quantity_back"

    def touched(**data: str) -> tuple[str, int, str]:
        page = signed_in.post(address, data, headers={"HX-Request": "true"}).content.decode()
        line.refresh_from_db()
        return line.outcome, line.quantity_back, page

    assert touched(**{outcome: "back"})[:2] == ("back", 2)
    assert touched(**{outcome: "damaged", count: "2"})[:2] == ("damaged", 0)
    assert touched(**{outcome: "back", count: "0"})[:2] == ("back", 2)
    assert touched(**{outcome: "damaged", count: "1"})[:2] == ("damaged", 1)
    refused = touched(**{outcome: "damaged", count: "2"})
    assert refused[:2] == ("damaged", 1)
    assert "all 2 are sound, so call it back" in refused[2]
    touched(**{outcome: "back", count: "1"})
    assert "none is back, so call it missing" in touched(**{outcome: "back", count: "0"})[2]


def test_an_overdue_loan_is_asked_for_first(signed_in, away):
    Loan.objects.update(
        post_by=timezone.localdate() - timedelta(days=9),
        due_on=timezone.localdate() - timedelta(days=2),
    )
    write = reverse("rentals:message_write", args=[away.pk]) + "?occasion=overdue"
    page = signed_in.get(away.get_absolute_url()).content.decode()
    assert f'<a class="act" href="{write}">Write and ask for it</a>' in page
    assert home(away) in page
    draft = signed_in.post(write, {"occasion": "overdue"}).url
    assert (
        f'<a class="act" href="{draft}">Read the mail'
        in signed_in.get(away.get_absolute_url()).content.decode()
    )
    Loan.objects.update(sent_back_on=timezone.localdate())
    assert (
        f'<a class="act" href="{home(away)}">Receive'
        in signed_in.get(away.get_absolute_url()).content.decode()
    )


def test_what_was_missing_and_is_scanned_is_back(signed_in, check):
    line = check.lines.get(packing_line__part_kind="licence_key")
    line.outcome = "missing"
    line.save()
    signed_in.post(
        reverse("rentals:receive_scan", args=[check.loan.kit.code]),
        {"scan": line.packing_line.part_code},
    )
    line.refresh_from_db()
    assert line.outcome == "back"


def test_scanning_marks_a_line_and_identifies_strangers(signed_in, check):
    scan = reverse("rentals:receive_scan", args=[check.loan.kit.code])
    own = check.loan.kit.parts.get(kind="charger")
    stranger = complete_kit().parts.get(kind="charger")
    signed_in.post(scan, {"scan": own.code.lower()})
    assert check.lines.get(packing_line__part=own).outcome == "back"
    signed_in.post(scan, {"scan": stranger.code})
    page = signed_in.get(home(check.loan)).content.decode()
    assert f"belongs to kit {stranger.kit.code}" in page
    signed_in.post(scan, {"scan": "rubbish"})
    assert "Not done" in signed_in.get(home(check.loan)).content.decode()
    signed_in.post(
        reverse("rentals:receive_found", args=[check.loan.kit.code]), {"text": "a rosin cake"}
    )
    assert "a rosin cake" in signed_in.get(home(check.loan)).content.decode()


def photo(form: str = "JPEG", size: tuple[int, int] = (3000, 2000)) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", size, "tan").save(out, form)
    return out.getvalue()


def test_a_photo_of_damage_is_kept_small_and_under_an_own_name(signed_in, check):
    line = check.lines.get(packing_line__part_kind="charger")
    data = filled(check, charger={"outcome": "damaged", "note": "wet"})
    data[f"line{line.pk}-photo"] = SimpleUploadedFile(
        "../../etc/passwd.jpg", photo("PNG"), "image/png"
    )
    del data["finish"]
    signed_in.post(home(check.loan), data)
    kept_photo = line.packing_line.photos.get()
    assert "passwd" not in kept_photo.file.name
    kept = signed_in.get(reverse("rentals:receive_photo", args=[kept_photo.pk]))
    with Image.open(io.BytesIO(b"".join(kept.streaming_content))) as image:
        assert (image.format, max(image.size)) == ("JPEG", 1600)


@pytest.mark.parametrize(
    "content", [b"", b"not a photo", b"\xff\xd8\xff" + b"\0" * 50, photo()[:400], b"PK\x03\x04"]
)
def test_a_file_that_is_no_photo_is_refused_in_words(signed_in, check, content):
    line = check.lines.get(packing_line__part_kind="charger")
    data = filled(check, charger={"outcome": "damaged", "note": "wet"})
    data[f"line{line.pk}-photo"] = SimpleUploadedFile("photo.jpg", content, "image/jpeg")
    answer = signed_in.post(home(check.loan), data)
    assert answer.status_code == 422
    page = answer.content.decode()
    assert "no photo" in page or "empty" in page
    assert 'value="wet"' in page


def test_a_single_use_part_cannot_be_counted_back_in(signed_in, check):
    line = check.lines.get(packing_line__part_kind="electrodes")
    address = reverse("rentals:receive_line", args=[check.loan.kit.code, line.pk])
    answer = signed_in.post(
        address, {f"line{line.pk}-outcome": "back"}, headers={"HX-Request": "true"}
    )
    assert "never counted back in" in answer.content.decode()


def test_a_kit_that_is_not_out_says_what_it_is(signed_in):
    kit = complete_kit()
    page = signed_in.get(reverse("rentals:receive_kit", args=[kit.code])).content.decode()
    assert "there is nothing to receive" in page
    assert kit.get_absolute_url() in page


def test_the_packing_list_of_a_loan_is_a_pdf_and_the_house_copy_bears_the_override(
    signed_in, owner
):
    from rentals.actions.issue import override_gate
    from rentals.actions.pack import pack, tick
    from rentals.actions.packing_list import draw_up

    kit = complete_kit(cleared=False)
    loan = assigned_loan(kit)
    override_gate(kit, reason="Concert tonight, tested by ear.", actor=owner)
    for line in draw_up(kit).packing_lines.all():
        tick(line)
    pack(kit)
    address = reverse("rentals:loan_packing_list", args=[loan.pk])
    plain = pypdf.PdfReader(io.BytesIO(signed_in.get(address).content)).pages[0].extract_text()
    inside = (
        pypdf.PdfReader(io.BytesIO(signed_in.get(address + "?inside=1").content))
        .pages[0]
        .extract_text()
    )
    assert loan.enrolment.student.name in plain
    assert "Concert tonight" not in plain
    assert "Concert tonight" in inside
    for page in (loan.get_absolute_url(), kit.get_absolute_url()):
        assert "Concert tonight" in signed_in.get(page).content.decode()


def test_a_loan_is_extended_corrected_and_written_off(signed_in, away):
    early = signed_in.post(reverse("rentals:loan_extend", args=[away.pk]), {"due_on": "2001-01-01"})
    assert early.status_code == 422
    assert "before it is posted" in early.content.decode()
    signed_in.post(reverse("rentals:loan_extend", args=[away.pk]), {"due_on": "2040-01-01"})
    signed_in.post(reverse("rentals:loan_tracking", args=[away.pk]), {"tracking_number": "ZZ 9"})
    away.refresh_from_db()
    assert (away.due_on.year, away.tracking_number) == (2040, "ZZ9")
    signed_in.post(
        reverse("rentals:loan_write_off", args=[away.pk]), {"reason": "lost in the post"}
    )
    away.refresh_from_db()
    assert away.stage == "lost"


def test_an_assignment_is_taken_back(signed_in):
    loan = assigned_loan()
    signed_in.post(reverse("rentals:loan_unassign", args=[loan.pk]))
    loan.refresh_from_db()
    assert loan.stage == "cancelled"


def test_the_lists_take_the_same_queries_for_2_and_12(signed_in, django_assert_max_num_queries):
    kit_type = complete_kit().kit_type
    run = EnrolmentFactory(run__kit_type=kit_type).run

    def out(count: int) -> None:
        for _ in range(count):
            loan = dispatch(packed_loan(complete_kit(kit_type), EnrolmentFactory(run=run)).kit)
            Shortfall.objects.create(
                loan=loan,
                packing_line=loan.packing_lines.first(),
                kind="missing",
                opened_at=loan.dispatched_at,
            )

    out(2)
    pages = [reverse("rentals:receive"), reverse("rentals:shortfalls")]
    counts = []
    for page in pages:
        with django_assert_max_num_queries(20) as few:
            signed_in.get(page)
        counts.append(len(few.captured_queries))
    out(10)
    for page, count in zip(pages, counts, strict=True):
        with django_assert_max_num_queries(count):
            assert signed_in.get(page).status_code == 200

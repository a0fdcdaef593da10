"""Photos on screen: taken at the check, added to a shortfall, shown to the desk only, removed."""

import io
import zipfile

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from PIL import Image

from kitdesk.backups import database_copy
from kitdesk.backups.whole_desk import write_backup
from rentals.actions.dispatch import dispatch
from rentals.actions.receive import arrive, write_off
from rentals.models import LinePhoto
from tests.factories import packed_loan
from tests.rentals.photos import sent

pytestmark = pytest.mark.django_db


def tan(shade: int, **facts: object) -> SimpleUploadedFile:
    return sent(Image.new("RGB", (300, 200), (200, 170, shade)), **facts)


@pytest.fixture
def short():
    loan = write_off(dispatch(packed_loan().kit).kit, reason="It was stolen.")
    return loan.shortfalls.first()


def test_several_photos_are_added_to_a_shortfall_and_shown_there_and_on_the_loan(signed_in, short):
    exif = Image.Exif()
    exif.get_ifd(0x8825)[2] = (48.0, 12.0, 30.0)
    exif[0x010F] = "Maker"
    address = reverse("rentals:shortfall_photos", args=[short.pk])
    page = signed_in.post(address, {"photos": [tan(1, exif=exif), tan(2)]}, follow=True)
    assert "2 photos added." in page.content.decode()
    first, second = short.packing_line.photos.all()
    with first.file.open("rb") as file:
        assert b"Maker" not in file.read()
    settle = reverse("rentals:loan_settle", args=[short.loan_id])
    for shown in (page, signed_in.get(short.loan.get_absolute_url()), signed_in.get(settle)):
        for photo in (first, second):
            assert f'src="/receive/photos/{photo.pk}.jpg"' in shown.content.decode()


@pytest.mark.parametrize("content", [b"no photo", b"<svg onload=alert(1)>", b""])
def test_what_is_no_photo_is_refused_beside_its_box(signed_in, short, content):
    address = reverse("rentals:shortfall_photos", args=[short.pk])
    wrong = SimpleUploadedFile("photo.jpg", content, "image/jpeg")
    answer = signed_in.post(address, {"photos": [tan(1), wrong]})
    assert answer.status_code == 422
    assert answer.context["photos_form"].errors["photos"]
    assert not LinePhoto.objects.exists()
    assert signed_in.post(address).status_code == 422


def test_a_photo_is_served_to_the_desk_alone_and_kept_by_nobody_on_the_way(
    signed_in, client, short
):
    signed_in.post(reverse("rentals:shortfall_photos", args=[short.pk]), {"photos": [tan(1)]})
    address = reverse("rentals:receive_photo", args=[LinePhoto.objects.get().pk])
    answer = signed_in.get(address)
    with Image.open(io.BytesIO(b"".join(answer.streaming_content))) as image:
        assert image.format == "JPEG"
    assert answer["Content-Type"] == "image/jpeg"
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert answer["Cache-Control"] == "no-store"
    assert answer["Content-Disposition"].startswith("inline;")
    assert client.get(address).status_code == 302
    LinePhoto.objects.update(file="damage/gone.jpg")
    assert signed_in.get(address).status_code == 404


def test_a_photo_of_the_check_is_removed_there_after_a_question(signed_in):
    check = arrive(dispatch(packed_loan().kit).kit)
    line = check.lines.get(packing_line__part_kind="charger")
    home = reverse("rentals:receive_kit", args=[check.loan.kit.code])
    touch = reverse("rentals:receive_line", args=[check.loan.kit.code, line.pk])
    for shade in (1, 2, 2):
        data = {f"line{line.pk}-outcome": "damaged", f"line{line.pk}-photo": tan(shade)}
        part = signed_in.post(touch, data, headers={"HX-Request": "true"})
    first, second = line.packing_line.photos.all()
    assert f"/receive/photos/{second.pk}.jpg" in part.content.decode()
    remove = reverse("rentals:photo_remove", args=[first.pk])
    assert "is gone for good" in signed_in.get(remove).content.decode()
    assert signed_in.post(remove).url == home
    assert list(line.packing_line.photos.all()) == [second]


def test_the_backup_holds_the_photos(signed_in, short, tmp_path, monkeypatch):
    # No copy of a database can be made inside a test's transaction.
    monkeypatch.setattr(database_copy, "copy_database", lambda target: target.touch())
    signed_in.post(reverse("rentals:shortfall_photos", args=[short.pk]), {"photos": [tan(1)]})
    write_backup(tmp_path / "desk.zip")
    with zipfile.ZipFile(tmp_path / "desk.zip") as archive:
        assert f"media/{LinePhoto.objects.get().file.name}" in archive.namelist()

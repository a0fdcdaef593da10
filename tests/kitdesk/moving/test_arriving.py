"""What a desk looks at before it lets another one move in."""

import pytest
from django.db import transaction
from django.db.migrations.recorder import MigrationRecorder

from kitdesk.backups.problems import NotPossible
from kitdesk.moving.arriving import _read_table, look_over
from kitdesk.moving.codec import line_of
from kitdesk.moving.leaving import mark_of, own_steps, write_house
from kitdesk.moving.listing import Listing
from rentals.models import Carrier

pytestmark = pytest.mark.any_database
STEPS = sorted(own_steps())


def _house(folder, **about) -> None:
    listing = Listing(folder)
    with listing.writing("files/captures/a.csv") as file:
        file.write(b"t_s,emg")
    known = {"migrations": STEPS, "log_key": "", "signing_key": "", "counters": {}}
    listing.close(known | about)


@pytest.mark.parametrize(
    ("about", "words"),
    [
        ({"migrations": [*STEPS, "rentals.9999_later"]}, "written by a newer Kitdesk"),
        ({"migrations": STEPS[1:]}, "written by an older Kitdesk.*export it again"),
        ({"log_key": "0123"}, "another key than this desk has. Copy log.key"),
    ],
)
def test_another_version_and_another_key_are_told_with_what_to_do(tmp_path, about, words):
    _house(tmp_path, **about)
    with pytest.raises(NotPossible, match=words):
        look_over(tmp_path)


@pytest.mark.django_db
def test_a_desk_that_keeps_files_or_has_no_room_is_left_alone(tmp_path, settings, monkeypatch):
    house = tmp_path / "house"
    _house(house, log_key=mark_of("another"), signing_key=mark_of(settings.SECRET_KEY))
    found = look_over(house, with_other_key=True)
    assert found.names == ["captures/a.csv"] and found.keeps_its_links
    kept = tmp_path / "media" / "captures" / "b.csv"
    kept.parent.mkdir(parents=True)
    kept.touch()
    with pytest.raises(NotPossible, match="keeps files already, for example 'captures/b.csv'"):
        look_over(house, with_other_key=True)
    kept.unlink()
    monkeypatch.setattr("kitdesk.backups.manifest.LEFT_FREE", 2**60)
    with pytest.raises(NotPossible, match="Make room there"):
        look_over(house, with_other_key=True)


@pytest.mark.django_db
def test_a_desk_that_is_not_up_to_date_is_brought_there_first(tmp_path):
    MigrationRecorder.Migration.objects.filter(app="rentals").order_by("name").last().delete()
    with pytest.raises(NotPossible, match="Run `python3 manage.py prepare`, then export again"):
        write_house(tmp_path / "house")
    assert not (tmp_path / "house").exists()


@pytest.mark.django_db
@pytest.mark.parametrize("value", [str(2**63), str(10**400), "[" * 50_000, '"a\\u0000"', "{}"])
def test_a_row_that_no_desk_wrote_is_refused_by_its_line(tmp_path, value):
    columns = [field.column for field in Carrier._meta.local_concrete_fields]
    row = {"id": "1", "name": '"Post"', "address_pattern": '""'} | {"id": value}
    line = ", ".join(row.get(column, "null") for column in columns)
    table = tmp_path / "rows" / f"{Carrier._meta.db_table}.jsonl"
    table.parent.mkdir()
    table.write_bytes(line_of(columns) + f"[{line}]\n".encode())
    with pytest.raises(NotPossible, match=r"rentals_carrier.jsonl, line"), transaction.atomic():
        _read_table(Carrier, tmp_path)
    assert not Carrier.objects.exists()

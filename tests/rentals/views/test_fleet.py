"""A fleet goes from a table to kits with their parts through its preview; the preview keeps
nothing.
"""

import re
import uuid

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from rentals.models import Kit, Part
from rentals.roster.fleet_words import FLEET_HEADS
from rentals.roster.reading import read_roster
from rentals.verify import verify
from tests.factories import KitTypeFactory, complete_kit, spare
from tests.test_reading_writes_nothing import refuse_writes

pytestmark = pytest.mark.django_db

PAGE = "/kits/fleet/"
KINDS = ("Amplifier", "Licence key", "Lead set", "Battery pack", "Charger")


def rows(*kits: str) -> str:
    """A pasted table of whole kits."""
    lines = [f"{kit}\t{kind}\t{kind[:2]}-{kit}" for kit in kits for kind in KINDS]
    return "\n".join(["Kit\tKind\tSerial", *lines])


def send(client: Client, table: str, do: str = "look", **more: object):
    kit_type = more.pop("kit_type", None) or KitTypeFactory.create()
    data = {"table": table, "kit_type": kit_type.pk, "do": do, "form_key": str(uuid.uuid4())}
    return client.post(PAGE, data | more, follow=True)


def confirm(client: Client, looked, **changed: str):
    """Press the button of a preview as the browser would send it."""
    form = looked.context["form"]
    seen = looked.context["preview"].seen
    data = {"table": form["table"].value(), "kit_type": form["kit_type"].value(), "seen": seen}
    data |= {"do": "save", "form_key": str(uuid.uuid4())}
    return client.post(PAGE, data | changed, follow=True)


def text_of(response) -> str:
    return " ".join(response.content.decode().split())


def test_a_pasted_fleet_is_looked_at_and_registered_with_one_press(signed_in: Client) -> None:
    kit_type = KitTypeFactory()
    with connection.execute_wrapper(refuse_writes):
        looked = send(signed_in, rows("1", "2", "3"), kit_type=kit_type)
    shown = text_of(looked)
    assert "3 new kits, 15 new parts." in shown and "new kit “2”" in shown
    assert "Register 3 kits and 15 parts" in shown
    assert not Kit.objects.exists() and not Part.objects.exists()
    done = confirm(signed_in, looked)
    assert done.redirect_chain[-1][0] == "/kits/?state=bench"
    assert "3 new kits and 15 new parts are registered, 15 fitted." in text_of(done)
    kits = list(Kit.objects.order_by("pk"))
    assert [kit.note for kit in kits] == ["1", "2", "3"]
    assert [kit.parts.count() for kit in kits] == [5, 5, 5]
    assert all(kit.not_cleared_reason.startswith("It has never") for kit in kits)
    assert Part.objects.get(serial="Ch-2").kit == kits[1] and verify() == []
    again = send(signed_in, rows("1", "2", "3"), kit_type=kit_type)
    assert again.context["preview"].there == 15
    assert "All of this is on file already" in text_of(confirm(signed_in, again))


def test_the_same_press_twice_registers_once(signed_in: Client) -> None:
    looked = send(signed_in, rows("1"))
    key = str(uuid.uuid4())
    for _ in range(2):
        confirm(signed_in, looked, form_key=key)
    assert (Kit.objects.count(), Part.objects.count()) == (1, 5)


def test_existing_kits_are_filled_and_spares_on_file_are_fitted(signed_in: Client) -> None:
    kit_type = KitTypeFactory()
    confirm(signed_in, send(signed_in, "Kit;Kind;SN\n7;amp;A1", kit_type=kit_type))
    kit, charger = Kit.objects.get(), spare("charger", "C1")
    table = f"Kit,Kind,SN\n7,leads,L1\n{kit.code},charger,c1\n,amp,A2"
    looked = send(signed_in, table, kit_type=kit_type)
    assert "0 new kits, 2 new parts, 1 spare goes in." in text_of(looked)
    confirm(signed_in, looked)
    assert {part.kind for part in kit.parts.all()} == {"amplifier", "lead_set", "charger"}
    charger.refresh_from_db()
    assert charger.kit == kit and Part.objects.get(serial="A2").place == "spare"
    assert Kit.objects.count() == 1 and verify() == []


def test_every_bad_row_is_named_and_nothing_typed_is_lost(signed_in: Client) -> None:
    fitted = complete_kit().parts.get(kind="charger")
    table = f"Kit\tKind\tSerial\n1\tamp\tA1\n1\tspoon\tS1\n2\tcharger\t{fitted.serial}"
    looked = send(signed_in, table)
    shown = text_of(looked)
    assert "2 rows stand in the way." in shown and "Register" not in shown
    assert "Cell B3: “spoon” is no kind of part" in shown and "Cell A4: Charger" in shown
    assert looked.context["form"]["table"].value() == table
    assert [shown.row.number for shown in looked.context["preview"].rows] == [3, 4, 2]
    refused = text_of(confirm(signed_in, looked))
    assert "Nothing was registered: 2 rows stand in the way (row 3, 4)." in refused
    assert "S1" in refused and not Part.objects.filter(serial="A1").exists()


def test_bad_rows_are_left_out_on_purpose_and_the_others_keep_their_numbers(
    signed_in: Client,
) -> None:
    table = "Kit\tKind\tSerial\n1\tspoon\tS1\n1\tamp\tA1"
    looked = send(signed_in, table, do="leave_wrong")
    preview = looked.context["preview"]
    assert [shown.row.number for shown in preview.rows] == [3] and preview.to_do
    confirm(signed_in, looked)
    assert Kit.objects.get().parts.get().serial == "A1"


def test_an_uploaded_table_stands_in_the_box_to_be_corrected(signed_in: Client) -> None:
    file = SimpleUploadedFile("fleet.csv", "Koffer;Art;Seriennummer\n1;Akku;B1\n".encode("cp1252"))
    looked = send(signed_in, "", file=file)
    assert "1 new kit, 1 new part." in text_of(looked)
    assert "1\tAkku\tB1" in looked.context["form"]["table"].value()
    confirm(signed_in, looked)
    assert Part.objects.get().kind == "battery_pack"


def test_a_column_without_a_known_heading_is_asked_for(signed_in: Client) -> None:
    kit_type = KitTypeFactory()
    table = "Kit,Kind,Nummer\n1,amp,A1"
    asked = send(signed_in, table, kit_type=kit_type)
    assert asked.status_code == 422
    assert "No heading says which column holds the serial number" in text_of(asked)
    assert "“Nummer”" in text_of(asked) and re.search(r"<details\s+open", asked.content.decode())
    looked = send(signed_in, table, kit_type=kit_type, column_serial="2")
    assert "1 new kit, 1 new part." in text_of(looked)
    file = SimpleUploadedFile("fleet.csv", table.encode())
    uploaded = send(signed_in, "", kit_type=kit_type, file=file)
    assert "A1" in uploaded.context["form"]["table"].value() and uploaded.status_code == 422
    spares = send(signed_in, "Kind,SN\namp,A1", kit_type=kit_type, column_kit="-1")
    assert "0 new kits, 1 new part." in text_of(spares)


@pytest.mark.parametrize(
    ("table", "said"),
    [
        ("", "Choose a file or paste the table first"),
        ("Kit,Kind,Serial", "no parts below them"),
        ("Kit,Kind,Serial\n" + "1,amp,A\n" * 2001, "Split the table"),
        ("x" * (5 * 1024 * 1024), "larger than 4 MB"),
    ],
)
def test_a_table_that_cannot_be_read_is_answered_with_a_sentence(
    signed_in: Client, table: str, said: str
) -> None:
    refused = send(signed_in, table)
    assert refused.status_code == 422 and said in text_of(refused)


def test_what_changed_since_the_preview_is_looked_at_again(signed_in: Client) -> None:
    looked = send(signed_in, rows("1"))
    spare("charger", "Ch-1")
    refused = confirm(signed_in, looked)
    assert "is not as it was in the preview" in text_of(refused)
    assert refused.context["preview"].spares == 1 and not Kit.objects.exists()
    assert "Nothing was registered" in text_of(confirm(signed_in, looked, table=rows("2")))
    confirm(signed_in, refused)
    assert Kit.objects.get().parts.count() == 5


def test_a_preview_takes_as_many_queries_for_many_rows_as_for_few(signed_in: Client) -> None:
    kit_type = KitTypeFactory()
    counts = []
    for kits in (2, 40):
        with CaptureQueriesContext(
            connection,
        ) as queries:
            send(signed_in, rows(*map(str, range(kits))), kit_type=kit_type)
        counts.append(len(queries))
    assert counts[0] == counts[1]


@pytest.mark.parametrize("form", ["csv", "xlsx"])
def test_the_table_to_fill_in_has_headings_that_are_all_read(signed_in: Client, form: str) -> None:
    empty = signed_in.get(reverse("rentals:fleet_template", args=[form]))
    heads = read_roster(empty.content).rows[0].cells
    assert list(FLEET_HEADS.fields_in(heads)) == ["kit", "kind", "serial"]


def test_it_is_offered_where_kits_are_added_and_asks_for_a_kit_type_first(
    signed_in: Client,
) -> None:
    assert "/setup/kit-types/starter/" in signed_in.get(PAGE).content.decode()
    kit_type = KitTypeFactory()
    address = f'{PAGE}?type={kit_type.pk}"'
    assert address in signed_in.get(kit_type.get_absolute_url()).content.decode()
    for page in ("/kits/", "/kits/new/"):
        assert PAGE in signed_in.get(page).content.decode()


def test_a_swapped_head_is_named_once_and_said_in_the_choice_of_columns(signed_in: Client) -> None:
    complete_kit()
    swapped = "Kit,Kind,Serial\n7,AM-9,amplifier\n7,CH-9,charger\n"
    shown = text_of(send(signed_in, swapped))
    assert shown.count("holds no kinds of parts") == 1 and "Which column is what" in shown
    shown = text_of(send(signed_in, swapped, column_kind="2", column_serial="1"))
    assert "1 new kit, 2 new parts" in shown


def test_the_letters_of_a_fleets_file_are_chosen_by_its_names(signed_in: Client) -> None:
    rows = "Kit,Kind,Serial\nŻaba 1,amplifier,AM-9\nŁódź 2,amplifier,AM-8\n"
    file = SimpleUploadedFile("fleet.csv", rows.encode("cp1250"))
    kit_type = KitTypeFactory.create()
    shown = send(signed_in, "", file=file, kit_type=kit_type)
    form = shown.context["form"]
    assert "Are the letters right?" in text_of(shown)
    samples = {reading.encoding: reading.samples for reading in form.readings}
    assert "Żaba 1" in samples["cp1250"]
    wrong = next(code for code in samples if code not in ("cp1250", form.read_as))
    box = {"read_as": form.read_as, "original": form.carried, "kit_type": kit_type}
    other = send(signed_in, form["table"].value(), letters=wrong, **box)
    assert other.context["form"].read_as == wrong
    box |= {"read_as": wrong}
    right = send(signed_in, other.context["form"]["table"].value(), letters="cp1250", **box)
    assert "new kit “Łódź 2”" in text_of(right)
    assert "Żaba 1" in right.context["form"]["table"].value()
    broken = send(signed_in, rows, letters="cp1250", **box | {"original": "no base64"})
    assert "new kit “Łódź 2”" in text_of(broken)

"""The whole loop through the client and the command line, without a browser."""

import io
import json
import re

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import call_command
from django.urls import reverse

from rentals.models import Enrolment, Kit, Loan, Message, Part, Shortfall
from tests.factories import spare
from tests.flows.desk import ROSTER, attached_text, captures, house

pytestmark = pytest.mark.django_db(transaction=True)


def text_of(answer) -> str:
    return answer.content.decode()


def imported(signed_in, run) -> Enrolment:
    upload = reverse("rentals:run_import", args=[run.pk])
    preview = signed_in.post(upload, {"file": SimpleUploadedFile("roster.csv", ROSTER)}).url
    page = text_of(signed_in.get(preview))
    assert "not an address" in page
    assert not Enrolment.objects.exists()
    signed_in.post(preview, {"do": "leave_bad", "show": "bad", "shown": "3,"})
    signed_in.post(preview, {"do": "import"})
    return Enrolment.objects.get(run=run)


def packed(signed_in, kit: Kit, other: Kit) -> None:
    code = kit.code
    assert signed_in.get(reverse("rentals:scan"), {"q": code}).url == reverse(
        "rentals:pack_kit", args=[code]
    )
    signed_in.get(reverse("rentals:pack_kit", args=[code]))
    scan = reverse("rentals:pack_scan", args=[code])
    wrong = signed_in.post(scan, {"scan": other.parts.get(kind="charger").code}, follow=True)
    assert f"belongs to kit {other.code}" in text_of(wrong)
    for part in kit.parts.all():
        signed_in.post(scan, {"scan": part.code})
    for line in Loan.objects.get(kit=kit, stage="assigned").packing_lines.filter(part=None):
        signed_in.post(reverse("rentals:pack_tick", args=[code]), {"tick": line.pk})
    signed_in.post(reverse("rentals:pack_close", args=[code]), {"parcel_mass_g": "812"})


def received_with_losses(signed_in, kit: Kit) -> Loan:
    signed_in.post(reverse("rentals:receive_arrived", args=[kit.code]))
    loan = Loan.objects.get(kit=kit, stage="check")
    data = {"finish": "1"}
    for line in loan.return_check.lines.select_related("packing_line"):
        name, kind = f"line{line.pk}", line.packing_line.part_kind
        data |= {f"{name}-outcome": "back", f"{name}-cleaned": "on", f"{name}-charged": "on"}
        if kind == "licence_key":
            data[f"{name}-outcome"] = "missing"
        if kind == "lead_set":
            data |= {
                f"{name}-outcome": "damaged",
                f"{name}-damaged_lead": "B",
                f"{name}-note": "kinked",
            }
        if not line.packing_line.comes_back:
            del data[f"{name}-outcome"]
    answer = signed_in.post(reverse("rentals:receive_kit", args=[kit.code]), data)
    assert answer.url == loan.get_absolute_url()
    return loan


def dropped(signed_in, files: list[tuple[str, bytes]]) -> str:
    sent = [SimpleUploadedFile(name, data) for name, data in files]
    return text_of(signed_in.post(reverse("readiness:bench_upload"), {"files": sent}, follow=True))


def test_a_kit_goes_out_comes_back_broken_is_mended_and_goes_out_again(
    signed_in, smtp_server, tmp_path
):
    run, next_run, kit, other = house()
    enrolment = imported(signed_in, run)
    signed_in.post(reverse("rentals:run_assign", args=[run.pk]), {f"kit_{enrolment.pk}": kit.code})
    packed(signed_in, kit, other)
    mail = Message.objects.get(occasion="packing_list")
    signed_in.post(reverse("rentals:message_approve", args=[mail.pk]))
    (arrived,) = smtp_server.received
    assert arrived.recipients == ("zoe@strings.example",)
    printed = attached_text(arrived)
    assert "Zoë Álvarez-Ruíz" in printed
    assert kit.parts.get(kind="lead_set").serial in printed
    signed_in.post(reverse("rentals:pack_dispatch", args=[kit.code]), {"tracking_number": "RR 42"})
    kit.refresh_from_db()
    assert kit.state == "away"

    loan = received_with_losses(signed_in, kit)
    assert dict(Shortfall.objects.values_list("packing_line__part_kind", "kind")) == {
        "licence_key": "missing",
        "lead_set": "damaged",
    }
    assert "Licence key" in Message.objects.get(occasion="shortfall").body_text
    assert "Lead B opens when flexed" in dropped(signed_in, captures(kit, seed=1, broken=True))

    signed_in.post(
        reverse("rentals:enrol", args=[next_run.pk]),
        {"name": "Ben", "email": "ben@strings.example"},
    )
    next_one = Enrolment.objects.get(run=next_run)
    signed_in.post(
        reverse("rentals:run_assign", args=[next_run.pk]), {f"kit_{next_one.pk}": kit.code}
    )
    refused = signed_in.post(reverse("rentals:pack_close", args=[kit.code]), {}, follow=True)
    assert "Intermittent lead B" in text_of(refused)
    assert Loan.objects.get(kit=kit, enrolment=next_one).stage == "assigned"

    old = kit.parts.get(kind="lead_set")
    swap = reverse("rentals:kit_swap", args=[kit.code, old.code])
    signed_in.post(
        swap, {"part": spare("lead_set").code, "to": "repair", "reason": "lead B kinked"}
    )
    signed_in.post(reverse("rentals:kit_fit", args=[kit.code]), {"part": spare("licence_key").code})
    dropped(signed_in, captures(kit, seed=2, broken=False))
    kit.refresh_from_db()
    assert (kit.state, kit.cleared, kit.not_cleared_reason) == ("assigned", True, "")
    packed(signed_in, kit, other)
    assert Loan.objects.get(kit=kit, enrolment=next_one).stage == "packed"
    assert Part.objects.get(pk=old.pk).place == "repair"

    out = io.StringIO()
    call_command("verify", stdout=out)
    assert "All in order" in out.getvalue()
    assert loan.events.count() >= 5


def test_the_same_files_are_scored_on_the_command_line(tmp_path, capsys):
    from readiness.signal.command import main

    class Named:
        code = "K0001O"

    paths = []
    for name, data in captures(Named, seed=1, broken=True):
        paths.append(tmp_path / name)
        paths[-1].write_bytes(data)
    status = main([*map(str, paths), "--json"])
    lines = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    assert [line["verdict"] for line in lines] == ["fit", "not fit", "fit"]
    assert lines[1]["findings"][0] | {"text": "", "action": ""} == {
        "code": "intermittent_lead",
        "aspect": "continuity",
        "lead": "B",
        "verdict": "not fit",
        "text": "",
        "action": "",
    }
    assert re.search("lead B", lines[1]["findings"][0]["action"])
    assert status == 1

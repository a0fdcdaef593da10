"""Mail as files."""

import email
import email.policy

import pytest
from django.core.mail import EmailMessage, EmailMultiAlternatives, get_connection


@pytest.fixture
def backend(settings):
    return get_connection("kitdesk.mail_files.EmlBackend")


def test_a_mail_becomes_a_file_that_mail_programs_open(backend, settings):
    mail = EmailMultiAlternatives(
        "Packing list für Zoë", "Hello", "desk@desk.example", ["zoe@desk.example"]
    )
    mail.attach("list.pdf", b"%PDF-1.4 x", "application/pdf")
    assert backend.send_messages([mail]) == 1
    (file,) = settings.KITDESK_OUTBOX.iterdir()
    assert file.suffix == ".eml" and "zoe@desk.example" in file.name
    read = email.message_from_bytes(file.read_bytes(), policy=email.policy.default)
    assert read["Subject"] == "Packing list für Zoë"
    assert read["To"] == "zoe@desk.example"
    (attached,) = read.iter_attachments()
    assert (attached.get_filename(), attached.get_content()) == ("list.pdf", b"%PDF-1.4 x")


def test_two_mails_of_one_moment_make_two_files(backend, settings, time_machine):
    time_machine.move_to("2026-03-01 09:00:00Z", tick=False)
    mails = [EmailMessage("A", "a", "d@desk.example", ["a@desk.example"]) for _ in range(2)]
    assert backend.send_messages(mails) == 2
    assert len(list(settings.KITDESK_OUTBOX.glob("*.eml"))) == 2


def test_an_address_never_leads_out_of_the_outbox(backend, settings):
    mail = EmailMessage("A", "a", "d@desk.example", ['"../../x"@desk.example'])
    backend.send_messages([mail])
    (file,) = settings.KITDESK_OUTBOX.iterdir()
    assert file.parent == settings.KITDESK_OUTBOX


def test_a_mail_to_nobody_is_not_counted(backend, settings):
    assert backend.send_messages([EmailMessage("A", "a", "d@desk.example", [])]) == 0


def test_a_full_disk_is_not_silent(backend, settings, tmp_path):
    (tmp_path / "file").write_text("in the way")
    settings.KITDESK_OUTBOX = tmp_path / "file" / "outbox"
    with pytest.raises(OSError):
        backend.send_messages([EmailMessage("A", "a", "d@desk.example", ["a@desk.example"])])


def test_smtp_really_sends(smtp_server):
    EmailMessage("Due soon", "Hello", "desk@desk.example", ["ben@desk.example"]).send()
    (got,) = smtp_server.received
    assert got.recipients == ("ben@desk.example",)
    assert got.message["Subject"] == "Due soon"


def test_the_smtp_server_refuses_when_told(smtp_server):
    import smtplib

    smtp_server.refuse["ben@desk.example"] = "550 no such box"
    with pytest.raises(smtplib.SMTPRecipientsRefused):
        EmailMessage("Due soon", "Hello", "desk@desk.example", ["ben@desk.example"]).send()
    smtp_server.drop = "after-data"
    with pytest.raises((smtplib.SMTPServerDisconnected, ConnectionError)):
        EmailMessage("Due soon", "Hello", "desk@desk.example", ["eve@desk.example"]).send()
    assert len(smtp_server.received) == 1

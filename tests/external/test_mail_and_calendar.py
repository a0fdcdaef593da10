"""Mail and calendar against the published rules: RFC 5321, 5322, 2047, 6531 and 5545.

Standards rows: W9 to W13, F11, F12. The limits are those printed in the RFCs; W12's and F11's
vectors were worked out apart from this code (R2 or computed), the rest from memory of the RFC's
text.
"""

from __future__ import annotations

import email
import email.policy
from datetime import UTC, date, datetime
from email.header import decode_header, make_header

import pytest
from django.core.mail import BadHeaderError, EmailMessage

from rentals.post.building import build
from rentals.post.calendar import DeskDay, RunDates, feed_bytes
from rentals.post.headers import encoded, with_name
from rentals.roster.addresses import email_fault
from rentals.selectors.letters import letter_of, mail_sender
from tests.rentals.letters import mail_to

SUBJECT = ("Gerät für Übung " * 8).strip()


def _raw(**facts: object) -> bytes:
    return (
        build(letter_of(mail_to(**{"address": "ada@strings.example", **facts})), mail_sender())
        .message()
        .as_bytes(linesep="\r\n")
    )


def _header_lines(raw: bytes) -> list[bytes]:
    return raw.partition(b"\r\n\r\n")[0].split(b"\r\n")


@pytest.mark.parametrize(("octets", "usable"), [(64, True), (65, False)])
def test_w9_local_part(octets, usable):
    """RFC 5321 section 4.5.3.1.1: a local part has at most 64 octets."""
    assert (email_fault("a" * octets + "@strings.example") == "") is usable


@pytest.mark.parametrize(("octets", "usable"), [(254, True), (255, False)])
def test_w9_whole_address(octets, usable):
    """RFC 5321 section 4.5.3.1.3: a path has 256 octets with its brackets, so an address has
    254.
    """
    label = "b" * 50
    domain = (
        ".".join([label, label, label, "c" * (octets - 64 - 1 - 3 * 51 - len(".example"))])
        + ".example"
    )
    address = "a" * 64 + "@" + domain
    assert len(address) == octets
    assert (email_fault(address) == "") is usable


def test_w9_octets_of_a_domain_are_counted_in_its_ascii_form():
    """RFC 5321 counts octets as they go over the wire: xn-- labels, not letters."""
    domain = ".".join(["ü" * 30] * 6) + ".example"
    address = f"{'a' * 60}@{domain}"
    assert len(address) == 254
    assert "longer than 254" in email_fault(address)


@pytest.mark.django_db
@pytest.mark.parametrize("body", ["word " * 500, "x" * 1500, "ü" * 900, "- " + "long item " * 60])
def test_w10_lines(body):
    """RFC 5322 section 2.1.1: at most 998 octets a line, and 78 where possible; RFC 2045 section
    6.7: 76 in a body.
    """
    raw = _raw(body_text=body, body_html="")
    assert max(len(line) for line in raw.split(b"\r\n")) <= 78
    assert raw.isascii()
    plain = (
        email.message_from_bytes(raw, policy=email.policy.default)
        .get_body(("plain",))
        .get_content()
    )
    assert plain.split() == body.split()


@pytest.mark.django_db
def test_w11_each_header_once():
    """RFC 5322 section 3.6: one From and one Date, at most one To, Subject, Message-ID and
    Reply-To.
    """
    parsed = email.message_from_bytes(_raw(), policy=email.policy.default)
    for name in ("From", "Date", "To", "Subject", "Message-ID"):
        assert len(parsed.get_all(name)) == 1, name
    assert len(parsed.get_all("Reply-To", [])) <= 1
    assert parsed["Message-ID"].startswith("<")


def test_w11_the_library_refuses_a_second_header_too():
    """A line break in a subject: Django raises BadHeaderError (measured), whatever our own check
    says before.
    """
    with pytest.raises(BadHeaderError):
        EmailMessage(
            subject="a\nBcc: x@evil.example", body="x", to=["ada@strings.example"]
        ).message()


@pytest.mark.django_db
@pytest.mark.parametrize(
    "subject", [SUBJECT, "Żółty skrzypek " * 6, "张伟的小提琴 " * 8, "🎻" * 40, "plain " * 30]
)
def test_w12_encoded_words(subject):
    """RFC 2047 section 2: an encoded word has at most 75 characters, its line 76; it decodes to the
    original.
    """
    raw = _raw(subject=subject.strip())
    for line in _header_lines(raw):
        assert line.isascii()
        assert len(line) <= (76 if b"=?" in line else 78)
        for word in line.split():
            assert len(word) <= 75 or b"=?" not in word
    kept = email.message_from_bytes(raw)["Subject"].replace("\r\n", "")
    assert str(make_header(decode_header(kept))) == subject.strip()


@pytest.mark.django_db
@pytest.mark.parametrize(
    "name", ["Zoë Łukasz", "张伟", 'Ada "the bow", B. <x@evil.example>', "O'Neil (viola)", "=?x?="]
)
def test_w12_names(name):
    """RFC 2047 section 5 and RFC 5322 section 3.4: a name, whatever is in it, stays a name and adds
    no address.
    """
    parsed = email.message_from_bytes(_raw(to_name=name), policy=email.policy.default)
    (to,) = parsed["To"].addresses
    assert (to.display_name, to.addr_spec) == (name, "ada@strings.example")


def test_w13_local_parts_beyond_ascii_are_refused_and_domains_become_a_labels():
    """RFC 6531: letters beyond ASCII before the @ need SMTPUTF8 end to end. RFC 5891's example
    domain: bücher.
    """
    assert "before the @" in email_fault("jörg@strings.example")
    assert email_fault("ada@bücher.example") == ""
    assert with_name("", "ada@bücher.example") == "ada@xn--bcher-kva.example"
    assert encoded("plain") == "plain"


def _feed(day: DeskDay) -> bytes:
    return feed_bytes(
        [day],
        name="Ease at the Instrument",
        site_url="https://desk.example",
        desk="one.kitdesk",
    )


CHANGED = datetime(2026, 5, 1, 8, 0, tzinfo=UTC)


def _run(key: int, name: str) -> RunDates:
    return RunDates(key, name, f"/runs/{key}/", date(2026, 3, 2), date(2026, 5, 14), CHANGED)


def _unfolded(feed: bytes) -> list[str]:
    return feed.replace(b"\r\n ", b"").decode().split("\r\n")


def test_f11_folding():
    """RFC 5545 section 3.1: 75 octets a line, never cut inside a UTF-8 sequence.

    Vector: "DESCRIPTION:" and 40 x e-acute is 52 characters and 92 octets, folded into lines of 74
    and 19 octets.
    """
    import icalendar

    event = icalendar.Event()
    event.add("description", "é" * 40)
    lines = [line for line in event.to_ical().split(b"\r\n") if b"\xc3" in line]
    assert [len(line) for line in lines] == [74, 19]

    run = _run(1, "Übung, für Geige; Teil\\Zwei " + "é" * 60)
    feed = _feed(DeskDay("return", date(2026, 5, 14), run, kits=[f"K{n:04d}X" for n in range(40)]))
    assert all(len(line) <= 75 for line in feed.split(b"\r\n"))
    for line in feed.split(b"\r\n"):
        line.decode()  # a cut sequence would not decode
    summary = next(line for line in _unfolded(feed) if line.startswith("SUMMARY:"))
    assert summary.endswith("Übung\\, für Geige\\; Teil\\\\Zwei " + "é" * 60)


def test_f12_required_properties_and_the_day_after():
    """RFC 5545 sections 3.6, 3.6.1, 3.8.2.2: VERSION, PRODID, UID, DTSTAMP; an all-day entry ends
    on the day after.
    """
    run = _run(7, "Spring")
    lines = _unfolded(_feed(DeskDay("post", date(2026, 5, 14), run, kits=["K0001A"])))
    assert lines[0] == "BEGIN:VCALENDAR"
    assert "VERSION:2.0" in lines
    for name in ("PRODID:", "UID:", "DTSTAMP:"):
        assert sum(line.startswith(name) for line in lines) == 1, name
    assert "DTSTART;VALUE=DATE:20260514" in lines
    assert "DTEND;VALUE=DATE:20260515" in lines
    assert "DTSTAMP:20260501T080000Z" in lines
    assert "LAST-MODIFIED:20260501T080000Z" in lines
    # RFC 7986 section 5.7
    assert "REFRESH-INTERVAL;VALUE=DURATION:PT1H" in lines
    assert lines[-2:] == ["END:VCALENDAR", ""]


def test_f12_uids_stay_the_same_from_one_reading_to_the_next():
    """RFC 5545 section 3.8.4.7: the UID is what a calendar knows an entry by."""
    run = _run(7, "Spring")
    read = [
        [
            line
            for line in _unfolded(_feed(DeskDay("post", date(2026, 5, 14), run, kits=kits)))
            if line.startswith("UID:")
        ]
        for kits in ([], ["K0001A"])
    ]
    assert read[0] == read[1]

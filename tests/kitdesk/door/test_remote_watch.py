"""A folder of another machine goes to the desk: each file once, also while the line is down."""

from __future__ import annotations

import datetime
import ipaddress
import ssl
import threading
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, HTTPServer
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import NameOID

from kitdesk import dispatch
from readiness.intake.desk_line import DeskLine, LineTrouble
from readiness.intake.folder import LOOKS, WatchedFolder
from readiness.intake.remote_folder import RemoteFolder
from readiness.intake.remote_watch import watch_for
from readiness.models import Capture
from rentals.access_keys import new_key
from rentals.actions.access_tokens import make_access_token
from tests.factories import complete_kit
from tests.kitdesk.door.serving import ServedDesk
from tests.readiness.captures import capture_bytes


@pytest.fixture
def desk(transactional_db) -> Iterator[ServedDesk]:
    served = ServedDesk()
    served.start()
    yield served
    served.stop()


@pytest.fixture
def folder(tmp_path) -> Path:
    place = tmp_path / "recordings"
    place.mkdir()
    return place


def _token_file(tmp_path: Path, key: str) -> Path:
    path = tmp_path / "token.txt"
    path.write_text(f"{key}\n")
    return path


class Watch:
    """Somebody who watches a folder, with a clock that stands still until it is put forward."""

    def __init__(self, folder: Path, line: DeskLine) -> None:
        self.lines: list[str] = []
        self.now = 0.0
        self.remote = RemoteFolder(WatchedFolder(folder), line, self.lines.append, lambda: self.now)

    def looks(self, times: int = LOOKS) -> list[str]:
        """What was said in so many looks."""
        before = len(self.lines)
        for _ in range(times):
            self.remote.look()
        return self.lines[before:]


def test_files_arrive_once_though_the_desk_goes_down_between(desk, folder, tmp_path):
    kit = complete_kit(cleared=False)
    key = make_access_token("Bench", ["captures:write", "verdicts:read"])
    line = DeskLine(desk.address, _token_file(tmp_path, key))
    watch = Watch(folder, line)
    (folder / "a.csv").write_bytes(capture_bytes("still", kit=kit.code))
    (folder / "growing.csv").touch()
    (folder / "broken.csv").write_bytes(b"\x00\x01nothing")
    said = watch.looks()
    assert "a.csv: sent." in said and f"a.csv: scored for kit {kit.code}, still: fit." in said
    assert any(row.startswith("broken.csv: kept, and not readable.") for row in said)
    assert Capture.objects.count() == 2
    # The line goes down: said once, tried again after longer and longer waits.
    desk.stop()
    (folder / "b.csv").write_bytes(capture_bytes("flex", kit=kit.code))
    [down] = watch.looks(LOOKS + 3)
    assert "cannot be reached" in down and "sent later" in down
    waits = []
    for _ in range(9):
        before = watch.remote._not_before
        watch.now = before
        assert watch.looks(1) == []
        waits.append(watch.remote._not_before - before)
    assert waits == [4, 8, 16, 32, 64, 128, 256, 300, 300]
    desk.start()
    assert watch.looks(1) == []  # not before its time
    watch.now = watch.remote._not_before
    assert watch.looks(1) == ["b.csv: sent.", f"b.csv: scored for kit {kit.code}, flex: fit."]
    # Somebody begins to watch anew: nothing is sent twice.
    again = Watch(folder, line).looks()
    assert again.count("a.csv: the desk has it already.") == 1
    assert not any(row.endswith("sent.") for row in again)
    assert Capture.objects.count() == 3
    assert {c.upload.by.username for c in Capture.objects.all()} == {"token Bench"}


def test_what_is_refused_is_put_aside_with_the_sentence(desk, folder, tmp_path, settings):
    settings.KITDESK_CAPTURE_MAX_BYTES = 1000
    key = make_access_token("Bench", ["captures:write"])
    watch = Watch(folder, DeskLine(desk.address, _token_file(tmp_path, key)))
    (folder / "large.csv").write_bytes(b"1\n" * 600)
    [said] = watch.looks()
    assert said.startswith("large.csv: refused, put into refused. The file has")
    assert (folder / "refused" / "large.csv").exists() and not (folder / "large.csv").exists()
    assert "at most" in (folder / "refused" / "large.csv.reason.txt").read_text()
    # A token that opens nothing is mended while the program runs.
    (tmp_path / "token.txt").write_text(new_key())
    (folder / "small.csv").write_bytes(b"1\n")
    [said] = watch.looks()
    assert said.startswith("This desk knows no such token.")
    (tmp_path / "token.txt").write_text(key)
    watch.now = watch.remote._not_before
    assert watch.looks(1) == ["small.csv: sent."]


@pytest.fixture
def certificate(tmp_path) -> tuple[Path, Path]:
    """A certificate of this machine's own, and its key."""
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "desk")])
    now = datetime.datetime.now(datetime.UTC)
    made = (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(key.public_key())
        .serial_number(1)
        .not_valid_before(now - datetime.timedelta(days=1))
        .not_valid_after(now + datetime.timedelta(days=1))
        .add_extension(
            x509.SubjectAlternativeName([x509.IPAddress(ipaddress.ip_address("127.0.0.1"))]),
            critical=False,
        )
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .sign(key, hashes.SHA256())
    )
    cert, secret = tmp_path / "cert.pem", tmp_path / "key.pem"
    cert.write_bytes(made.public_bytes(serialization.Encoding.PEM))
    secret.write_bytes(
        key.private_bytes(
            serialization.Encoding.PEM,
            serialization.PrivateFormat.PKCS8,
            serialization.NoEncryption(),
        )
    )
    return cert, secret


class _Elsewhere(BaseHTTPRequestHandler):
    """Answers every question with a redirect to another place."""

    def do_GET(self) -> None:
        self.send_response(302)
        self.send_header("Location", "https://elsewhere.example/")
        self.send_header("Content-Length", "0")
        self.end_headers()

    def log_message(self, *_: object) -> None:
        """Nothing is said to standard error."""


@pytest.mark.any_database
def test_a_certificate_is_checked_and_a_redirect_not_followed(certificate, tmp_path):
    cert, secret = certificate
    server = HTTPServer(("127.0.0.1", 0), _Elsewhere)
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(cert, secret)
    server.socket = context.wrap_socket(server.socket, server_side=True)
    thread = threading.Thread(target=server.serve_forever, args=(0.05,))
    thread.start()
    token = _token_file(tmp_path, new_key())
    address = f"https://127.0.0.1:{server.server_port}"
    try:
        with pytest.raises(LineTrouble, match="certificate that is not trusted .* --ca"):
            DeskLine(address, token).read("kits")
        with pytest.raises(LineTrouble, match="elsewhere: https://elsewhere.example/"):
            DeskLine(address, token, cert).read("kits")
    finally:
        server.shutdown()
        server.server_close()
        thread.join()


@pytest.mark.any_database
@pytest.mark.parametrize(
    ("address", "token", "words"),
    [
        ("http://desk.example.org", "kitdesk_x", "Only https:// keeps the token secret"),
        ("desk.example.org", "kitdesk_x", "is no address"),
        ("https://desk.example.org", "", "holds no token"),
        ("https://desk.example.org", None, "cannot be read"),
    ],
)
def test_what_cannot_be_used_is_said_before_anything_is_sent(
    address, token, words, folder, tmp_path
):
    path = tmp_path / "none" if token is None else _token_file(tmp_path, token)
    with pytest.raises(LineTrouble, match=words):
        watch_for(folder, DeskLine(address, path), once=True, every=0, say=print)


@pytest.mark.any_database
def test_the_command_needs_no_desk_of_its_own(folder, tmp_path, monkeypatch, capsys):
    monkeypatch.setenv("KITDESK_VAR", str(tmp_path / "no desk"))
    (folder / "a.csv").write_bytes(b"1\n")
    words = ["manage.py", "watch", str(folder), "--once", "--every", "0"]
    words += ["--to", "http://127.0.0.1:9", "--token-file", str(_token_file(tmp_path, "x"))]
    assert dispatch.run(words) == 1
    said = capsys.readouterr()
    assert "cannot be reached" in said.out and "run it again" in said.err
    assert not (tmp_path / "no desk").exists()

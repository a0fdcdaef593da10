"""A browser as far as it is needed here: TLS, cookies, forms as the page offers them, files."""

from __future__ import annotations

import http.client
import ssl
import uuid
from dataclasses import dataclass
from html.parser import HTMLParser
from http.cookies import SimpleCookie
from pathlib import Path
from urllib.parse import urlencode, urlsplit

PATIENCE_S = 120


@dataclass(frozen=True)
class Answer:
    """What came back: status, where it leads, the page; and which machine it came from."""

    status: int
    leads_to: str
    text: str


class _Fields(HTMLParser):
    """The fields of a page's forms with the values they have, by the form's address."""

    def __init__(self) -> None:
        super().__init__()
        self.forms: dict[str, list[tuple[str, str]]] = {}
        self._form: list[tuple[str, str]] | None = None
        self._select = self._area = ""
        self._text = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        at = {name: value or "" for name, value in attrs}
        if tag == "form":
            self._form = self.forms.setdefault(at.get("action", ""), [])
        elif self._form is None:
            return
        elif tag == "input" and at.get("name"):
            kind = at.get("type", "text")
            to_tick = kind in ("checkbox", "radio")
            if kind not in ("file", "submit") and ("checked" in at or not to_tick):
                self._form.append((at["name"], at.get("value", "on" if to_tick else "")))
        elif tag == "select":
            self._select = at.get("name", "")
        elif (
            tag == "option"
            and self._select
            and ("selected" in at or self._select not in dict(self._form))
        ):
            self._form[:] = [pair for pair in self._form if pair[0] != self._select]
            self._form.append((self._select, at.get("value", "")))
        elif tag == "textarea":
            self._area, self._text = at.get("name", ""), ""

    def handle_data(self, data: str) -> None:
        self._text += data

    def handle_endtag(self, tag: str) -> None:
        if tag == "form":
            self._form = None
        elif tag == "select":
            self._select = ""
        elif tag == "textarea" and self._form is not None:
            self._form.append((self._area, self._text.removeprefix("\n")))


class Visitor:
    """One browser at one desk, reached at a loopback port under the desk's own name. One that
    `keeps` its connection sends all over it.
    """

    def __init__(self, port: int, site: str, certificate: Path, *, keeps: bool = False) -> None:
        self._keeps = keeps
        self._port = port
        self._site = site
        self._tls = ssl.create_default_context(cafile=str(certificate))
        self._line: _NamedConnection | None = None
        self.cookies: dict[str, str] = {}

    def get(self, path: str) -> Answer:
        """Ask for a page; redirects are not followed."""
        return self.send("GET", path)

    def fill_in(
        self,
        page: str,
        values: dict[str, str],
        *,
        action: str = "",
        files: list[tuple[str, bytes]] | None = None,
    ) -> Answer:
        """Send a form of a page, its fields as they are but for these values."""
        fields = _Fields()
        fields.feed(self.get(page).text)
        wanted = [action] if action else ["", page]
        names = [name for name in fields.forms if name in wanted]
        if not names:
            raise LookupError(f"{page} has no form {action}, only {[*fields.forms]}")
        pairs = [pair for pair in fields.forms[names[0]] if pair[0] not in values]
        pairs += values.items()
        target = action or page
        if files is None:
            kind = "application/x-www-form-urlencoded"
            return self.send("POST", target, urlencode(pairs).encode(), kind)
        return self.send("POST", target, *_with_files(pairs, files))

    def send(self, method: str, path: str, body: bytes | None = None, kind: str = "") -> Answer:
        """One request. Raises OSError or HTTPException where no answer comes."""
        headers = {"Host": self._site, "Referer": f"https://{self._site}{path}"}
        if self.cookies:
            headers["Cookie"] = "; ".join(f"{k}={v}" for k, v in self.cookies.items())
        if kind:
            headers["Content-Type"] = kind
        if self._line is None:
            self._line = _NamedConnection(self._site, self._port, self._tls)
        try:
            self._line.request(method, path, body, headers)
            answer = self._line.getresponse()
            text = answer.read().decode("utf-8", "replace")
        except BaseException:
            self.leave()
            raise
        if not self._keeps:
            self.leave()
        for header in answer.headers.get_all("Set-Cookie") or []:
            for name, morsel in SimpleCookie(header).items():
                self.cookies[name] = morsel.value
        leads_to = urlsplit(answer.headers.get("Location", ""))
        return Answer(answer.status, leads_to.path, text)

    def leave(self) -> None:
        """Close the connection."""
        line, self._line = self._line, None
        if line is not None:
            line.close()


class _NamedConnection(http.client.HTTPSConnection):
    """To loopback, while the certificate is held against the desk's name."""

    def __init__(self, site: str, port: int, tls: ssl.SSLContext) -> None:
        super().__init__("127.0.0.1", port, timeout=PATIENCE_S, context=tls)
        self._site, self._tls = site, tls

    def connect(self) -> None:
        http.client.HTTPConnection.connect(self)
        self.sock = self._tls.wrap_socket(self.sock, server_hostname=self._site)


def _with_files(pairs: list[tuple[str, str]], files: list[tuple[str, bytes]]) -> tuple[bytes, str]:
    edge = uuid.uuid4().hex
    parts = [
        f'--{edge}\r\nContent-Disposition: form-data; name="{name}"\r\n\r\n{value}\r\n'.encode()
        for name, value in pairs
    ]
    parts += [
        f'--{edge}\r\nContent-Disposition: form-data; name="files"; filename="{name}"\r\n'
        f"Content-Type: application/octet-stream\r\n\r\n".encode()
        + data
        + b"\r\n"
        for name, data in files
    ]
    return b"".join([*parts, f"--{edge}--\r\n".encode()]), f"multipart/form-data; boundary={edge}"

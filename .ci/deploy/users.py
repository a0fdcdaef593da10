"""People at work on a desk, each with a browser of his own: they look at pages, write notes and
drop captures.
"""

from __future__ import annotations

import collections
import functools
import random
import re
import threading
import time
from collections.abc import Callable
from http.client import HTTPException

from page import SITE
from scratch import Machine
from visitor import Visitor

from tests.readiness.captures import capture_bytes

SIGN_IN = {"login": "owner", "password": "look-round-24"}
NOTE, DROP = "(note)", "(drop)"
NOTES, DROPS = 0.1, 0.02
"""How often somebody writes a note, or drops a capture, instead of looking at a page."""
REST_S = 5.0
"""How long somebody looks at a page, in the mean."""
LISTS = ("/", "/kits/", "/runs/", "/messages/", "/bench/", "/students/", "/stock/", "/keys/")


class Desk:
    """What there is to look at: the way in, pages by kind, kits."""

    def __init__(self, machine: Machine) -> None:
        self._machine = machine
        visitor = self.browser({})
        visitor.fill_in("/account/login/", SIGN_IN)
        self.cookies = visitor.cookies
        self.kits = _codes(visitor.get("/kits/").text, r'href="/kits/(K\w+)/"')
        runs = _codes(visitor.get("/runs/").text, r'href="/runs/(\d+)/"')
        link = r'href="/bench/captures/(\d+)/"'
        found = [_codes(visitor.get(f"/bench/kits/{kit}/").text, link) for kit in self.kits[:10]]
        captures = [number for numbers in found for number in numbers]
        self.pages: dict[str, list[str]] = {page: [page] for page in LISTS}
        self.pages["/kits/K…/"] = [f"/kits/{kit}/" for kit in self.kits]
        self.pages["/runs/N/"] = [f"/runs/{run}/" for run in runs]
        self.pages["/bench/captures/N/"] = [f"/bench/captures/{number}/" for number in captures]
        if empty := [kind for kind, found in self.pages.items() if not found]:
            raise LookupError(f"nothing to look at: {empty}")

    def browser(self, cookies: dict[str, str] | None = None) -> Visitor:
        """A browser that is signed in, unless other cookies are given."""
        place = self._machine.place
        visitor = Visitor(place.https_port, SITE, self._machine.certificate, keeps=True)
        visitor.cookies = dict(self.cookies if cookies is None else cookies)
        return visitor


def _codes(page: str, pattern: str) -> list[str]:
    return sorted(set(re.findall(pattern, page)))


class Users:
    """Users at work, and what came of it."""

    def __init__(self, desk: Desk) -> None:
        self._desk = desk
        self._lock = threading.Lock()
        self.times: dict[str, list[float]] = collections.defaultdict(list)
        self.failed: list[str] = []
        self.notes: list[str] = []
        self.drops: list[str] = []
        self.retried = 0

    def work(self, number: int, seconds: float, half_way: Callable[[], object]) -> None:
        """Let so many users work for so long, and do something half way through."""
        ends = time.monotonic() + seconds
        users = [
            threading.Thread(target=self._work, args=(random.Random(place), ends))  # noqa: S311
            for place in range(number)
        ]
        for user in users:
            user.start()
        time.sleep(seconds / 2)
        half_way()
        for user in users:
            user.join()

    def _work(self, chance: random.Random, ends: float) -> None:
        visitor = self._desk.browser()
        time.sleep(chance.random() * 2)
        while time.monotonic() < ends:
            what = chance.random()
            if what < NOTES:
                self._write_note(visitor, chance)
            elif what < NOTES + DROPS:
                self._drop(visitor, chance)
            else:
                kind = chance.choice([*self._desk.pages])
                self._look(visitor, kind, chance.choice(self._desk.pages[kind]))
            time.sleep(chance.random() * 2 * REST_S)
        visitor.leave()

    def _look(self, visitor: Visitor, kind: str, page: str) -> None:
        """A page is never asked for twice: that is the proxy's part."""
        outcome = self._timed(kind, lambda: visitor.get(page).status)
        if outcome != 200:
            with self._lock:
                self.failed.append(f"{page}: {outcome}")

    def _write_note(self, visitor: Visitor, chance: random.Random) -> None:
        page = f"/kits/{chance.choice(self._desk.kits)}/note/"
        words = f"Note {chance.randrange(10**12)}"
        send = functools.partial(visitor.fill_in, page, {"note": words})
        self._twice_at_most(NOTE, lambda: send().status == 302, self.notes, words)

    def _drop(self, visitor: Visitor, chance: random.Random) -> None:
        kit = chance.choice(self._desk.kits)
        files = [(f"{kit} still.csv", capture_bytes("still", kit=kit, seed=1 + len(self.drops)))]
        places: list[str] = []

        def send() -> bool:
            answer = visitor.fill_in("/bench/", {}, action="/bench/upload/", files=files)
            places.append(answer.leads_to)
            return answer.leads_to.startswith("/bench/uploads/")

        if self._twice_at_most(DROP, send, [], ""):
            with self._lock:
                self.drops.append(places[-1])

    def _twice_at_most(
        self, kind: str, send: Callable[[], bool], done: list[str], words: str
    ) -> bool:
        """A form that fails is sent once more, as a person would."""
        outcome = self._timed(kind, send)
        again = outcome is not True
        if again:
            outcome = self._timed(kind, send)
        with self._lock:
            self.retried += again
            if outcome is True:
                done.append(words)
            else:
                self.failed.append(f"{kind}: {outcome}")
        return outcome is True

    def _timed(self, kind: str, ask: Callable[[], object]) -> object:
        began = time.monotonic()
        try:
            outcome = ask()
        except (OSError, HTTPException, LookupError) as problem:
            outcome = repr(problem)
        with self._lock:
            self.times[kind].append(time.monotonic() - began)
        return outcome

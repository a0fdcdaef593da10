"""A watched folder whose captures go to a desk elsewhere: sent once each, tried again while the
line is down, followed until their verdict is there. What the desk refuses is put aside.
"""

from __future__ import annotations

import hashlib
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from readiness.signal.readers import join
from readiness.states import CaptureStatus

from .desk_line import DeskLine, FileRefused, LineTrouble
from .folder import SeenFile, WatchedFolder

REFUSED = "refused"
JOINED_ENDING = ".wfdb.zip"
FIRST_WAIT_S, LONGEST_WAIT_S = 2.0, 300.0
#: So many captures are asked for at one look at most.
ASKED_AT_ONCE = 20
_GOES_ON = (CaptureStatus.WAITING, CaptureStatus.SCORING)


@dataclass
class RemoteFolder:
    """A folder, the line to its desk, and what is still to be sent or to be heard.

    `say` takes each line for the person who watches; `clock` gives seconds.
    """

    watched: WatchedFolder
    line: DeskLine
    say: Callable[[str], None]
    clock: Callable[[], float]
    to_send: deque[SeenFile] = field(default_factory=deque)
    to_hear: dict[int, str] = field(default_factory=dict)
    _not_before: float = 0.0
    _wait_s: float = FIRST_WAIT_S
    _trouble: str = ""

    @property
    def trouble(self) -> str:
        """What holds everything up now; empty while nothing does."""
        return self._trouble

    def look(self) -> None:
        """Look at the folder once, send what is whole, ask for verdicts.

        Raises
        ------
        OSError
            If the folder cannot be read.
        """
        self.to_send.extend(self.watched.look())
        if self.clock() < self._not_before:
            return
        try:
            while self.to_send:
                self._send(self.to_send[0])
                self.to_send.popleft()
            self._hear()
        except LineTrouble as trouble:
            self._wait(trouble)
        else:
            self._wait_s, self._trouble = FIRST_WAIT_S, ""

    def _wait(self, trouble: LineTrouble) -> None:
        wait = max(self._wait_s, float(trouble.wait_s))
        self._not_before = self.clock() + wait
        self._wait_s = min(self._wait_s * 2, LONGEST_WAIT_S)
        # Said once, not at each try.
        if trouble.sentence != self._trouble:
            self._trouble = trouble.sentence
            self.say(f"{trouble.sentence} What is here waits and is sent later.")

    def _send(self, seen: SeenFile) -> None:
        name = seen.path.name
        try:
            name, data = _read(seen)
            if not seen.is_unchanged():
                self.say(f"{name}: left: it changed while it was read. It is looked at again.")
                return
        except OSError as problem:
            self.say(f"{name}: left: it cannot be read ({problem.strerror or problem}).")
            return
        digest = hashlib.sha256(data).hexdigest()
        facts = {"name": name, "saved_at": seen.saved_at.isoformat()}
        try:
            taken = self._known(digest) or self.line.send("captures", data, facts, digest)
        except FileRefused as refusal:
            self._put_aside(seen, str(refusal))
            return
        if taken.get("new", False):
            self.say(f"{name}: sent.")
        else:
            self.say(f"{name}: the desk has it already.")
        self.to_hear[int(taken["id"])] = name

    def _known(self, digest: str) -> dict[str, Any] | None:
        """The capture that the desk has of these bytes, so that they need not be sent again."""
        try:
            found = self.line.read("captures", {"sha256": digest})["items"]
        except LineTrouble as trouble:
            if "verdicts:read" in trouble.sentence:
                return None  # A token that may send alone.
            raise
        return found[0] if found else None

    def _put_aside(self, seen: SeenFile, sentence: str) -> None:
        """Move a refused file beside the others, with the desk's sentence."""
        aside = self.watched.folder / REFUSED
        paths = [seen.path] if seen.signal is None else [seen.path, seen.signal]
        try:
            aside.mkdir(exist_ok=True)
            (aside / f"{seen.path.name}.reason.txt").write_text(f"{sentence}\n", encoding="utf-8")
            for path in paths:
                path.replace(aside / path.name)
        except OSError as problem:
            self.say(f"{seen.path.name}: refused, and left where it is. {sentence} ({problem})")
            return
        self.say(f"{seen.path.name}: refused, put into {REFUSED}. {sentence}")

    def _hear(self) -> None:
        for pk in list(self.to_hear)[:ASKED_AT_ONCE]:
            try:
                facts = self.line.read(f"captures/{pk}")
            except FileRefused:
                del self.to_hear[pk]
                continue
            except LineTrouble as trouble:
                if "verdicts:read" not in trouble.sentence:
                    raise
                self.to_hear.clear()  # A token that may send alone hears nothing.
                return
            if facts["state"] not in _GOES_ON:
                self.say(f"{self.to_hear.pop(pk)}: {_became(facts)}")


def _became(facts: dict[str, Any]) -> str:
    match facts["state"]:
        case CaptureStatus.SCORED:
            return f"scored for kit {facts['kit']}, {facts['test']}: {facts['verdict']}."
        case CaptureStatus.ASKING:
            return f"kept, and asks on the Bench page. {facts['sentence']}"
    return f"kept, and not readable. {facts['sentence']}"


def _read(seen: SeenFile) -> tuple[str, bytes]:
    """Name and bytes to send: a header and its signal file as one."""
    data = seen.path.read_bytes()
    if seen.signal is None:
        return seen.path.name, data
    joined = join(seen.path.name, data, seen.signal.name, seen.signal.read_bytes())
    return f"{Path(seen.path.name).stem}{JOINED_ENDING}", joined

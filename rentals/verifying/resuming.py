"""Which parts of a check were found clean, kept beside the key of the log, so that a check that was
stopped can go on.

A part is left out again only while the log says that nothing in it was written since: the line at
which the earlier check began must stand where it stood, and no later line may name a row of the
part. What somebody changes past Kitdesk, by hand in the database, leaves no line: in a part that
is left out only a full check finds it.
"""

from __future__ import annotations

import hmac
import json
from collections.abc import Iterable
from pathlib import Path

from django.conf import settings

from rentals.models import Event, LogLine, Part
from rentals.seals.chain import head_of_log
from rentals.seals.tables import log_key

from .jobs import VerifyJob

_LABEL = b"parts of a check"


class CleanParts:
    """What an earlier check found clean, as far as it still stands; new ones are added."""

    def __init__(self, *, resume: bool) -> None:
        self._file = Path(settings.KITDESK_LOG_HEADS).with_name("verified.json")
        self.head, self.names = self._read() if resume else (self._head(), set())
        if not self._stands():
            self.head, self.names = self._head(), set()

    def remaining(self, jobs: Iterable[VerifyJob]) -> list[VerifyJob]:
        """Parts that are to be looked at."""
        if not self.names:
            return list(jobs)
        touched = self._touched()
        return [job for job in jobs if job.name not in self.names or _is_touched(job, touched)]

    def note(self, job: VerifyJob, *, clean: bool) -> None:
        """A part was looked at; written at once."""
        if clean:
            self.names.add(job.name)
        else:
            self.names.discard(job.name)
        told = json.dumps({"head": self.head, "clean": sorted(self.names)})
        fresh = self._file.with_suffix(".new")
        fresh.write_text(json.dumps({"told": told, "code": _code(told)}))
        fresh.chmod(0o600)
        fresh.replace(self._file)

    def _read(self) -> tuple[list[int | str], set[str]]:
        try:
            kept = json.loads(self._file.read_text())
            told, code = str(kept["told"]), str(kept["code"])
        except (OSError, ValueError, KeyError, TypeError):
            return self._head(), set()
        if not hmac.compare_digest(code, _code(told)):
            return self._head(), set()
        facts = json.loads(told)
        return facts["head"], set(facts["clean"])

    @staticmethod
    def _head() -> list[int | str]:
        head = head_of_log()
        return [head.number, head.mac]

    def _stands(self) -> bool:
        number, mac = self.head
        if not number:
            return True
        return LogLine.objects.filter(position=number, mac=mac).exists()

    def _touched(self) -> dict[str, set[int]]:
        """By table: rows that later lines name; the kits and parts whose chains went on."""
        later = LogLine.objects.filter(position__gt=self.head[0])
        touched: dict[str, set[int]] = {}
        for table, row in later.values_list("table", "row").iterator():
            touched.setdefault(table, set()).add(row)
        events = Event.objects.filter(pk__in=touched.get(Event._meta.label_lower, ()))
        for kit, part in events.values_list("kit", "part"):
            touched.setdefault("kits", set()).update({kit} - {None})
            touched.setdefault("parts", set()).update({part} - {None})
        touched.setdefault("kits", set()).update(touched.get("rentals.kit", ()))
        touched.setdefault("parts", set()).update(touched.get(Part._meta.label_lower, ()))
        return touched


def _is_touched(job: VerifyJob, touched: dict[str, set[int]]) -> bool:
    """Whether a part must be looked at again. Those that look at everything always are."""
    if job.kind == "lines":
        return job.last is None
    if job.kind not in ("kits", "parts", "rows"):
        return True
    rows = touched.get(job.table if job.kind == "rows" else job.kind, set())
    return any(row >= job.first and (job.last is None or row < job.last) for row in rows)


def _code(told: str) -> str:
    return hmac.new(log_key(), _LABEL + told.encode(), "sha256").hexdigest()

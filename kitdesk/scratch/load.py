"""Whether the machine had time for a measurement: its load of the last minute, before and
meanwhile.
"""

from __future__ import annotations

import os
import threading
from types import TracebackType

#: A machine with nothing else to do.
QUIET = 0.7
_EVERY_S = 1.0


class LoadWatch:
    """The load of the last minute when this is made, and the highest while its block lasts. `own`:
    how many processes of the measurement compute at once.
    """

    def __init__(self, own: int) -> None:
        self._own = own
        self.before = self.most = os.getloadavg()[0]
        self._ended = threading.Event()
        self._watch = threading.Thread(target=self._look, name="load", daemon=True)

    def __enter__(self) -> LoadWatch:
        self._watch.start()
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        problem: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._ended.set()
        self._watch.join()

    def _look(self) -> None:
        while not self._ended.wait(_EVERY_S):
            self.most = max(self.most, os.getloadavg()[0])

    @property
    def busy(self) -> bool:
        """Whether others worked on the machine as well."""
        return self.before > QUIET or self.most > self._own + 2 * QUIET

    @property
    def words(self) -> str:
        """Both loads, and what they mean where the machine was busy."""
        loads = f"load {self.before:.1f} before, {self.most:.1f} at most, {os.cpu_count()} cores"
        return f"{loads}: the machine was busy" if self.busy else loads

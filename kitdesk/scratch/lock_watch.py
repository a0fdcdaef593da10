"""How long transactions of this process last. On SQLite that is how long they hold the one write
lock.
"""

from __future__ import annotations

from time import perf_counter, process_time
from types import TracebackType
from typing import Any

from django.db import connection

_ENDINGS = ("_commit", "_rollback")


class LockWatch:
    """Seconds of each transaction while the block lasts: by the clock in `held`, of this processor
    in `processor`, which other work on the machine does not lengthen.
    """

    def __init__(self) -> None:
        self.held: list[float] = []
        self.processor: list[float] = []
        self._began: tuple[float, float] | None = None

    def __enter__(self) -> LockWatch:
        real = connection.set_autocommit

        def set_autocommit(autocommit: bool, *args: Any, **facts: Any) -> None:
            real(autocommit, *args, **facts)
            if not autocommit:
                self._began = perf_counter(), process_time()

        own = {name: self._ending(getattr(connection, name)) for name in _ENDINGS}
        for name, function in (own | {"set_autocommit": set_autocommit}).items():
            setattr(connection, name, function)
        return self

    def _ending(self, end: Any) -> Any:
        def ended() -> Any:
            try:
                return end()
            finally:
                self._note()

        return ended

    def _note(self) -> None:
        if self._began is not None:
            clock, processor = self._began
            self.held.append(perf_counter() - clock)
            self.processor.append(process_time() - processor)
        self._began = None

    def __exit__(
        self,
        kind: type[BaseException] | None,
        problem: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        for name in ("set_autocommit", *_ENDINGS):
            delattr(connection, name)

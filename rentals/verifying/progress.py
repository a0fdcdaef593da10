"""How far a check has come: a bar on a terminal, a line for each tenth elsewhere."""

from __future__ import annotations

import time
from typing import TextIO

_WIDTH = 30


class ProgressBar:
    """Told after each part; says nothing of a check of a few parts."""

    def __init__(self, out: TextIO, parts: int, *, at_least: int = 40) -> None:
        self._out, self._parts, self._done = out, parts, 0
        self._quiet = parts < at_least
        self._on_terminal = out.isatty()
        self._began = time.monotonic()

    def step(self) -> None:
        """One part more is done."""
        self._done += 1
        if self._quiet:
            return
        seconds = time.monotonic() - self._began
        left = seconds / self._done * (self._parts - self._done)
        words = f"{self._done} of {self._parts} parts, {left:.0f} s left"
        if self._on_terminal:
            bar = "#" * (_WIDTH * self._done // self._parts)
            self._out.write(f"\r[{bar:<{_WIDTH}}] {words}  ")
            if self._done == self._parts:
                self._out.write("\n")
            self._out.flush()
        elif self._tenth(self._done) > self._tenth(self._done - 1):
            self._out.write(f"{words}\n")
            self._out.flush()

    def _tenth(self, done: int) -> int:
        return 10 * done // self._parts

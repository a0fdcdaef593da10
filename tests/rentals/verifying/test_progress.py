"""A bar on a terminal, a line for each tenth elsewhere, nothing for a few parts."""

import io

import pytest

from rentals.verifying.progress import ProgressBar

pytestmark = pytest.mark.any_database


class Terminal(io.StringIO):
    def isatty(self):
        return True


def _shown(out, parts):
    progress = ProgressBar(out, parts)
    for _ in range(parts):
        progress.step()
    return out.getvalue()


def test_progress_is_shown_as_fits_the_place():
    assert _shown(io.StringIO(), 39) == ""
    lines = _shown(io.StringIO(), 60).splitlines()
    assert len(lines) == 10 and lines[-1] == "60 of 60 parts, 0 s left"
    shown = _shown(Terminal(), 60)
    assert shown.count("\r") == 60
    assert "[" + "#" * 30 + "] 60 of 60 parts, 0 s left" in shown

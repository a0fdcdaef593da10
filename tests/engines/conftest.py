"""Windows of the two engines."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from tests.conftest import lacking
from tests.engines.programs import HOW_TO_GET, programs_of, running
from tests.engines.window import LAPTOP, PHONE, Window


@pytest.fixture(params=["firefox", "webkit"])
def engine(request: pytest.FixtureRequest) -> str:
    """Each engine in turn; skipped where it is not here, unless it was asked for."""
    if None in programs_of(request.param):
        lacking("engines", HOW_TO_GET[request.param])
    return request.param


@pytest.fixture(params=[PHONE, LAPTOP], ids=["phone", "laptop"])
def size(request: pytest.FixtureRequest) -> tuple[int, int]:
    """A phone's width and a laptop's."""
    return request.param


@pytest.fixture
def open_window(live_server, transactional_db, tmp_path: Path) -> Iterator[Callable[..., Window]]:
    """``open_window(engine, size, **preferences)`` gives a window of a fresh browser."""
    started = []

    def opened(engine: str, size: tuple[int, int], **preferences: object) -> Window:
        folder = tmp_path / f"browser{len(started)}"
        folder.mkdir()
        browser = running(engine, folder, preferences)
        window = Window(browser.__enter__(), live_server.url)
        started.append(browser)
        window.resize(size)
        return window

    yield opened
    for browser in started:
        browser.__exit__(None, None, None)

"""Chromium for tests: where it is found, how it starts, what it must not complain about."""

import contextlib
import os
import shutil
from collections.abc import Iterator

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import (
    Browser,
    BrowserContext,
    ConsoleMessage,
    Page,
    expect,
    sync_playwright,
)

LAPTOP = {"width": 1280, "height": 900}
PHONE = {"width": 390, "height": 844}
NAMES = (
    "chromium-headless-shell",  # takes a quarter of the time: no window is drawn
    "chromium",
    "chromium-browser",
    "google-chrome",
    "google-chrome-stable",
    "chrome",
    "msedge",
)
HOW_TO_GET = (
    "Chromium is missing: run `sudo apt-get install chromium` (or install Chrome), or set"
    " KITDESK_CHROMIUM."
)
# A page that is right does not use it up; a machine busy with other work must not fail one that is.
PATIENCE_MS = 60_000
# Without these Chromium calls home at every start, which a closed network answers with a flood of
# refusals.
FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


def chromium_path() -> str | None:
    """The browser to drive: KITDESK_CHROMIUM, else the first one on the search path."""
    return os.environ.get("KITDESK_CHROMIUM") or next(filter(None, map(shutil.which, NAMES)), None)


@contextlib.contextmanager
def running_browser() -> Iterator[Browser]:
    """One browser for a whole test run."""
    expect.set_options(timeout=PATIENCE_MS)
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=chromium_path(), headless=True, args=FLAGS)
        try:
            yield browser
        finally:
            browser.close()


class Complaints(list[str]):
    """Script errors and policy violations of the pages that are watched."""

    def watch(self, context: BrowserContext) -> None:
        """Collect from every page that the context opens."""
        context.on("page", self._watch_page)

    def _watch_page(self, page: Page) -> None:
        page.on("pageerror", lambda error: self.append(f"script error on {page.url}: {error}"))
        page.on("console", self._note)

    def _note(self, message: ConsoleMessage) -> None:
        if message.type == "error" and "Content Security Policy" in message.text:
            self.append(f"policy violation: {message.text}")


def faults(page: Page) -> list[str]:
    """What is wrong with an open page: accessibility rules that it breaks (axe), and sideways
    scroll.

    Say before the call what the page must show: a click returns before the next page is there, and
    the old one would be looked at, or go away under the look.
    """
    page.wait_for_load_state()
    found = [
        f"{rule['id']}: {rule['help']} at {[node['target'] for node in rule['nodes']]}"
        for rule in Axe().run(page).response["violations"]
    ]
    wide, seen = page.evaluate(
        "[document.documentElement.scrollWidth, document.documentElement.clientWidth]"
    )
    return found + ([f"scrolls sideways: {wide} px on {seen} px"] if wide > seen else [])

"""``manage.py pictures``: takes the README's pictures of the demo afresh."""

import contextlib
import shutil
import socket
import subprocess
import sys
import time
from argparse import ArgumentParser
from collections.abc import Iterator
from pathlib import Path
from urllib.error import URLError
from urllib.request import urlopen

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import CommandError
from django.urls import reverse

from kitdesk.owner import DEMO_NAME, DEMO_PASSWORD
from readiness.models import Capture
from rentals.desk_command import DeskCommand

FOLDER = settings.BASE_DIR / "fixtures" / "pictures"
MANAGE = settings.BASE_DIR / "manage.py"
SIZE = {"width": 1100, "height": 960}
COLOURS = 96
PATIENCE_S = 120.0


class Command(DeskCommand):
    help = "Take the README's pictures: Today, and a bench result, from the demo."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--folder", type=Path, default=FOLDER, help="where the pictures go")
        parser.add_argument("--chromium", default="chromium", help="the browser's program")

    def handle(self, *, folder: Path, chromium: str, **options: object) -> None:
        call_command("demo", "--no-serve", stdout=self.stdout)
        pages = {"today": reverse("rentals:today"), "bench": _page_of_broken_lead()}
        folder.mkdir(parents=True, exist_ok=True)
        with _running_demo() as address:
            _photograph(address, pages, folder, chromium)
        for name in pages:
            size_kb = _file(folder, name).stat().st_size // 1000
            self.stdout.write(f"{_file(folder, name)}  {size_kb} kB")


def _file(folder: Path, name: str) -> Path:
    return folder / f"{name}.png"


def _page_of_broken_lead() -> str:
    """The capture of the demo whose lead opens when it is bent."""
    for capture in Capture.objects.filter(test="flex").order_by("-pk"):
        verdict = capture.verdicts.last()
        codes = {finding["code"] for finding in verdict.result["findings"]} if verdict else set()
        if "intermittent_lead" in codes:
            return reverse("readiness:capture", args=[capture.pk])
    raise CommandError("The demo has no capture of an intermittent lead.")


@contextlib.contextmanager
def _running_demo() -> Iterator[str]:
    """The demo in a process of its own; gives its address."""
    with contextlib.closing(socket.socket()) as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    words = [sys.executable, str(MANAGE), "demo", "--port", str(port), "--workers", "0"]
    address = f"http://127.0.0.1:{port}"
    with subprocess.Popen(words, stdout=subprocess.DEVNULL) as server:
        try:
            _wait_for(f"{address}/health")
            yield address
        finally:
            server.terminate()


def _wait_for(address: str) -> None:
    ends = time.monotonic() + PATIENCE_S
    while time.monotonic() < ends:
        with contextlib.suppress(URLError), urlopen(address, timeout=5):  # noqa: S310
            return
        time.sleep(0.2)
    raise CommandError("The demo did not start.")


def _photograph(address: str, pages: dict[str, str], folder: Path, chromium: str) -> None:
    from playwright.sync_api import sync_playwright

    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=_program(chromium), args=["--no-sandbox"])
        page = browser.new_page(base_url=address, viewport=SIZE)  # type: ignore[arg-type]
        page.goto("/")
        page.fill("[name=login]", DEMO_NAME)
        page.fill("[name=password]", DEMO_PASSWORD)
        page.press("[name=password]", "Enter")
        page.wait_for_url(f"{address}/")
        for name, url in pages.items():
            page.goto(url, wait_until="networkidle")
            page.screenshot(path=_file(folder, name))
            _make_compact(_file(folder, name))
        browser.close()


def _program(name: str) -> str:
    path = shutil.which(name)
    if path is None:
        raise CommandError(f"There is no program {name!r}. Name your browser with --chromium.")
    return path


def _make_compact(path: Path) -> None:
    """Few colours are enough for a screen: a third of the bytes."""
    from PIL import Image

    with Image.open(path) as image:
        image.convert("RGB").quantize(COLOURS).save(path, optimize=True)

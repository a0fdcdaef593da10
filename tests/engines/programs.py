"""Where Firefox and WebKit are found, and how they start: without a screen, at any width."""

from __future__ import annotations

import contextlib
import os
import shutil
import subprocess
import time
from collections.abc import Iterator
from pathlib import Path

from selenium import webdriver
from selenium.webdriver.common.options import ArgOptions
from selenium.webdriver.remote.client_config import ClientConfig
from selenium.webdriver.remote.remote_connection import RemoteConnection
from selenium.webdriver.remote.webdriver import WebDriver
from selenium.webdriver.webkitgtk.options import Options as WebKitOptions
from selenium.webdriver.webkitgtk.service import Service as WebKitService

from tests.engines.marionette import Marionette

HOW_TO_GET = {
    "firefox": "Firefox is missing: run `sudo apt-get install firefox-esr`.",
    "webkit": "WebKit's driver is missing: run `sudo apt-get install webkit2gtk-driver xvfb`.",
}
LIBRARIES = Path("/usr/lib")
MINI_BROWSER = "*/webkit2gtk-4.*/MiniBrowser"
START_S = 60
# A window's own bars would keep it wider than a phone.
NARROW_GTK = "* { min-width: 0; min-height: 0; padding: 0; margin: 0; border: 0; font-size: 1px; }"
NARROW_FIREFOX = ":root, #navigator-toolbox { min-width: 0 !important; overflow: hidden; }"
PREFERENCES = {
    "marionette.port": 0,
    "toolkit.legacyUserProfileCustomizations.stylesheets": True,
    "browser.shell.checkDefaultBrowser": False,
    "datareporting.policy.dataSubmissionEnabled": False,
}


def programs_of(engine: str) -> list[str | None]:
    """The programs that drive an engine; None for each that is not here."""
    if engine == "firefox":
        return [next(filter(None, map(shutil.which, ("firefox-esr", "firefox"))), None)]
    browser = max(map(str, LIBRARIES.glob(MINI_BROWSER)), default=None)
    return [browser, shutil.which("WebKitWebDriver"), shutil.which("Xvfb")]


@contextlib.contextmanager
def running(engine: str, folder: Path, preferences: dict[str, object]) -> Iterator[WebDriver]:
    """An engine that lives as long as the block, all it writes in ``folder``. Preferences are
    Firefox's.
    """
    start = _firefox(folder, preferences) if engine == "firefox" else _webkit(folder)
    with start as driver:
        yield driver


@contextlib.contextmanager
def _firefox(folder: Path, preferences: dict[str, object]) -> Iterator[WebDriver]:
    (program,) = programs_of("firefox")
    lines = [
        f"user_pref({_quoted(name)}, {_quoted(value)});"
        for name, value in (PREFERENCES | preferences).items()
    ]
    (folder / "user.js").write_text("\n".join(lines))
    (folder / "chrome").mkdir()
    (folder / "chrome" / "userChrome.css").write_text(NARROW_FIREFOX)
    command = [program, "--headless", "--marionette", "--no-remote", "--profile", str(folder)]
    with _process(command, os.environ | {"HOME": str(folder)}) as process:
        port = _port_written(folder / "MarionetteActivePort", process)
        driver = webdriver.Remote(command_executor=Marionette(port), options=_AnyBrowser())
        try:
            yield driver
        finally:
            driver.quit()


@contextlib.contextmanager
def _webkit(folder: Path) -> Iterator[WebDriver]:
    browser, program, screen = programs_of("webkit")
    (folder / "gtk-3.0").mkdir()
    (folder / "gtk-3.0" / "gtk.css").write_text(NARROW_GTK)
    with _display(screen, folder) as display:
        options = WebKitOptions()
        options.binary_location = browser
        options.add_argument("--automation")
        settings = {"DISPLAY": display, "XDG_CONFIG_HOME": str(folder), "HOME": str(folder)}
        service = WebKitService(program, env=os.environ | settings)
        service.start()
        try:
            line = RemoteConnection(client_config=ClientConfig(service.service_url))
            driver = webdriver.Remote(command_executor=line, options=options)
            try:
                yield driver
            finally:
                driver.quit()
        finally:
            service.stop()


@contextlib.contextmanager
def _display(program: str, folder: Path) -> Iterator[str]:
    """A screen in memory; the server itself picks a number that is free."""
    number = folder / "display"
    with number.open("w") as told:
        size = ["-screen", "0", "1400x1400x24", "-displayfd", str(told.fileno())]
        with _process([program, *size], os.environ, told.fileno()) as process:
            yield f":{_port_written(number, process)}"


@contextlib.contextmanager
def _process(command: list[str], env, *descriptors: int) -> Iterator[subprocess.Popen]:
    process = subprocess.Popen(
        command,
        env=env,
        pass_fds=descriptors,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    try:
        yield process
    finally:
        process.terminate()
        process.wait(START_S)


def _port_written(file: Path, process: subprocess.Popen) -> int:
    """The number that a program writes once it listens."""
    until = time.monotonic() + START_S
    while not (file.exists() and file.read_text().strip()):
        if process.poll() is not None or time.monotonic() > until:
            raise RuntimeError(f"{process.args[0]} did not start.")
        time.sleep(0.05)
    return int(file.read_text())


def _quoted(value: object) -> str:
    return str(value).lower() if isinstance(value, bool | int) else f'"{value}"'


class _AnyBrowser(ArgOptions):
    """Nothing is asked of the browser that answers."""

    @property
    def default_capabilities(self) -> dict[str, str]:
        return {}

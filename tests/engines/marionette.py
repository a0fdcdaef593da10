"""Firefox spoken to in its own protocol, so that no driver program is needed beside it."""

from __future__ import annotations

import json
import socket
from typing import Any

from selenium.webdriver.remote.command import Command

PREFIX = "WebDriver:"
# Selenium's words for the commands that the tests use, and Firefox's.
NAMES = {
    Command.NEW_SESSION: "NewSession",
    Command.QUIT: "DeleteSession",
    Command.GET: "Navigate",
    Command.FIND_ELEMENT: "FindElement",
    Command.FIND_ELEMENTS: "FindElements",
    Command.CLICK_ELEMENT: "ElementClick",
    Command.CLEAR_ELEMENT: "ElementClear",
    Command.SEND_KEYS_TO_ELEMENT: "ElementSendKeys",
    Command.GET_ELEMENT_PROPERTY: "GetElementProperty",
    Command.GET_ELEMENT_TEXT: "GetElementText",
    Command.W3C_GET_ACTIVE_ELEMENT: "GetActiveElement",
    Command.W3C_EXECUTE_SCRIPT: "ExecuteScript",
    Command.SET_WINDOW_RECT: "SetWindowRect",
    Command.SCREENSHOT: "TakeScreenshot",
    Command.PRINT_PAGE: "Print",
}


class Marionette:
    """What Selenium takes for its connection. Messages go as their length, a colon and JSON."""

    def __init__(self, port: int) -> None:
        self._line = socket.create_connection(("127.0.0.1", port))
        self._answers = self._line.makefile("rb")
        self._count = 0
        self._read()  # Firefox greets first

    def execute(self, command: str, parameters: dict[str, Any] | None) -> dict[str, Any]:
        """Run one command; the answer as WebDriver gives it, a refusal with its status."""
        self._count += 1
        words = json.dumps([0, self._count, PREFIX + NAMES[command], parameters or {}]).encode()
        self._line.sendall(b"%d:%b" % (len(words), words))
        _, _, refusal, result = self._read()
        if refusal:
            return {"status": 500, "value": json.dumps({"value": refusal})}
        bare = isinstance(result, dict) and set(result) == {"value"}
        return {"value": result["value"] if bare else result}

    def close(self) -> None:
        """Hang up."""
        self._answers.close()
        self._line.close()

    def _read(self) -> Any:
        length = b""
        while (digit := self._answers.read(1)) != b":":
            if not digit:
                raise ConnectionError("Firefox hung up.")
            length += digit
        return json.loads(self._answers.read(int(length)))

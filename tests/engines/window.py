"""A page as a test uses it: what is written is waited for, and an act is an act of a person."""

from __future__ import annotations

import base64
from collections.abc import Callable

from selenium.common.exceptions import (
    ElementClickInterceptedException,
    ElementNotInteractableException,
    NoSuchElementException,
    StaleElementReferenceException,
    TimeoutException,
)
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.remote.file_detector import UselessFileDetector
from selenium.webdriver.remote.webdriver import WebDriver
from selenium.webdriver.remote.webelement import WebElement
from selenium.webdriver.support.wait import WebDriverWait

from tests.browser_driver import PATIENCE_MS

# While an answer takes its place what was found may be gone; a press is tried again.
IN_BETWEEN = (
    ElementClickInterceptedException,
    ElementNotInteractableException,
    NoSuchElementException,
    StaleElementReferenceException,
)
PHONE = (390, 844)
LAPTOP = (1280, 900)


class Window:
    """One window of an engine on the desk that listens at ``address``."""

    def __init__(self, driver: WebDriver, address: str) -> None:
        self.driver = driver
        self.address = address
        driver.file_detector = UselessFileDetector()

    def resize(self, size: tuple[int, int]) -> None:
        """Give the page itself this width and height, in CSS pixels."""
        self.driver.set_window_rect(0, 0, *size)
        self.wait_for(lambda: self._fits(size))

    def open(self, path: str) -> None:
        self.driver.get(self.address + path)

    def sign_in(self, name: str, password: str) -> None:
        self.open("/")
        self.fill("#id_login", name)
        self.fill("#id_password", password)
        self.press("button", "Sign in")
        self.sees("Today")

    def run(self, script: str) -> object:
        """What a script returns."""
        return self.driver.execute_script(script)

    def wait_for(self, condition: Callable[[], object]) -> object:
        """Wait until the condition gives something true, and return it."""
        waiting = WebDriverWait(
            self.driver,
            float(__import__("os").environ.get("PAT", PATIENCE_MS / 1000)),
            0.1,
            IN_BETWEEN,
        )
        try:
            return waiting.until(lambda _: condition())
        except TimeoutException:
            seen = self.run("return location.pathname + '\\n' + document.body.innerText")
            raise AssertionError(f"Not seen in time. The page:\n{seen}") from None

    def sees(self, words: str, place: str = "body") -> None:
        """Wait until the words are written in a place."""
        self.wait_for(lambda: words in self.driver.find_element(By.CSS_SELECTOR, place).text)

    def settled(self) -> None:
        """Wait until no act is on its way."""
        self.wait_for(lambda: self.run("return !document.querySelector('[aria-busy=true]')"))

    def press(self, place: str, words: str = "") -> None:
        """Click on the first such element that holds the words."""
        self.wait_for(lambda: self._in_view(self._found(place, words)).click() or True)

    def fill(self, place: str, words: str) -> None:
        """Type into a box, in place of what it holds."""
        self.wait_for(lambda: self._emptied(place).send_keys(words) or True)

    def type_on(self, words: str) -> None:
        """Type at the place that has the focus."""
        self.driver.switch_to.active_element.send_keys(words)

    def scan(self, place: str, code: str) -> None:
        """What a hand scanner types into a box, with its Enter."""
        self.fill(place, code + Keys.ENTER)

    def picture(self) -> bytes:
        """The window as PNG."""
        return base64.b64decode(self.driver.get_screenshot_as_base64())

    def _fits(self, size: tuple[int, int]) -> bool:
        """Whether the page has this size; if not, the window is given what its bars take away."""
        seen = self.run("return [innerWidth, innerHeight, outerWidth, outerHeight]")
        if seen[:2] != list(size):
            self.driver.set_window_rect(
                0, 0, size[0] + seen[2] - seen[0], size[1] + seen[3] - seen[1]
            )
        return seen[:2] == list(size)

    def _in_view(self, element: WebElement) -> WebElement:
        """Drivers take what lies under a bar that stays for seen; a person scrolls on."""
        self.driver.execute_script("arguments[0].scrollIntoView({block: 'center'})", element)
        return element

    def _emptied(self, place: str) -> WebElement:
        box = self._found(place)
        if box.get_property("value"):
            box.clear()
        return box

    def _found(self, place: str, words: str = "") -> WebElement:
        for element in self.driver.find_elements(By.CSS_SELECTOR, place):
            if words in element.text:
                return element
        raise NoSuchElementException(f"{place} with {words!r}")

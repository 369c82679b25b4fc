"""What a person does at a browser, and sees, by WebDriver; whatever comes in the end is waited for."""

from __future__ import annotations

from typing import Any

from selenium.webdriver.common.action_chains import ActionChains
from selenium.webdriver.common.actions.action_builder import ActionBuilder
from selenium.webdriver.common.actions.pointer_input import PointerInput
from selenium.webdriver.remote.file_detector import UselessFileDetector
from selenium.webdriver.remote.webdriver import WebDriver
from selenium.webdriver.remote.webelement import WebElement
from selenium.webdriver.support.ui import WebDriverWait

from tests.browser.conftest import PATIENCE_MS

# the first that is to be seen and holds those words; of a label with a hidden input, the label
SEEN = """
const [css, words] = arguments;
return [...document.querySelectorAll(css)].find((one) =>
  one.getClientRects().length && getComputedStyle(one).visibility !== "hidden" &&
  (one.textContent + (one.value ?? "")).replace(/\\s+/g, " ").includes(words)) ?? null;
"""
MIDDLE = """
arguments[0].scrollIntoView({ block: "center", behavior: "instant" });
const box = arguments[0].getBoundingClientRect();
return [box.x + box.width / 2, box.y + box.height / 2].map(Math.round);
"""

WHOLE = "return document.readyState === 'complete'"


class Hand:
    """One browser, and what is done at it. Pages are named by their path."""

    def __init__(self, driver: WebDriver, address: str) -> None:
        self.driver, self.address = driver, address
        driver.file_detector = UselessFileDetector()  # browser and files are on one machine

    def hold(self, width: int, height: int) -> None:
        """Make the window so large that the page has this size."""
        self.driver.set_window_size(width, height)
        inner = self.run("return [innerWidth, innerHeight]")
        self.driver.set_window_size(width, height + height - inner[1])
        self.until("return innerWidth === arguments[0] && innerHeight === arguments[1]", width, height)

    def go(self, path: str) -> None:
        """Open a page; the one before is whole by then, since a file cut off by leaving is told as lost."""
        self.until(WHOLE)
        self.driver.get(self.address + path)

    def run(self, script: str, *given: object) -> Any:  # what the script gives
        return self.driver.execute_script(script, *given)

    def promised(self, script: str, *given: object) -> Any:  # what the script promises
        """Run the body of an async function and return what it gives."""
        body = "const done = arguments[arguments.length - 1], given = [...arguments].slice(0, -1);"
        ran = f"(async function () {{ {script} }})(...given).then(done, (why) => done(`failed: ${{why}}`));"
        return self.driver.execute_async_script(body + ran, *given)

    def until(self, script: str, *given: object) -> Any:  # what the script gives
        """Wait until the script gives something, and return it. A page that is just left gives nothing."""
        waits = WebDriverWait(self.driver, PATIENCE_MS / 1000, 0.1, ignored_exceptions=[Exception])
        return waits.until(
            lambda _driver: self.run(script, *given), f"{script} {given} on {self.driver.current_url}"
        )

    def see(self, css: str, words: str = "") -> WebElement:
        return self.until(SEEN, css, words)

    def on(self, path: str) -> None:
        """Wait until the page's path ends so, by a regular expression."""
        self.until(
            "return new RegExp(arguments[0] + '$').test(location.pathname)"
            " && document.readyState === 'complete'",
            path,
        )

    def press(self, css: str, words: str = "") -> None:
        one = self.see(css, words)
        self.run(MIDDLE, one)
        one.click()

    def type(self, css: str, text: str) -> None:
        field = self.see(css)
        self.run(MIDDLE, field)
        field.clear()
        field.send_keys(text)

    def choose(self, css: str, file: object) -> None:
        """What the phone's own camera or list of files gives a field, which is hidden behind its label."""
        self.driver.find_element("css selector", css).send_keys(str(file))

    def keys(self, *keys: str) -> None:
        ActionChains(self.driver, duration=0).send_keys(*keys).perform()

    def drag(self, css: str, by: tuple[int, int], kind: str = "touch") -> None:
        """Put a finger, or the mouse, on the middle of what is found and move it so far, px."""
        x, y = self.run(MIDDLE, self.see(css))
        builder = ActionBuilder(self.driver, mouse=PointerInput(kind, kind), duration=0)
        pointer = builder.pointer_action
        pointer.move_to_location(x, y).pointer_down()
        for part in (0.25, 0.5, 0.75, 1.0):
            pointer.move_to_location(round(x + by[0] * part), round(y + by[1] * part))
        pointer.pointer_up()
        builder.perform()

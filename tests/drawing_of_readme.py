"""Draws the README's two pictures from the demo: `make run`, then `python -m tests.drawing_of_readme`.

Another address than http://127.0.0.1:8000 is given as an argument. What is typed on the draft for its
picture is taken back.
"""

from __future__ import annotations

import io
import re
import shutil
import sys
from pathlib import Path

from PIL import Image
from playwright.sync_api import Browser, Page, sync_playwright

PICTURES = Path(__file__).parent.parent / "static/pictures"
ADDRESS = "http://127.0.0.1:8000"
PASSWORD = "cane-and-thread"  # of everybody in the demo, as `make run` prints it
DESK = {"width": 1280, "height": 800}
PHONE = {"width": 390, "height": 844}


def signed_in(browser: Browser, address: str, name: str, width: int, height: int) -> Page:
    """Return a page of a person of the demo, on the page where they begin."""
    context = browser.new_context(base_url=address, service_workers="block", locale="en-GB")
    page = context.new_page()
    page.set_viewport_size({"width": width, "height": height})
    page.goto("/account/login/")
    page.locator("[name=login]").fill(name)
    page.locator("[name=password]").fill(PASSWORD)
    page.get_by_role("main").get_by_role("button", name="Sign in", exact=True).click()
    page.wait_for_url("**/studio/**")
    return page


def kept(page: Page, name: str) -> None:
    """Keep what the page shows, as JPEG."""
    picture = Image.open(io.BytesIO(page.screenshot())).convert("RGB")
    picture.save(PICTURES / name, quality=82, optimize=True)


def look(page: Page) -> None:
    """The review of the first reed that waits with a photo."""
    page.locator(".queue-row", has=page.locator("img")).first.click()
    page.wait_for_url(re.compile(r"/queue/\d+/"))
    page.wait_for_load_state("networkidle")
    kept(page, "look.jpg")


def send(page: Page) -> None:
    """A draft on a phone, with a number of which the sheet has something to say."""
    page.get_by_role("navigation").get_by_role("link", name=re.compile("^Send")).click()
    page.wait_for_url("**/send/")
    page.get_by_role("main").get_by_role("link", name=re.compile(r"^\d")).first.click()
    page.wait_for_url(re.compile(r"/send/\d+/$"))
    length = page.get_by_label(re.compile(r"\(mm\)")).first
    length.fill("1.4")
    page.locator("#checked h2").wait_for()
    page.get_by_text("Kept on the server.").wait_for()
    page.set_viewport_size({**PHONE, "height": 1240})  # photos, numbers and what is said of them
    page.evaluate("scrollTo(0, 0)")
    kept(page, "send.jpg")
    length.fill("")
    page.locator("#checked h2").wait_for(state="hidden")


def main(address: str = ADDRESS) -> None:
    with sync_playwright() as playwright:
        found = shutil.which("chromium-headless-shell") or shutil.which("chromium")
        browser = playwright.chromium.launch(executable_path=found, args=["--no-sandbox"])
        look(signed_in(browser, address, "teacher", **DESK))
        send(signed_in(browser, address, "bruno", **PHONE))
        browser.close()


if __name__ == "__main__":
    main(*sys.argv[1:])

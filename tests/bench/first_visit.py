"""Prints what a first visit of a phone costs on a poor line: KB over the wire, requests, seconds.

`python -m tests.bench.first_visit`: `manage.py serve` in production with a database of its own, behind nginx
as the example says, asked by Chromium with nothing kept, 390 by 844, through 50 KB/s and 400 ms a request
(its own throttle, by the protocol of its tools). Counted is all that came over the wire, its headers too;
the seconds end when the page can be used: its document, styles and scripts are there and have run. The line
is most of it, so a busy machine adds little. Bounds for the page on which a reed is sent: 90 KB, 15
requests, 3 s; the others are told. `-v` names what was asked for.
"""

import contextlib
import os
import sys
import tempfile
from pathlib import Path

from tests.bench.overload import HOST, SITE, served

KB, REQUESTS, SECONDS = 90.0, 15, 3.0
LATENCY_MS, BYTES_A_S = 400, 50_000
ADDRESS = f"https://{HOST}"


class Wire:
    """Counts what a page has brought over the wire."""

    def __init__(self, page):
        self.asked, self.bytes = [], 0
        tools = page.context.new_cdp_session(page)
        tools.send("Network.enable")
        line = {"latency": LATENCY_MS, "downloadThroughput": BYTES_A_S, "uploadThroughput": BYTES_A_S}
        tools.send("Network.emulateNetworkConditions", {"offline": False, **line})
        tools.on("Network.requestWillBeSent", self._asked)
        tools.on("Network.loadingFinished", self._came)

    def _asked(self, event):
        if event["request"]["url"].startswith("http"):
            self.asked.append(event["request"]["url"])

    def _came(self, event):
        self.bytes += event["encodedDataLength"]


def signed_in(browser, session, **more):
    """Return a page of a phone that has seen nothing yet."""
    phone = {"viewport": {"width": 390, "height": 844}, "is_mobile": True, "has_touch": True}
    context = browser.new_context(**phone, ignore_https_errors=True, **more)
    kept = {"name": "__Host-sessionid", "value": session, "secure": True, "httpOnly": True}
    context.add_cookies([kept | {"url": ADDRESS}])
    return context.new_page()


def visited(browser, address, session):
    """Open a page for the first time; return KB, requests, seconds, and which they were."""
    page = signed_in(browser, session)
    wire = Wire(page)
    answer = page.goto(address, wait_until="load", timeout=120_000)
    assert answer.status == 200, f"{address} answered {answer.status}"
    assert page.url == address, f"led to {page.url}"
    took = page.evaluate("performance.getEntriesByType('navigation')[0].domContentLoadedEventEnd") / 1000
    page.wait_for_load_state("networkidle")
    page.context.close()
    return wire.bytes / 1000, len(wire.asked), took, wire.asked


def pages():
    """Return the pages and the session of who opens them."""
    from django.test import Client

    from tests import factories as make
    from tests.cast import World

    world = World()
    reed = make.ReedFactory(owner=world.student)
    client = Client()
    client.force_login(world.student.person)
    student = world.student
    return client.cookies["__Host-sessionid"].value, {
        "draft": student.to("lessons:draft", reed.pk),
        "desk": student.to("lessons:desk"),
        "answer": student.to("lessons:round", world.answered.pk),
        "term": student.to("lessons:term", student.pk),
    }


def told(words, value, bound, places):
    met = value <= bound
    sys.stdout.write(f"  {words}: {value:.{places}f} (bound {bound:g}): {'met' if met else 'NOT MET'}\n")
    return not met


def measured(browser, loudly):
    session, addresses = pages()
    missed = 0
    for name, path in addresses.items():
        kb, requests, seconds, asked = visited(browser, ADDRESS + path, session)
        sys.stdout.write(f"{name}: {kb:.1f} KB, {requests} requests, {seconds:.2f} s\n")
        if loudly:
            sys.stdout.write("".join(f"    {one}\n" for one in asked))
        if name == "draft":
            missed += told("KB over the wire", kb, KB, 1)
            missed += told("requests", requests, REQUESTS, 0)
            missed += told("seconds until it can be used", seconds, SECONDS, 2)
    return missed


@contextlib.contextmanager
def behind_nginx(folder):
    """Run the site in production on this folder, behind nginx; yield the port for https."""
    os.environ |= {"DATA_DIR": folder, "DJANGO_SETTINGS_MODULE": "studio.settings", **SITE}
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "1"  # Playwright's loop runs beside Django's ORM
    os.environ.pop("DATABASE_URL", None)
    import django

    django.setup()
    from tests.studio.before_nginx import certificate_in, nginx_before

    site, port = served(folder)
    place = Path(folder, "nginx")
    place.mkdir()
    try:
        with nginx_before(place, certificate_in(place), folder, port) as (_proxy, _plain, secure):
            yield secure
    finally:
        site.terminate()
        site.wait()


@contextlib.contextmanager
def wired(folder):
    """Run the site on this folder; yield a Chromium that finds it under its name."""
    with behind_nginx(folder) as secure:
        from playwright.sync_api import sync_playwright

        from tests.browser.conftest import FLAGS, browser_path

        with sync_playwright() as playwright:
            here = f"--host-resolver-rules=MAP {HOST}:443 127.0.0.1:{secure}"
            browser = playwright.chromium.launch(executable_path=browser_path(), args=[*FLAGS, here])
            yield browser
            browser.close()


def main(*words):
    with tempfile.TemporaryDirectory() as folder, wired(folder) as browser:
        return int(measured(browser, "-v" in words) > 0)


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))

"""A real Chromium, as a phone and as a desk; any trouble on a page fails the test that opened it."""

from __future__ import annotations

import re
import shutil

import pytest
from axe_playwright_python.base import AxeResults
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect

from studio.management.commands.verify import BROWSERS
from tests import factories as make
from tests.browser.line import Line
from tests.signed_in import session_of

FLAGS = [
    "--no-sandbox",  # needed as root, as in CI
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--use-fake-device-for-media-stream",
    "--use-fake-ui-for-media-stream",
]
PHONE = {
    "viewport": {"width": 390, "height": 844},
    "device_scale_factor": 3,
    "is_mobile": True,
    "has_touch": True,
}
DESK = {"viewport": {"width": 1280, "height": 800}}
PATIENCE_MS = 60_000  # for whatever comes in the end: a busy machine is no fault of the page
expect.set_options(timeout=PATIENCE_MS)
WCAG_22_AA = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
# of those the rules that look at colours
OF_COLOURS = ["color-contrast", "link-in-text-block"]


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item):
    """A browser test that skips shows nothing, so it fails."""
    report = yield
    if report.skipped and not hasattr(report, "wasxfail"):
        report.outcome, report.longrepr = "failed", f"skipped: {report.longrepr}"
    return report


def pytest_collection_modifyitems(items):
    for item in items:
        if "/browser/" in item.path.as_posix():
            item.add_marker(pytest.mark.browser)


def browser_path():
    path = next(filter(None, map(shutil.which, BROWSERS)), None)
    assert path, f"no Chromium is installed; looked for {', '.join(BROWSERS)}"
    return path


@pytest.fixture(scope="session")
def browser_type_launch_args(browser_type_launch_args):
    return {**browser_type_launch_args, "executable_path": browser_path(), "args": FLAGS}


class Watch:
    """Notes what goes wrong on the pages it is shown; a test says beforehand what it expects."""

    def __init__(self, address):
        self.address = address
        self.expected: set[int] = set()
        self.troubles: list[str] = []

    def expect(self, *statuses):
        """A page may answer with these from now on."""
        self.expected.update(statuses)

    def over(self, page):
        page.on("pageerror", lambda error: self.troubles.append(f"page error: {error}"))
        page.on("console", self._console)
        page.on("response", self._response)
        page.on("requestfailed", self._failed)

    def _console(self, message):
        # Chromium repeats every bad answer here; the answer itself is judged in _response
        if message.type == "error" and "Failed to load resource" not in message.text:
            self.troubles.append(f"console: {message.text}")

    def _response(self, response):
        if response.status >= 400 and response.status not in self.expected:
            self.troubles.append(f"{response.status} {response.request.method} {response.url}")

    def _failed(self, request):
        # a page left while it loads aborts its requests, and one without scripts leaves those loaded ahead
        why = request.failure or ""
        if request.url.startswith(self.address) and "ERR_ABORTED" not in why and why != "csp":
            self.troubles.append(f"failed: {request.method} {request.url}: {request.failure}")


@pytest.fixture
def watch(live_server):
    """Judge at the end of the test what happened on its pages."""
    watch = Watch(live_server.url)
    yield watch
    assert not watch.troubles, "\n".join(watch.troubles)


def forgive(watch, *expected):
    """Leave out what a lost connection makes the browser write to its console."""
    watch.troubles[:] = [trouble for trouble in watch.troubles if not any(one in trouble for one in expected)]


@pytest.fixture
def line(live_server, watch):
    """The line to the studio; what its loss makes a browser say is forgiven."""
    line = Line(live_server.thread.httpd)
    yield line
    line.leave()
    forgive(watch, *Line.LOST)


def killed(page, watch):
    """Kill the page as a phone does behind its camera; return an empty one in the same browser.

    Leaving it for another address would still give its retries a moment.
    """
    context = page.context
    page.close()
    fresh = context.new_page()
    watch.over(fresh)
    return fresh


@pytest.fixture
def open_page(browser, live_server, watch):
    """Return a function that opens a page in a context of its own."""
    contexts = []

    # what goes through the site's worker no page.route sees, and a copy would hide what the server says:
    # it is allowed only where it is looked at, `service_workers="allow"` (test_without_a_line.py)
    def opened(within=browser, service_workers="block", **options):
        context = within.new_context(base_url=live_server.url, service_workers=service_workers, **options)
        context.set_default_timeout(PATIENCE_MS)
        contexts.append(context)
        page = context.new_page()
        watch.over(page)
        return page

    yield opened
    for context in contexts:
        context.close()


@pytest.fixture
def phone(open_page):
    """A phone held upright: touch, 390 by 844, three device pixels to one."""
    return open_page(**PHONE, permissions=["microphone"])


@pytest.fixture
def desk(open_page):
    """A screen on a desk, 1280 by 800."""
    return open_page(**DESK, permissions=["microphone"])


@pytest.fixture
def sign_in(live_server):
    """Return a function that signs a member in on a page, without the sign-in page."""

    def signed_in(page, member):
        session = session_of(member.person)
        page.context.add_cookies([{"name": "sessionid", "value": session, "url": live_server.url}])
        return page

    return signed_in


@pytest.fixture
def axe():
    """Return a function that fails on any violation of WCAG 2.2 at level AA on the page as it stands."""

    def judged(page, by=WCAG_22_AA):
        if not page.evaluate("'axe' in window"):
            page.evaluate(Axe().axe_script)
        # sheets are loaded ahead for a rule that is none of these, in a way that the site's policy forbids
        options = {"runOnly": by, "resultTypes": ["violations"], "preload": False}
        result = AxeResults(page.evaluate("options => axe.run(options)", options))
        assert result.violations_count == 0, f"{page.url}\n{result.generate_report()}"

    return judged


@pytest.fixture
def axe_by_day_and_night(axe):
    """As `axe`, and of colours in the dark too: all else is the same there, see test_axe_every_page."""

    def judged(page):
        for scheme, rules in (("light", WCAG_22_AA), ("dark", OF_COLOURS)):
            page.emulate_media(color_scheme=scheme)
            axe(page, rules)
        page.emulate_media(color_scheme="light")

    return judged


@pytest.fixture
def reed(student):
    """A blank that is not sent yet."""
    return make.ReedFactory(owner=student, stage="tied", number=7)


@pytest.fixture
def page(phone, sign_in, student, reed):
    """A phone with the page that sends it."""
    sign_in(phone, student).goto(student.to("lessons:draft", reed.pk))
    return phone


@pytest.fixture
def sent(student):
    return make.sent_round(student, photos=2)


@pytest.fixture
def look(sign_in, teacher, sent):
    """Return a function that opens the round on a page and waits until it can be marked."""

    def looked(page):
        sign_in(page, teacher).goto(teacher.to("lessons:review", sent.pk))
        expect(page.locator("[data-stage] svg.marks")).to_have_attribute("viewBox", re.compile(r"0 0 \d"))
        return page

    return looked

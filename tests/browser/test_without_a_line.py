"""The app on a phone in a room without a signal: what is kept is shown, dated, and nobody else's ever."""

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from tests import factories as make
from tests.browser.conftest import PATIENCE_MS, PHONE


class Line:
    """The line to the server. Once cut, the server itself closes each connection without a word."""

    def __init__(self, live_server):
        self.server = live_server.thread.httpd
        self.finish = self.server.finish_request

    def cut(self):
        self.server.finish_request = lambda *_request: None

    def mend(self):
        self.server.finish_request = self.finish


@pytest.fixture
def line(live_server):
    line = Line(live_server)
    yield line
    line.mend()


@pytest.fixture
def app(open_page):
    """A phone with the site's worker."""
    return open_page(**PHONE, service_workers="allow")


def forgive(watch):
    """A cut line is what these tests are about."""
    lost = ("ERR_", "503 GET", "Failed to fetch", "htmx:sendError")
    watch.troubles[:] = [one for one in watch.troubles if not any(word in one for word in lost)]


KEPT = """async () => {
  const names = (await caches.keys()).filter((name) => name.startsWith("kept "));
  const found = [];
  for (const name of names) {
    for (const { url } of await (await caches.open(name)).keys()) found.push(new URL(url).pathname);
  }
  return { names, found };
}"""

# a predicate that promises is not waited for by wait_for_function
UNTIL_DONE = """async (patience) => {
  const end = Date.now() + patience;
  while (Date.now() < end) {
    if (await caches.match("/kept-list")) return true;
    await new Promise((go) => setTimeout(go, 100));
  }
  return false;
}"""


def kept(page):
    return page.evaluate(KEPT)


def all_kept(page, *addresses):
    """Wait until the worker is done with its list."""
    assert page.evaluate(UNTIL_DONE, PATIENCE_MS), "the worker did not come to the end of its list"
    found = kept(page)["found"]
    assert not [one for one in addresses if one not in found]


@pytest.fixture
def answered(student):
    row = make.sent_round(student, photos=1)
    type(row).objects.filter(pk=row.pk).update(answered_at=timezone.now())
    return row


def test_own_pages_are_there_without_a_line(app, sign_in, student, answered, line, watch):
    draft, reed = student.to("lessons:draft", answered.reed_id), student.to("reeds:reed", answered.reed_id)
    sign_in(app, student).goto("/")
    all_kept(app, draft, reed)
    line.cut()
    app.goto("/")
    expect(app.get_by_role("heading", name="My desk")).to_be_visible()
    forgive(watch)

"""Prints what it takes to send a reed by phone: taps, pages, KB and requests, as a table.

`python -m tests.bench.way_to_send`: Chromium as a phone of 390 by 844 with nothing kept, before `manage.py
serve` in production behind nginx, as `tests.bench.first_visit` has it. Twice from the desk to the page of the
round: of a reed there is, with two photos and three numbers; of a new blank, with one photo. Taps are those
on our pages: what the phone's camera asks is its own. Counted is what the pages bring over the wire, headers
too, and what goes up as a number of requests alone, since a photo is as large as it is. The site's worker,
which keeps pages for rooms without a line while nothing else is to be done, is not at work here.
"""

import re
import sys
import tempfile

from tests.bench.first_visit import ADDRESS, signed_in, wired


class Counted:
    """What really came over the wire for a page; what the browser had kept costs nothing."""

    def __init__(self, page):
        self.requests, self.bytes = 0, 0
        tools = page.context.new_cdp_session(page)
        tools.send("Network.enable")
        tools.on("Network.loadingFinished", self._came)

    def _came(self, event):
        self.requests += event["encodedDataLength"] > 0
        self.bytes += event["encodedDataLength"]


def existing(thumb, page, numbers):
    """A reed there is, two photos, three numbers."""
    from playwright.sync_api import expect

    thumb.photo("Take a photo of a reed")
    thumb.on("/send/$")
    thumb.tap(page.get_by_role("link", name=re.compile("^7")))
    thumb.on(r"/send/\d+/$")
    expect(page.locator("#photo-list img[src*='thumbnail']")).to_have_count(1)
    thumb.photo("Take a photo", exact=True)
    expect(page.locator("#photo-list img[src*='thumbnail']")).to_have_count(2)
    for label, text in numbers.items():
        thumb.number(label, text)
    thumb.send()


def blank(thumb, page, _numbers):
    """A new blank, one photo."""
    from playwright.sync_api import expect

    thumb.photo("Take a photo of a reed")
    thumb.on("/send/$")
    thumb.tap(page.get_by_role("link", name="A new reed"))
    thumb.on("/reeds/new/")
    thumb.tap(page.get_by_role("button", name="Make"))
    thumb.on(r"/send/\d+/$")
    expect(page.locator("#photo-list img[src*='thumbnail']")).to_have_count(1)
    thumb.send()


def person():
    """Return a student with two reeds, and the session of their browser."""
    from django.test import Client

    from tests import factories as make

    student = make.MemberFactory(role="student")
    version = make.VersionFactory(pattern__studio=student.studio)
    for number, stage in ((7, "tied"), (8, "bound")):
        make.ReedFactory(owner=student, version=version, number=number, stage=stage)
    client = Client()
    client.force_login(student.person)
    return student, client.cookies["__Host-sessionid"].value


def row(browser, way, student, session):
    from tests.browser.test_photo_first import NUMBERS, Thumb

    page = signed_in(browser, session, service_workers="block")
    wire, thumb = Counted(page), Thumb(page)
    page.goto(ADDRESS + student.to("lessons:desk"))
    page.wait_for_load_state("networkidle")
    thumb.seen.append("desk")
    way(thumb, page, NUMBERS)
    page.wait_for_load_state("networkidle")
    page.context.close()
    words = (way.__doc__.rstrip("."), thumb.taps, len(thumb.seen), f"{wire.bytes / 1000:.0f}", wire.requests)
    sys.stdout.write("| " + " | ".join(map(str, words)) + " |\n")


def main():
    with tempfile.TemporaryDirectory() as folder, wired(folder) as browser:
        student, session = person()
        sys.stdout.write("| way | taps | pages | KB | requests |\n|---|---|---|---|---|\n")
        for way in (existing, blank):
            row(browser, way, student, session)


if __name__ == "__main__":
    main()

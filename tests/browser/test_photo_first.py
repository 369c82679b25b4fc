"""The camera first: photo, which reed, this stage's numbers, sent; every tap is counted."""

from __future__ import annotations

import functools
import io
import math
import re

import pytest
from PIL import Image, ImageFilter, ImageOps
from playwright.sync_api import expect

from lessons.demo.pictures import Look, lying
from lessons.sending.models import Submission
from reeds.reed.models.reed import Reed
from tests import factories as make
from tests.browser.conftest import killed

NUMBERS = {"tie length (mm)": "72", "staple length (mm)": "45", "cane beyond the staple (mm)": "27"}


@functools.cache
def sharp_photo():
    """A photo of a reed on the card as it should be."""
    return lying(Look(staple=45, thread_end=46, length=72, scrape=0, tip=0), seed=3)


def jpeg(name="reed.jpg", picture=None):
    out = io.BytesIO(b"" if picture else sharp_photo())
    if picture:
        picture.save(out, "JPEG", quality=90)
    return {"name": name, "mimeType": "image/jpeg", "buffer": out.getvalue()}


class Thumb:
    """What a student does on a phone: taps are counted, and the pages one sees."""

    def __init__(self, page):
        self.page, self.taps, self.seen = page, 0, []

    def tap(self, target):
        target.tap()
        self.taps += 1

    def photo(self, name, **which):
        """One tap on the page; what the phone's own camera asks is not counted."""
        with self.page.expect_file_chooser() as chooser:
            self.tap(self.page.get_by_text(name, **which))
        chooser.value.set_files(jpeg())

    def number(self, label, text):
        self.tap(self.page.get_by_label(label, exact=True))
        self.page.keyboard.type(text)

    def on(self, address):
        self.page.wait_for_url(re.compile(address))
        self.seen.append(address)

    def send(self):
        self.tap(self.page.get_by_role("button", name="Send it to your teacher"))
        self.on(r"/rounds/\d+/")


@pytest.fixture
def reeds(student):
    version = make.VersionFactory(pattern__studio=student.studio)
    given = {"owner": student, "version": version}
    return [make.ReedFactory(**given, number=n, stage=stage) for n, stage in ((7, "tied"), (8, "bound"))]


@pytest.fixture
def thumb(phone, sign_in, student, reeds):
    sign_in(phone, student).goto(student.to("lessons:desk"))
    expect(phone.get_by_text("Take a photo of a reed")).to_be_visible()
    return Thumb(phone)


def test_the_whole_line_takes_few_taps(thumb, student, axe_by_day_and_night):
    page = thumb.page
    thumb.seen.append("desk")
    thumb.photo("Take a photo of a reed")
    thumb.on("/send/$")
    expect(page.locator("[data-waiting] img")).to_be_visible()
    axe_by_day_and_night(page)
    thumb.tap(page.get_by_role("link", name=re.compile("^7")))
    thumb.on(r"/send/\d+/$")
    expect(page.locator("#photo-list img[src*='thumbnail']")).to_have_count(1)
    thumb.photo("Take a photo", exact=True)
    expect(page.locator("#photo-list img[src*='thumbnail']")).to_have_count(2)
    for label, text in NUMBERS.items():
        thumb.number(label, text)
    thumb.send()
    sent = Submission.objects.get()
    assert (sent.reed.number, sent.photos.count(), sent.measurements.count()) == (7, 2, 3)
    assert (thumb.taps, len(thumb.seen)) == (7, 4), "existing reed, two photos, three numbers"

    page.goto(student.to("lessons:desk"))
    expect(page.locator(".camera [data-waits]")).to_be_hidden()
    thumb.taps, thumb.seen = 0, ["desk"]
    thumb.photo("Take a photo of a reed")
    thumb.on("/send/$")
    expect(page.locator("[data-waiting] img")).to_be_visible()
    thumb.tap(page.get_by_role("link", name="A new reed"))
    thumb.on("/reeds/new/")
    axe_by_day_and_night(page)
    expect(page.get_by_role("radio", name="45")).to_be_checked()
    thumb.tap(page.get_by_role("button", name="Make"))
    thumb.on(r"/send/\d+/$")
    expect(page.locator("#photo-list img[src*='thumbnail']")).to_have_count(1)
    thumb.send()
    assert (thumb.taps, len(thumb.seen)) == (4, 5), "new blank, one photo"
    assert Submission.objects.filter(reed__number=9, photos__isnull=False).exists()


def _what_may_be_wrong_is_said_at_once(page):
    """As the server says it: of a photo as it should be nothing, of those that are damaged their own word."""
    sharp = Image.open(io.BytesIO(sharp_photo()))
    damaged = {
        "blurred": sharp.filter(ImageFilter.GaussianBlur(0.003 * math.hypot(*sharp.size))),
        "too dark": sharp.point(lambda grey: grey * 0.15),
        "few pixels": sharp.resize((800, 600)),
        "mirrored": ImageOps.mirror(sharp),
        "cut off": sharp.crop((0, 0, sharp.width, sharp.height // 2)),
    }
    page.locator("#chosen").set_input_files([jpeg(f"{said}.jpg", one) for said, one in damaged.items()])
    for said in damaged:
        row = page.locator("[data-waiting] li", has_text=f"{said}.jpg")
        expect(row.locator(".advice")).to_have_count(1)
        expect(row.locator(".advice")).to_contain_text(said)
    again, dark = (
        page.get_by_role("button", name="Take it again"),
        page.locator("li", has_text="too dark.jpg"),
    )
    expect(again).to_have_count(len(damaged))
    with page.expect_file_chooser() as chooser:
        dark.get_by_role("button", name="Take it again").tap()
    chooser.value.set_files(jpeg("better.jpg"))
    expect(dark).to_have_count(0)
    expect(page.locator("[data-waiting]")).to_contain_text("better.jpg")
    for name in ("blurred.jpg", "few pixels.jpg", "mirrored.jpg", "cut off.jpg", "better.jpg"):
        row = page.locator("[data-waiting] li", has_text=name)
        row.get_by_role("button", name="Remove").tap()
        expect(row).to_have_count(0)
    expect(page.locator("[data-waiting] .advice")).to_have_count(0)  # the one that was taken first


def test_what_looks_wrong_is_taken_again_by_one_tap_whoever_judged_it(page):
    """The phone says it at once and the server again, once it has looked: the page says it and stays."""
    page.evaluate("window.stays = true")
    sharp = Image.open(io.BytesIO(sharp_photo()))
    page.locator("#chosen").set_input_files(jpeg("fine.jpg"))
    expect(page.locator("#photo-list img[src*='thumbnail']")).to_have_count(1)
    again = page.get_by_role("button", name="Take it again")
    expect(again).to_have_count(0)
    for said, picture in (
        ("dark", sharp.point(lambda grey: grey * 0.15)),
        ("mirrored", ImageOps.mirror(sharp)),
    ):
        page.locator("#chosen").set_input_files(jpeg(f"{said}.jpg", picture))
        wrong = page.locator("#photo-list li", has_text=said)
        expect(wrong.locator("img[src*='thumbnail']")).to_be_visible()
        with page.expect_file_chooser() as chooser:
            again.tap()
        assert wrong.count() == 1, "until there is a better one it stays"
        chooser.value.set_files(jpeg("better.jpg"))
        expect(wrong).to_have_count(0)
        expect(again).to_have_count(0)
    expect(page.locator("#photo-list img[src*='thumbnail']")).to_have_count(3)
    assert Submission.objects.get().photos.count() == 3
    assert page.evaluate("window.stays")


def test_a_photo_of_no_reed_is_kept_until_one_is_chosen_with_its_stage(thumb, student, watch):
    page = thumb.page
    thumb.photo("Take a photo of a reed")
    thumb.on("/send/$")
    expect(page.locator("[data-waiting] img")).to_be_visible()
    page = thumb.page = killed(page, watch)
    page.goto(student.to("lessons:desk"))
    page.get_by_role("link", name="A photo waits on this phone").tap()
    expect(page.locator("[data-waiting] li")).to_have_count(1)
    thumb.photo("From the gallery")
    expect(page.locator("[data-waiting] li")).to_have_count(2)
    page.locator("[data-waiting]").get_by_role("button", name="Remove").first.tap()
    expect(page.locator("[data-waiting] li")).to_have_count(1)
    _what_may_be_wrong_is_said_at_once(page)
    page.get_by_role("button", name="7, by now bound").tap()
    thumb.on(r"/send/\d+/$")
    expect(page.locator("#photo-list img[src*='thumbnail']")).to_have_count(1)
    assert Reed.objects.get(number=7).stage == "bound"
    assert [photo.flaws for photo in Submission.objects.get().photos.all()] == [[]]
    page.goto(student.to("lessons:draft", Reed.objects.get(number=8).pk))
    expect(page.locator("#photo-list img")).to_have_count(0)

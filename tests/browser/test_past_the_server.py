"""A photo that the phone puts into the bucket itself, or sends the ordinary way where it cannot."""

from __future__ import annotations

import io

import pytest
from PIL import Image
from playwright.sync_api import expect

from reeds.photo.models.photo import Photo
from tests.browser.conftest import forgive
from tests.services.conftest import bucket, names_in, service  # noqa: F401  # fixtures

pytestmark = pytest.mark.flaky(reruns=0)  # what is lost in one of two tries is lost
SHOWN = """src => new Promise((go) => {
  const image = new Image();
  image.onload = () => go(image.naturalWidth);
  image.onerror = () => go(0);
  image.src = src;
})"""


def large(name):
    """A photo that is worth the way: noise, which no format makes small."""
    out = io.BytesIO()
    Image.effect_noise((600, 400), 80).convert("RGB").save(out, "JPEG", quality=95)
    return {"name": name, "mimeType": "image/jpeg", "buffer": out.getvalue()}


@pytest.fixture
def asked(bucket, live_server, page):  # noqa: F811  # the fixture
    """What the page sends, by method and what is asked: the bucket lets it in, and not yet the page."""
    bucket.make_ready(live_server.url)
    found = []
    page.on("request", lambda request: found.append((request.method, request.url)))
    page.reload()  # the page was made before there was a bucket
    return found


def puts(asked, settings):
    return [url for method, url in asked if method == "POST" and url.startswith(settings.S3_ENDPOINT)]


def test_a_photo_goes_past_the_server_and_where_the_bucket_refuses_it_goes_through_it(
    page, asked, bucket, settings, watch, student  # noqa: F811
):  # fmt: skip
    photos = page.locator("#photo-list img[src*='thumbnail']")
    page.locator("#chosen").set_input_files(large("reed.jpg"))
    expect(photos).to_have_count(1)
    assert len(puts(asked, settings)) == 1
    bucket.make_ready("https://elsewhere.example.org")  # its answers are no longer for this page
    page.locator("#chosen").set_input_files(large("second.jpg"))
    expect(photos).to_have_count(2)
    page.locator("#chosen").set_input_files(large("third.jpg"))
    expect(photos).to_have_count(3)
    assert len(puts(asked, settings)) == 2, "after a failure all go the ordinary way"
    forgive(watch, "CORS policy", "ERR_FAILED", settings.S3_ENDPOINT)
    assert Photo.objects.count() == 3
    kept = {str(file.name) for photo in Photo.objects.all() for file in photo.files}
    assert kept <= set(names_in(bucket))
    assert len(set(names_in(bucket)) - kept) <= 1  # what the bucket took though the page was not told
    photo = Photo.objects.first()
    assert page.evaluate(SHOWN, student.to("reeds:photo", photo.pk, "upright")) == 600
    assert any(photo.upright.name in url for _method, url in asked)

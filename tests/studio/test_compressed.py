"""Pages are compressed for who asks so, each time a little longer; a photo goes as it is."""

import gzip

import pytest
from django.test import Client

from tests import factories as make

pytestmark = pytest.mark.django_db
ASKS = {"HTTP_ACCEPT_ENCODING": "gzip, deflate, br"}


@pytest.fixture
def browser(student):
    client = Client(**ASKS)
    client.force_login(student.person)
    return client


def test_a_page_is_compressed_and_reads_the_same(browser, student):
    answer = browser.get(student.to("lessons:desk"))
    assert (answer.headers["Content-Encoding"], "Accept-Encoding" in answer.headers["Vary"]) == ("gzip", True)
    assert len(answer.content) == int(answer.headers["Content-Length"])
    page = gzip.decompress(answer.content).decode()
    assert "My desk" in page
    assert len(answer.content) < len(page) / 2


def test_its_length_says_nothing_exact_of_what_it_holds(browser):
    told = {len(browser.get("/kept/").content) for _ in range(12)}
    assert len(told) > 3


def test_who_does_not_ask_for_it_gets_it_plain(student):
    client = Client()
    client.force_login(student.person)
    answer = client.get(student.to("lessons:desk"))
    assert "Content-Encoding" not in answer.headers
    assert b"My desk" in answer.content


def test_a_photo_goes_as_it_is(browser, student):
    photo = make.ready_photo(make.ReedFactory(owner=student))
    answer = browser.get(student.to("reeds:photo", photo.pk, "screen"))
    assert (answer.status_code, "Content-Encoding" in answer.headers) == (200, False)
    assert b"".join(answer.streaming_content).startswith(b"\xff\xd8")

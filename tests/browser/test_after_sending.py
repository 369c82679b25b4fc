"""A round is sent, its page says what went, something forgotten is added, then it is taken back."""

import re

import pytest
from playwright.sync_api import expect

from lessons.sending.models import Submission
from tests import factories as make


@pytest.fixture
def photo_file(tmp_path):
    file = tmp_path / "reed.jpg"
    file.write_bytes(make.picture(800, 600))
    return file


def send(page):
    page.locator("#send").tap()
    page.wait_for_url(re.compile(r"/rounds/\d+/"))


def test_what_went_is_shown_completed_and_taken_back(phone, sign_in, student, photo_file, axe):
    reed = make.ReedFactory(owner=student, stage="tied", number=7)
    sign_in(phone, student).goto(student.to("lessons:draft", reed.pk))
    phone.get_by_label("tie length").first.fill("72.5")
    send(phone)
    went = phone.locator(".after-sending")
    expect(went).to_contain_text("1 number")
    expect(went).not_to_contain_text("photo")
    axe(phone)

    phone.get_by_role("button", name="Add something forgotten").tap()
    expect(phone.locator("#messages")).to_contain_text("not sent now")
    expect(phone.get_by_label("tie length").first).to_have_value("72.5")
    phone.locator("#chosen").set_input_files(photo_file)
    expect(phone.locator("#photo-list a.enlarge img")).to_be_visible()
    send(phone)
    expect(went).to_contain_text("1 photo")
    expect(went).to_contain_text("1 number")

    phone.get_by_role("button", name="Take it back").tap()
    expect(phone.locator("#messages")).to_contain_text("nothing is lost")
    expect(phone.locator("main")).to_contain_text("Begun, not sent")
    (round_,) = Submission.objects.all()
    assert (round_.round, round_.sent_at, round_.photos.count()) == (1, None, 1)

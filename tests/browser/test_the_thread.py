"""The thin thread: a reed, a photo, a number, a finding, a mark, an answer, a line of the term page."""

import re

import pytest
from playwright.sync_api import expect

from lessons.answering.models import Mark
from lessons.sending.models import Submission
from tests import factories as make


@pytest.fixture
def photo_file(tmp_path):
    file = tmp_path / "reed.jpg"
    file.write_bytes(make.picture(800, 600))
    return file


@pytest.fixture
def pattern(student):
    return make.VersionFactory(pattern__studio=student.studio).pattern


def _make_a_reed(page):
    page.goto("/")
    page.get_by_role("link", name="Send a reed").first.click()
    page.get_by_role("link", name=re.compile("new reed", re.IGNORECASE)).click()
    page.get_by_role("radio", name="45").check()
    page.get_by_role("radio", name="tied").check()
    page.get_by_role("button", name=re.compile("make", re.IGNORECASE)).click()


def _fill_and_send(page, photo_file):
    page.locator("input[type=file]").first.set_input_files(photo_file)
    expect(page.get_by_role("img", name=re.compile("photo", re.IGNORECASE)).first).to_be_visible()
    page.get_by_label(re.compile("tie length", re.IGNORECASE)).first.fill("60")
    expect(page.locator("#checked .finding").first).to_be_visible()
    page.get_by_role("button", name=re.compile("^send", re.IGNORECASE)).last.click()
    page.wait_for_url(re.compile(r"/rounds/\d+/"))


def _mark_and_answer(page):
    page.get_by_role("link", name=re.compile("reeds waiting", re.IGNORECASE)).first.click()
    page.locator("[data-row]").first.click()
    page.wait_for_url(re.compile(r"/queue/\d+/"))
    here = page.url
    page.get_by_role("button", name="Point").click()
    page.locator("[data-stage]").click(position={"x": 260, "y": 140})
    page.keyboard.type("too much bark here")
    page.keyboard.press("Enter")
    page.get_by_label("your words").fill("Let it dry for a week.")
    page.get_by_label("let it rest").check()
    page.get_by_role("button", name=re.compile("send", re.IGNORECASE)).first.click()
    expect(page).not_to_have_url(here)


def test_a_reed_goes_from_the_students_phone_to_the_teachers_desk_and_back(
    phone, desk, sign_in, teacher, student, pattern, photo_file
):
    make.TermFactory(studio=student.studio, starts_on="2020-01-01", ends_on="2099-12-31")
    sign_in(phone, student)
    _make_a_reed(phone)
    _fill_and_send(phone, photo_file)
    sent = Submission.objects.get()
    assert (sent.photos.count(), sent.measurements.count()) == (1, 1)

    sign_in(desk, teacher)
    desk.goto("/")
    _mark_and_answer(desk)
    assert Mark.objects.get().words == "too much bark here"

    phone.reload()
    expect(phone.get_by_text("Let it dry for a week.")).to_be_visible()
    expect(phone.get_by_text("too much bark here").first).to_be_visible()
    phone.get_by_role("link", name="The term").first.click()
    expect(phone.locator("main")).to_contain_text(str(sent.reed.number))

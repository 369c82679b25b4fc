"""On a phone: all that is one's own fetched as one file; a calendar's link made, copied, taken back."""

from __future__ import annotations

import re
import zipfile

import pytest
from playwright.sync_api import expect

from lessons.calendar.models import CalendarLink
from lessons.export.models import Export
from lessons.export.tasks import make_export
from tests import factories as make
from tests.browser.conftest import PHONE

pytestmark = pytest.mark.django_db(transaction=True)
FITS = "document.documentElement.scrollWidth <= window.innerWidth"


def test_a_student_fetches_all_that_is_theirs(phone, sign_in, student, axe):
    reed = make.ReedFactory(owner=student, shape="the only shape")
    make.ready_photo(reed)
    sign_in(phone, student).goto(student.to("me"))
    phone.get_by_role("link", name="All that is here, in one file").click()
    expect(phone.get_by_role("heading", level=1)).to_have_text("An export")
    expect(phone.get_by_label("Whose")).to_have_count(0)
    phone.get_by_role("button", name="Make it").click()
    fetch = phone.get_by_role("link", name=re.compile("Fetch the file"))
    expect(fetch).to_be_visible()
    assert phone.evaluate(FITS)
    axe(phone)
    with phone.expect_download() as started:
        fetch.click()
    assert started.value.suggested_filename.endswith(".zip")
    bundle = zipfile.ZipFile(started.value.path())
    assert "the only shape" in bundle.read("csv/reeds.csv").decode()
    assert [name for name in bundle.namelist() if name.startswith("photos/")]
    phone.get_by_role("button", name="Delete it now").click()
    expect(fetch).to_have_count(0)


def test_the_page_shows_by_itself_that_it_is_ready(phone, sign_in, student):
    row = Export.objects.create(studio=student.studio, member=student, by_teacher=False)
    sign_in(phone, student).goto(student.to("lessons:export"))
    expect(phone.get_by_text("It is being made")).to_be_visible()
    make_export.func(row.pk)
    expect(phone.get_by_role("link", name=re.compile("Fetch the file"))).to_be_visible()


def test_a_teacher_takes_away_the_term_of_one_student(phone, sign_in, teacher, student):
    term = make.TermFactory(studio=teacher.studio, starts_on="2020-01-01", ends_on="2099-12-31")
    make.ReedFactory(owner=student)
    sign_in(phone, teacher).goto(teacher.to("lessons:term", student.pk))
    phone.get_by_role("link", name=re.compile("Take this away")).click()
    expect(phone.get_by_label("Whose")).to_have_value(str(student.pk))
    expect(phone.get_by_label("Of which term")).to_have_value(str(term.pk))
    phone.get_by_label("Leave out photos and recordings").check()
    phone.get_by_role("button", name="Make it").click()
    expect(phone.get_by_text("without photos and recordings")).to_be_visible()
    assert phone.evaluate(FITS)


def test_a_calendars_link_is_made_copied_and_taken_back(open_page, sign_in, student, axe):
    phone = open_page(**PHONE, permissions=["clipboard-read", "clipboard-write"])
    sign_in(phone, student).goto(student.to("me"))
    phone.get_by_role("link", name="A calendar for your phone").click()
    phone.get_by_role("button", name="Make a link").click()
    link = phone.get_by_label("The link", exact=True).input_value()
    assert re.search(r"/calendar/[\w-]{43}\.ics$", link)
    assert phone.evaluate(FITS)
    axe(phone)
    phone.get_by_role("button", name="Copy the link").click()
    expect(phone.get_by_text("Copied")).to_be_visible()
    assert phone.evaluate("navigator.clipboard.readText()") == link
    assert "BEGIN:VCALENDAR" in phone.request.get(link).text()
    phone.goto(student.to("lessons:calendar"))
    expect(phone.get_by_text("There is a link since")).to_be_visible()
    expect(phone.get_by_label("The link", exact=True)).to_have_count(0)
    phone.get_by_role("button", name="Take the link back").click()
    expect(phone.get_by_text("The link no longer works.")).to_be_visible()
    assert phone.request.get(link).status == 404
    assert not CalendarLink.objects.exists()

"""The line from a typed number to its answer in German, with its longer words: on a phone and on a desk."""

import re

from django.utils import translation
from playwright.sync_api import expect

from lessons.sending.models import Submission
from studio.models import Person
from tests import factories as make
from tests.browser.large_text import troubles_in_large_text


def german(sentence):
    """Return what the page says for it."""
    with translation.override("de"):
        return translation.gettext(sentence)


def in_german(page):
    expect(page.locator("html")).to_have_attribute("lang", "de")
    assert troubles_in_large_text(page) == []


def test_a_student_chooses_german_types_a_comma_and_sends(phone, sign_in, student, axe):
    reed = make.ReedFactory(owner=student, stage="tied", number=7)
    sign_in(phone, student).goto(student.to("me"))
    phone.get_by_label("Language").select_option("de")
    phone.get_by_role("button", name="Keep what you read").tap()
    expect(phone.get_by_role("status")).to_have_text(german("Kept."))
    in_german(phone)
    phone.goto(student.to("lessons:draft", reed.pk))
    phone.locator("#id_tie_length").fill("75,5")
    with translation.override("de"):
        limits = translation.gettext("%(low)s to %(high)s") % {"low": "71", "high": "73"}
    expect(phone.locator("#said-tie_length")).to_contain_text(limits)
    expect(phone.locator("#checked")).to_contain_text("75,5")
    in_german(phone)
    axe(phone)
    phone.get_by_role("button", name=german("Send it to your teacher")).tap()
    phone.wait_for_url(re.compile(r"/rounds/"))
    in_german(phone)
    assert reed.measurements.get(quantity="tie_length").measured.value == 75.5


def test_a_teacher_answers_in_german(desk, teacher, look, axe):
    Person.objects.filter(pk=teacher.person_id).update(language="de")
    page = look(desk)
    in_german(page)
    page.get_by_label(german("Your words")).fill("Zu breit.")
    page.get_by_label(german("work on it")).check()
    expect(page.locator("[data-kept]")).not_to_be_empty()
    axe(page)
    page.keyboard.press("Control+Enter")
    page.wait_for_url(re.compile(r"/queue/$"))
    in_german(page)
    axe(page)
    assert not Submission.objects.get().is_waiting

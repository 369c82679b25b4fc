"""A planned comparison: set by the teacher, gone through by the student, read when it is over.

And a question asked of a term.
"""

import datetime as dt
import re

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from lessons.comparison.models import PlannedComparison
from reeds.reed.models.reed import Reed
from tests import factories as make
from tests.browser.conftest import DESK, PHONE
from tests.browser.in_the_hand import small_letters
from tests.lessons.comparison.planned import blank, lived
from tests.lessons.demo.finished import finished_term

pytestmark = pytest.mark.django_db(transaction=True)


def fits(page):
    return page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")


def test_a_teacher_sets_a_plan_a_student_goes_by_it_and_it_is_told(
    desk, phone, sign_in, axe, watch, teacher, student
):
    sign_in(desk, teacher).goto(teacher.to("lessons:comparisons"))
    axe(desk)
    desk.get_by_role("link", name="Plan a comparison").click()
    axe(desk)
    desk.get_by_label("What differs").select_option(label="rest before scraping")
    desk.get_by_label("The one way").fill("1 night")
    desk.get_by_label("The other way").fill("8 weeks")
    desk.get_by_label(str(student)).check()
    desk.get_by_label("Blanks of each").fill("12")
    desk.get_by_label("Until").fill((make.today() + dt.timedelta(days=30)).isoformat())
    watch.expect(422)  # the day that was typed first is too early
    desk.get_by_role("button", name="Keep it and draw").click()
    for place in (desk.get_by_role("link", name="Until"), desk.locator("#id_until_error")):
        expect(place).to_contain_text("the longer rest is not over")
    desk.get_by_label("Until").fill((make.today() + dt.timedelta(days=90)).isoformat())
    desk.get_by_role("button", name="Keep it and draw").click()
    expect(desk.get_by_role("heading", level=1)).to_have_text("Rest 1 day or rest 8 weeks")
    axe(desk)

    reed = blank(student)
    sign_in(phone, student).goto(student.to("lessons:desk"))
    phone.get_by_role("link", name="rest 1 day or rest 8 weeks").click()
    expect(phone.get_by_text("rest until")).to_have_count(0)
    phone.get_by_role("button", name="Take the place").click()
    expect(phone.get_by_text(re.compile(r"is to rest until \d+ \w+"))).to_be_visible()
    axe(phone)
    assert fits(phone)
    phone.goto(student.to("lessons:desk"))
    expect(phone.get_by_text(re.compile(r"is to rest until \d+ \w+"))).to_be_visible()
    phone.goto(student.to("reeds:reed", reed.pk))
    expect(phone.get_by_text("Drawn by lot")).to_be_visible()

    plan = PlannedComparison.objects.get()
    plan.places.update(reed=None, taken_at=None)
    Reed.objects.filter(pk=reed.pk).delete()
    lived(plan, student, lambda arm, _place: arm == 1, early={1})
    ended = {
        "until": make.today() - dt.timedelta(days=1),
        "made_at": timezone.now() - dt.timedelta(days=90),
    }
    PlannedComparison.objects.update(**ended)
    desk.goto(teacher.to("lessons:queue"))
    desk.get_by_role("link", name="A comparison is over").click()
    expect(desk.get_by_text("It makes a difference.")).to_be_visible()
    expect(desk.locator("svg.compared")).to_be_visible()
    expect(desk.get_by_role("heading", name="Of the reeds that kept to it")).to_be_visible()
    axe(desk)
    desk.get_by_role("button", name="I have read it").click()
    desk.goto(teacher.to("lessons:queue"))
    expect(desk.get_by_role("link", name="A comparison is over")).to_have_count(0)


@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_a_question_is_asked_with_the_keyboard_and_its_answer_read(
    size, open_page, sign_in, axe_by_day_and_night
):
    finished = finished_term()
    page = open_page(**size)
    teacher = finished.teacher
    sign_in(page, teacher).goto(teacher.to("lessons:term") + f"?term={finished.term.pk}")
    page.get_by_role("link", name="Ask of this term").click()
    page.get_by_label("How reeds came out").select_option(label="came to play")
    for name in ("rest before scraping", "cane lot", "feel of the wet cane"):
        page.get_by_label(name).focus()
        page.keyboard.press("Space")
    page.get_by_role("button", name="Ask", exact=True).press("Enter")
    expect(page.locator("article.answer")).to_have_count(3)
    expect(page.locator("svg.compared")).to_have_count(3)
    page.locator("article.answer summary").first.click()
    axe_by_day_and_night(page)
    assert fits(page)
    assert not small_letters(page)

"""Four blanks of one batch answered at once, on a phone, a tablet and a screen."""

import re
import uuid

import pytest
from playwright.sync_api import expect

from lessons.answering.models import Answer, Mark
from lessons.sending.models import Submission
from tests import factories as make
from tests.browser.conftest import DESK, PHONE

TABLET = {"viewport": {"width": 820, "height": 1180}, "has_touch": True}


@pytest.fixture
def blanks(student):
    batch = uuid.uuid4()
    reeds = [make.ReedFactory(owner=student, batch=batch, number=number) for number in (11, 12, 13, 14)]
    return [make.sent_round(student, reed=reed, days=20 - reed.number) for reed in reeds]


@pytest.mark.parametrize("screen", [PHONE, TABLET, DESK], ids=["phone", "tablet", "desk"])
def test_chosen_in_the_queue_one_is_marked_and_all_are_answered_and_taken_back(
    screen, open_page, sign_in, teacher, blanks, axe
):
    page = sign_in(open_page(**screen), teacher)
    page.goto(teacher.to("lessons:queue"))
    for number in (11, 12, 14):
        page.get_by_label(re.compile(f"Choose reed {number} ")).check()
    axe(page)
    page.get_by_role("button", name="Answer the chosen together").click()
    page.wait_for_url(re.compile(r"/queue/\d+/\?also="))
    page.get_by_role("button", name="Point", exact=True).click()
    page.locator("[data-stage]").click(position={"x": 150, "y": 150})
    page.keyboard.type("too much bark here")
    page.keyboard.press("Enter")
    page.get_by_label("Your words").fill("Reed  is well tied.")
    page.get_by_label("Your words").evaluate("field => field.setSelectionRange(5, 5)")
    page.get_by_role("button", name="Put it in").click()
    expect(page.get_by_label("Your words")).to_have_value("Reed [number] is well tied.")
    page.get_by_label("let it rest").check(force=True)
    axe(page)
    width = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
    assert width <= 0
    page.get_by_role("button", name="Send to all, next reed").click()
    expect(page.locator(".just-sent")).to_contain_text("Reeds 11, 12, 14 of")
    assert set(Answer.objects.sent().values_list("words", flat=True)) == {
        f"Reed {n} is well tied." for n in (11, 12, 14)
    }
    assert Mark.objects.get().answer.submission.reed.number == 11
    page.get_by_role("button", name="Take it back").first.click()
    expect(page.get_by_label("Your words")).to_have_value("Reed [number] is well tied.")
    assert Submission.objects.waiting().count() == 4
    expect(page.locator("[name=also]")).to_have_count(2)


def test_a_reed_is_chosen_by_its_key(desk, sign_in, teacher, blanks):
    page = sign_in(desk, teacher)
    page.goto(teacher.to("lessons:queue"))
    page.keyboard.press("e")
    page.keyboard.press("c")
    page.keyboard.press("ArrowDown")
    page.keyboard.press("c")
    expect(page.locator("[data-choose]:checked")).to_have_count(2)
    page.keyboard.press("c")
    expect(page.locator("[data-choose]:checked")).to_have_count(1)

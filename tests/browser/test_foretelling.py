"""What a blank foretells, in a browser: on a desk and on a phone, by day and by night."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from tests.browser.conftest import DESK, PHONE
from tests.lessons.demo.finished import finished_term

pytestmark = pytest.mark.django_db(transaction=True)
FITS = "() => document.documentElement.scrollWidth <= document.documentElement.clientWidth"
LEAST_PX = 12


def test_chances_pulls_and_the_picture_can_be_read(open_page, sign_in, axe_by_day_and_night):
    finished = finished_term()
    for screen in (DESK, PHONE):
        page = sign_in(open_page(**screen), finished.teacher)
        can_be_read(page, finished, axe_by_day_and_night)


def can_be_read(page, finished, axe_by_day_and_night):
    page.goto(finished.teacher.to("lessons:foretelling"))
    expect(page.get_by_role("heading", level=1)).to_have_text("What a blank foretells")
    expect(page.get_by_role("table", name="Blanks at rest").get_by_role("row")).to_have_count(5)
    expect(page.get_by_text("days of rest").first).to_be_visible()
    folded = page.locator("main summary", has_text="How this is reckoned")
    expect(folded).to_have_count(2)
    expect(page.get_by_role("img")).to_have_count(0)
    for fold in folded.all():
        fold.click()
    expect(page.get_by_role("img")).to_have_count(2)
    assert page.evaluate(FITS)
    assert min(_heights(page)) >= LEAST_PX
    axe_by_day_and_night(page)


def _heights(page):
    """How large the letters of the pictures come out on the screen, px."""
    return page.eval_on_selector_all(
        "svg text",
        "texts => texts.map(text => parseFloat(getComputedStyle(text).fontSize) * text.getScreenCTM().a)",
    )

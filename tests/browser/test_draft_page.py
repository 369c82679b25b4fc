"""The page on which a round grows: what is refused, from number to number, one item after the other."""

import re

from playwright.sync_api import expect

from tests import factories as make
from tests.browser.conftest import PHONE

LARGE_TEXT = (
    "addEventListener('DOMContentLoaded', () => { document.documentElement.style.fontSize = '200%'; })"
)
OVER_THE_EDGE = """() => [...document.querySelectorAll('main *')]
    .filter((one) => one.offsetParent && one.getBoundingClientRect().right > innerWidth + 1)
    .map((one) => one.outerHTML.slice(0, 90))"""


def test_what_is_refused_stands_first_takes_the_focus_and_leads_to_its_field(page, axe, watch):
    watch.expect(422)
    length = page.get_by_label("tie length (mm)")
    length.fill("seventy")
    length.press("Enter")  # goes on instead of sending what is half typed
    expect(length).not_to_be_focused()
    expect(page.locator("#told")).to_have_text("1 thing to look at")
    page.get_by_role("button", name="Send it to your teacher").tap()
    listed = page.locator("#refused .refused")
    expect(listed).to_be_focused()
    expect(listed).to_be_in_viewport()
    axe(page)
    listed.get_by_role("link", name=re.compile("^Tie length")).tap()
    expect(length).to_be_focused()
    length.fill("75")
    expect(page.locator("#said-tie_length")).to_have_text("above: the sheet has 71 to 73 mm")
    expect(listed).to_have_count(0)


def test_one_item_of_the_playing_test_comes_after_the_other(open_page, sign_in, student, axe):
    reed = make.ReedFactory(owner=student, stage="playing")
    page = open_page(**PHONE | {"viewport": {"width": 320, "height": 640}}, permissions=["microphone"])
    page.add_init_script(LARGE_TEXT)
    sign_in(page, student).goto(student.to("lessons:draft", reed.pk))
    assert page.evaluate(OVER_THE_EDGE) == []
    first, second = (page.locator("[data-played]").nth(place) for place in range(2))
    second.locator("summary").first.tap()
    expect(first).not_to_have_attribute("open", "")
    first.locator("summary").first.tap()
    expect(second).not_to_have_attribute("open", "")
    first.get_by_role("button", name=re.compile("^Record")).tap()
    expect(first.get_by_role("button", name="Stop")).to_be_visible()
    expect(first.get_by_role("group", name=re.compile("^Does it speak"))).to_be_hidden()
    axe(page)
    first.get_by_role("button", name="Stop").tap()
    expect(first.get_by_role("button", name="Throw away")).to_be_visible()
    first.get_by_role("button", name="Keep it").tap()
    expect(second).to_have_attribute("open", "")
    expect(second.get_by_role("button", name=re.compile("^Record"))).to_be_focused()
    expect(first.locator("[data-recorded]")).to_have_text("recorded: 1")
    assert page.evaluate(OVER_THE_EDGE) == []

"""The frame of every page: the studio's name, whole; the places one goes to, at hand; out of the way."""

import pytest
from playwright.sync_api import expect

from tests import factories as make
from tests.browser.conftest import DESK, PHONE

TOUCH = 44
TABLET = {"viewport": {"width": 768, "height": 1024}, "has_touch": True}
NARROW = PHONE | {"viewport": {"width": 320, "height": 640}}
PLACES = {"student": 6, "teacher": 6, "guardian": 2}

# of what one sees of the links of a part: how many rows, how low the smallest target, where they begin
SEEN = """part => {
  const boxes = [...document.querySelectorAll(`${part} a`)].map(link => link.getBoundingClientRect())
    .filter(box => box.width > 1);
  return {
    rows: new Set(boxes.map(box => Math.round((box.top + box.bottom) / 2))).size,
    number: boxes.length,
    least: Math.min(...boxes.flatMap(box => [box.width, box.height])),
    top: Math.min(...boxes.map(box => box.top)),
    left: Math.min(...boxes.map(box => box.left)),
    right: Math.max(...boxes.map(box => box.right)),
  };
}"""
# the lines of the studio's name, and whether any of it is cut
NAME = """() => {
  const name = document.querySelector(".bar-studio"), range = document.createRange();
  range.selectNodeContents(name);
  return {
    lines: new Set([...range.getClientRects()].map(box => Math.round(box.top))).size,
    whole: name.scrollWidth <= name.clientWidth + 1 && getComputedStyle(name).textOverflow === "clip",
  };
}"""


@pytest.fixture
def cast(student, teacher):
    student.studio.name = "Reed room at Quince Lane"
    student.studio.save()
    return {"student": student, "teacher": teacher, "guardian": make.guardian(student)}


def open_as(who, cast, open_page, sign_in, **options):
    page = sign_in(open_page(**options), cast[who])
    page.goto(cast[who].to("me"))
    return page


def test_in_a_hand_the_name_is_whole_and_the_places_lie_in_one_row_under_the_thumb(cast, open_page, sign_in):
    for who, number in PLACES.items():
        page = open_as(who, cast, open_page, sign_in, **NARROW)
        assert page.evaluate(NAME) == {"lines": 1, "whole": True}
        places = page.evaluate(SEEN, ".bar-places")
        assert (places["rows"], places["number"]) == (1, number)
        assert places["least"] >= TOUCH
        assert places["top"] >= 640 - 80
        assert (places["left"] >= 0, places["right"] <= 320) == (True, True)
        # signing out is not beside the name but on the page of oneself
        expect(page.locator(".bar").get_by_role("link", name="sign out")).to_be_hidden()
        expect(page.locator("main").get_by_role("link", name="Sign out on this device")).to_be_visible()
        expect(page.locator(".bar").get_by_role("link", name=str(cast[who].person))).to_be_visible()


def test_it_covers_neither_what_has_the_focus_nor_the_end_nor_the_field_that_is_typed_in(
    cast, open_page, sign_in
):
    page = open_as("student", cast, open_page, sign_in, **PHONE)
    bar = ".bar-places"
    within = page.locator("main :is(a, input, select, button):visible")
    for place in range(within.count()):
        covered = within.nth(place).evaluate(
            """(one, bar) => {
              one.focus();
              const top = document.querySelector(bar).getBoundingClientRect().top;
              return one.getBoundingClientRect().bottom > top ? one.outerHTML : "";
            }""",
            bar,
        )
        assert not covered
    page.evaluate("scrollTo(0, document.documentElement.scrollHeight)")
    lowest = page.locator(".foot").evaluate("foot => foot.getBoundingClientRect().bottom")
    page.evaluate("document.activeElement.blur()")
    assert lowest <= page.locator(bar).evaluate("bar => bar.getBoundingClientRect().top") + 1
    # while one types it makes room, and is there again afterwards
    page.locator("main input[type=text], main input[type=email]").first.focus()
    expect(page.locator(bar)).not_to_be_in_viewport()
    page.evaluate("document.activeElement.blur()")
    expect(page.locator(bar)).to_be_in_viewport()


def test_at_a_desk_and_on_a_tablet_all_of_it_is_one_row(cast, open_page, sign_in):
    # beside name and places: oneself, and where there is room signing out
    for options, more in ((DESK, 3), (TABLET, 2)):
        for who in PLACES:
            page = open_as(who, cast, open_page, sign_in, **options)
            assert page.evaluate(NAME) == {"lines": 1, "whole": True}
            seen = page.evaluate(SEEN, ".bar")
            assert (seen["number"], seen["top"] < 20) == (PLACES[who] + more, True)
            assert page.locator(".bar").evaluate("bar => bar.offsetHeight") <= 72
            assert page.evaluate("document.documentElement.scrollWidth") <= options["viewport"]["width"]

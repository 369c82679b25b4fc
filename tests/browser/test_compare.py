"""Two reeds at one scale in a real Chromium: chosen, drawn aside by slider and by keys, at both widths."""

import pytest
from playwright.sync_api import expect

from tests import factories as make


@pytest.fixture
def photos(student):
    first = make.ReedFactory(owner=student, number=5, stage="finishing")
    older = make.ReedFactory(owner=student, number=4, version=first.version, stage="playing")
    return make.measured_photo(first), make.measured_photo(older)


def share_seen(page):
    return page.locator("[data-second]").evaluate("image => getComputedStyle(image).clipPath")


@pytest.mark.parametrize("width", ["phone", "desk"])
def test_student_chooses_two_photos_and_draws_one_aside_by_keys(
    width, request, sign_in, student, photos, axe
):
    page = sign_in(request.getfixturevalue(width), student)
    page.goto(f"{student.to('reeds:compare')}?a={photos[0].pk}")
    page.get_by_label("and another").select_option(str(photos[1].pk))
    page.get_by_role("button", name="Lay them side by side").click()
    first, second = (page.locator(".compare-sheet img").nth(i) for i in (0, 1))
    assert second.bounding_box()["y"] > first.bounding_box()["y"] + 20
    assert second.bounding_box()["width"] == first.bounding_box()["width"]
    axe(page)
    page.get_by_label("over one another, drawn aside").check()
    assert second.bounding_box() == first.bounding_box()
    slider = page.get_by_label("How much of the second")
    slider.focus()
    before = share_seen(page)
    page.keyboard.press("ArrowRight")
    assert share_seen(page) != before
    page.keyboard.press("Home")
    assert "100%" in share_seen(page)
    page.get_by_label("see-through").check()
    assert second.evaluate("image => getComputedStyle(image).opacity") == "0"
    page.get_by_role("checkbox", name="larger").check()
    assert first.bounding_box()["width"] > 1.5 * page.locator(".compare-scroll").bounding_box()["width"]
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
    expect(page.locator(".compare-table")).to_contain_text("within the doubt")
    axe(page)

"""The opening on its photo in a real Chromium: a point dragged by finger, the questions, the figures kept."""

import json

import pytest
from playwright.sync_api import expect

from reeds.photo.tasks.look import look_at_photo
from reeds.reed.models.measurement import Measurement
from tests import factories as make
from tests.browser.test_measure import by_touch, middle, opened_at, settled
from tests.reeds.photo.test_opening_page import photo_of, simulated


@pytest.fixture
def photo(student):
    row = photo_of(make.ReedFactory(owner=student, stage="playing"), simulated().rgb)
    look_at_photo.func(row.pk)
    return row


def figure(page, key):
    return page.locator(f"[data-figure={key}]").inner_text()


def test_student_answers_drags_a_point_and_keeps_the_opening(phone, sign_in, student, photo, axe, watch):
    opened_at(sign_in(phone, student), student.to("reeds:opening", photo.pk))
    assert phone.evaluate("document.documentElement.scrollWidth") <= 390
    assert figure(phone, "opening_height") == "–"
    phone.get_by_label("Width of the tip (mm)").fill("7")
    phone.get_by_label("up, as it should be").check()
    phone.get_by_label("the back camera, or not mirrored").check()
    expect(phone.locator("[data-figure=opening_height]")).to_contain_text("mm")
    before = figure(phone, "opening_height")
    axe(phone)
    phone.locator(".stage").scroll_into_view_if_needed()
    ring = middle(phone, "upper_4")
    lift = by_touch(phone, ring, (ring[0], ring[1] - 24))
    expect(phone.locator(".lens")).to_be_visible()
    lift()
    settled(phone)
    after = figure(phone, "opening_height")
    assert float(after.split()[0]) > float(before.split()[0])
    phone.get_by_role("button", name="Keep these figures").click()
    expect(phone.locator("#kept-lengths .finding").first).to_be_visible()
    height = Measurement.objects.get(quantity="opening_height")
    assert height.value == pytest.approx(float(after.split()[0]), abs=0.006)
    axe(phone)
    kept = json.loads(phone.locator("[name=points]").input_value())
    opened_at(phone, student.to("reeds:opening", photo.pk))  # the outline stands as it was kept
    assert json.loads(phone.locator("[name=points]").input_value()) == kept
    expect(phone.locator("form [data-again]")).to_be_hidden()


def test_an_outline_not_kept_yet_is_back_after_a_reload(phone, sign_in, student, photo):
    opened_at(sign_in(phone, student), student.to("reeds:opening", photo.pk))
    phone.get_by_label("up, as it should be").check()
    phone.get_by_label("the back camera, or not mirrored").check()
    phone.get_by_label("Width of the tip (mm)").fill("6,8")
    expect(phone.locator("[data-figure=opening_height]")).to_contain_text("mm")
    before = figure(phone, "opening_height")
    phone.locator(".stage").scroll_into_view_if_needed()
    ring = middle(phone, "upper_4")
    by_touch(phone, ring, (ring[0], ring[1] - 20))()
    expect(phone.locator("[data-figure=opening_height]")).not_to_have_text(before)
    settled(phone)
    set_there, height = phone.locator("[name=points]").input_value(), figure(phone, "opening_height")
    opened_at(phone, student.to("reeds:opening", photo.pk))
    assert phone.locator("[name=points]").input_value() == set_there
    expect(phone.locator("[data-figure=opening_height]")).to_have_text(height)
    assert phone.locator("[name=tip_width]").input_value() == "6,8"


def test_selfie_camera_is_refused_with_what_to_do(desk, sign_in, student, photo, watch, axe):
    watch.expect(422)
    opened_at(sign_in(desk, student), student.to("reeds:opening", photo.pk))
    desk.get_by_label("up, as it should be").check()
    desk.get_by_label("the selfie camera, or mirrored").check()
    expect(desk.locator("#said .message-error")).to_contain_text("back camera")
    desk.get_by_role("button", name="Keep these figures").click()
    expect(desk.locator("#kept-lengths .message-error")).to_contain_text("back camera")
    assert not Measurement.objects.exists()
    axe(desk)


def test_keys_move_a_point_of_the_outline(desk, sign_in, student, photo):
    opened_at(sign_in(desk, student), student.to("reeds:opening", photo.pk))
    desk.get_by_text("The points by name, for the keyboard").click()
    at = lambda: json.loads(desk.locator("[name=points]").input_value())["lower_3"]  # noqa: E731
    before = at()
    desk.locator("[data-point=lower_3]").focus()
    for _press in range(3):
        desk.keyboard.press("Shift+ArrowDown")
    assert at() == pytest.approx([before[0], before[1] + 30], abs=0.02)

"""Measuring on a photo in a real Chromium: by finger on a phone, by mouse and keys on a desk."""

import json
import re
from pathlib import Path

import pytest
from playwright.sync_api import expect

from reeds.photo.actions import card as card_actions
from reeds.photo.tasks.look import look_at_photo
from reeds.reed.models.measurement import Measurement
from tests import factories as make
from tests.on_card import photo_row, simulated

CASES = json.loads((Path(__file__).parents[1] / "data" / "projection_cases.json").read_text())


@pytest.fixture
def photo(student):
    reed = make.ReedFactory(owner=student, stage="finishing", staple_length=47.0)
    card_actions.note_bar(card_actions.new_card(student), student, 100.0, "caliper")
    row = photo_row(reed, simulated(7))
    look_at_photo.func(row.pk)
    return row


def opened(page, member, photo):
    opened_at(page, member.to("reeds:measure", photo.pk))


def opened_at(page, address):
    page.goto(address)
    expect(page.locator("[data-ready]")).to_be_attached()
    expect(page.locator(".leaf img")).to_have_js_property("complete", True)


def number(page, key="overall_length"):
    text = page.locator(f"[data-length={key}] strong").inner_text()
    return float(text.split()[0])


def middle(page, key):
    box = page.locator(f"[data-ring={key}] .ring-middle").bounding_box()
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def settled(page):
    expect(page.locator("[data-asking]")).to_have_count(0)
    expect(page.locator(".length-moving")).to_have_count(0)


def by_touch(page, start, stop, steps=6):
    """Drag with one finger; Playwright's own touchscreen only taps."""
    cdp = page.context.new_cdp_session(page)
    send = lambda kind, spots: cdp.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": spots})  # noqa: E731
    send("touchStart", [{"x": start[0], "y": start[1]}])
    for i in range(1, steps + 1):
        share = i / steps
        at = {axis: start[j] + (stop[j] - start[j]) * share for j, axis in enumerate("xy")}
        send("touchMove", [at])
    return lambda: send("touchEnd", [])


def test_student_drags_the_tip_by_finger_and_keeps_the_length(phone, sign_in, student, photo, axe):
    asked = []
    phone.on("request", lambda request: asked.append(request.url.rstrip("/").rsplit("/", 1)[-1]))
    opened(sign_in(phone, student), student, photo)
    assert "upright" not in asked  # a copy of the size it shows will do
    assert phone.evaluate("document.documentElement.scrollWidth") <= 390
    before = number(phone)
    ring, foot = middle(phone, "tip"), middle(phone, "staple_foot")
    away = 14 if ring[0] > foot[0] else -14
    lift = by_touch(phone, ring, (ring[0] + away, ring[1]))
    expect(phone.locator(".lens")).to_be_visible()
    moving = number(phone)
    assert moving > before + 0.3  # the number follows before the finger is lifted
    lift()
    settled(phone)
    assert number(phone) == pytest.approx(moving, abs=0.11)
    assert phone.locator("[data-length=overall_length] .doubt").inner_text().startswith("±")
    assert phone.locator("[data-point=tip]").get_attribute("aria-pressed") == "true"
    axe(phone)

    phone.get_by_role("button", name="Keep the ticked lengths").click()
    expect(phone.locator("#kept-lengths .message-success")).to_be_visible()
    expect(phone.locator("#kept-lengths .finding").first).to_be_visible()
    row = Measurement.objects.get(quantity="overall_length")
    assert row.value == pytest.approx(number(phone), abs=0.06)
    assert (row.method, row.by) == ("photo", student)
    axe(phone)
    # kept again from the same page it counts again: the page was given a new key
    with phone.expect_response(re.compile("/measure/keep/")):
        phone.get_by_role("button", name="Keep the ticked lengths").click()
    assert Measurement.objects.filter(quantity="overall_length").count() == 2


def test_arrow_keys_move_a_point_by_one_pixel_and_with_shift_by_ten(desk, sign_in, student, photo, axe):
    opened(sign_in(desk, student), student, photo)
    points = lambda: json.loads(desk.locator("[name=points]").input_value())  # noqa: E731
    tip = desk.locator("[data-point=tip]")
    tip.focus()
    desk.keyboard.press("ArrowRight")
    settled(desk)
    start = points()["tip"]
    desk.keyboard.press("Shift+ArrowRight")
    desk.keyboard.press("ArrowUp")
    settled(desk)
    assert points()["tip"] == pytest.approx([start[0] + 10, start[1] - 1], abs=0.02)
    expect(tip.locator(".point-state")).to_have_text("set by you")
    axe(desk)


def size_of_ring(page, key):
    return float(page.locator(f"[data-ring={key}] .ring-size").get_attribute("r"))


@pytest.mark.parametrize("width", ["phone", "desk"])
def test_chosen_point_says_where_it_belongs_and_shows_the_reeds_width_there(
    width, request, sign_in, student, photo, axe
):
    page = request.getfixturevalue(width)
    opened(sign_in(page, student), student, photo)
    page.locator("[data-point=thread_end]").focus()
    page.keyboard.press("Enter")
    said = page.locator("[data-where]")
    expect(said).to_contain_text("The last turn of thread towards the tip")
    expect(said).to_contain_text("ring is 5 mm wide")
    # at true scale: 5 mm against the reed's own length between its two rings on the screen
    (x0, y0), (x1, y1) = middle(page, "staple_foot"), middle(page, "tip")
    per_mm = ((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5 / number(page)
    assert 2 * size_of_ring(page, "thread_end") == pytest.approx(5.0 * per_mm, rel=0.08)
    assert size_of_ring(page, "tip") == 0
    before = size_of_ring(page, "thread_end")
    page.keyboard.press("+")
    assert size_of_ring(page, "thread_end") == pytest.approx(1.4 * before, rel=0.01)
    page.locator("[data-point=tip_left]").focus()
    page.keyboard.press("Enter")
    expect(said).to_have_text("Left looking from foot to tip.")
    assert page.evaluate("document.documentElement.scrollWidth") <= page.viewport_size["width"]
    axe(page)


def test_points_not_kept_yet_are_back_after_a_reload(phone, sign_in, student, photo, axe):
    opened(sign_in(phone, student), student, photo)
    points = lambda: json.loads(phone.locator("[name=points]").input_value())  # noqa: E731
    proposed = points()
    ring = middle(phone, "thread_end")
    by_touch(phone, ring, (ring[0] + 12, ring[1] + 6))()
    phone.locator("[data-point=tip_left]").click()
    phone.get_by_role("button", name="Take the chosen point away").click()
    phone.get_by_text("The reed's height above the card").click()
    phone.get_by_label("at the foot (mm)").fill("3,4")
    phone.get_by_label("at the tip (mm)").fill("3,1")
    settled(phone)
    moved, length = points(), number(phone, "cane_beyond_thread")
    assert moved["thread_end"] != proposed["thread_end"]

    opened(phone, student, photo)  # the page was lost and is opened anew
    settled(phone)
    assert points() == moved
    assert moved["tip_left"] is None
    assert number(phone, "cane_beyond_thread") == length
    assert phone.locator("[name=foot_height]").input_value() == "3,4"
    expect(phone.locator("form [data-again]")).to_be_visible()
    expect(phone.locator("[data-point=thread_end] .point-state")).to_have_text("set by you")
    axe(phone)

    phone.get_by_role("button", name="Keep the ticked lengths").click()
    expect(phone.locator("#kept-lengths .message-success")).to_be_visible()
    opened(phone, student, photo)
    expect(phone.locator("form [data-again]")).to_be_hidden()
    assert points()["thread_end"] == pytest.approx(moved["thread_end"], abs=0.01)


def test_points_not_kept_are_their_persons_alone_and_can_be_put_back(desk, sign_in, student, teacher, photo):
    opened(sign_in(desk, student), student, photo)
    points = lambda: json.loads(desk.locator("[name=points]").input_value())  # noqa: E731
    proposed = points()
    desk.locator("[data-point=tip]").focus()
    desk.keyboard.press("Shift+ArrowRight")
    settled(desk)
    opened(sign_in(desk, teacher), teacher, photo)
    expect(desk.locator("form [data-again]")).to_be_hidden()
    assert points() == proposed
    opened(sign_in(desk, student), student, photo)
    desk.get_by_role("button", name="Begin anew").click()
    expect(desk.locator("[data-ready]")).to_be_attached()
    expect(desk.locator("form [data-again]")).to_be_hidden()
    assert points() == proposed


def test_mouse_drags_a_ring_and_what_is_no_ring_moves_the_photo(desk, sign_in, teacher, photo):
    opened(sign_in(desk, teacher), teacher, photo)
    before = number(desk)
    x, y = middle(desk, "staple_foot")
    desk.mouse.move(x, y)
    desk.mouse.down()
    desk.mouse.move(x + 25, y, steps=4)
    desk.mouse.up()
    settled(desk)
    assert abs(number(desk) - before) > 0.5
    after = number(desk)
    stage = desk.locator(".stage").bounding_box()
    desk.mouse.move(stage["x"] + stage["width"] / 2, stage["y"] + 40)
    desk.mouse.down()
    desk.mouse.move(stage["x"] + stage["width"] / 2 + 60, stage["y"] + 40, steps=4)
    desk.mouse.up()
    assert number(desk) == after
    assert middle(desk, "tip") != (x, y)


def test_ruler_asks_for_its_two_marks_and_says_so_until_they_are_there(
    desk, sign_in, student, photo, watch, axe
):
    watch.expect(422)
    opened(sign_in(desk, student), student, photo)
    desk.get_by_label(re.compile("a ruler beside it")).check()
    expect(desk.locator("#said .message-error")).to_be_visible()
    desk.get_by_label("Millimetres between the two marks").fill("80")
    for name in ("One mark of the ruler", "Another mark of the ruler"):
        desk.get_by_role("button", name=re.compile(name)).click()
    settled(desk)
    expect(desk.locator("#said .message").first).to_contain_text("tilt")
    assert number(desk) > 10
    desk.get_by_label("Millimetres between the two marks").fill("0")
    expect(desk.locator("#said .message-error")).to_be_visible()
    axe(desk)


def test_point_that_is_missing_takes_its_lengths_with_it(desk, sign_in, student, photo):
    opened(sign_in(desk, student), student, photo)
    desk.locator("[data-point=tip]").click()
    desk.get_by_role("button", name="Take the chosen point away").click()
    settled(desk)
    expect(desk.locator("[data-length=overall_length] strong")).to_have_text("–")
    expect(desk.locator("[data-keep=overall_length]")).to_be_disabled()
    desk.locator("[data-point=tip]").click()
    settled(desk)
    expect(desk.locator("[data-keep=overall_length]")).to_be_enabled()


def test_script_in_the_browser_agrees_with_the_cases(desk, live_server):
    desk.goto("/account/login/")
    found = desk.evaluate(
        """async (cases) => {
          const { toPlane, distanceMm } = await import("/static/js/projection.js");
          return cases.map((one) => ({
            start: toPlane(one.matrix, one.start), stop: toPlane(one.other ?? one.matrix, one.stop),
            distance: distanceMm(one.matrix, one.start, one.stop, one.other),
          }));
        }""",
        CASES["cases"],
    )
    assert len(found) == len(CASES["cases"]) > 20
    for case, told in zip(CASES["cases"], found, strict=True):
        assert told["start"] == pytest.approx(case["start_mm"], abs=CASES["tolerance_mm"])
        assert told["stop"] == pytest.approx(case["stop_mm"], abs=CASES["tolerance_mm"])
        assert told["distance"] == pytest.approx(case["distance_mm"], abs=CASES["tolerance_mm"])


def test_card_page_is_readable_to_all_on_phone_and_desk(phone, desk, sign_in, student, photo, axe):
    for page in (phone, desk):
        sign_in(page, student).goto(student.to("reeds:card"))
        expect(page.get_by_role("heading", name="Card 1")).to_be_visible()
        axe(page)
    assert phone.evaluate("document.documentElement.scrollWidth") <= 390


def test_a_photo_measured_from_a_draft_comes_back_and_fills_the_field(phone, sign_in, student, photo):
    round_ = make.SubmissionFactory(reed=photo.reed)
    round_.photos.add(photo)
    sign_in(phone, student).goto(student.to("lessons:draft", photo.reed_id))
    phone.get_by_role("link", name="Measure on the photo").tap()
    expect(phone.locator("[data-ready]")).to_be_attached()
    with phone.expect_request(re.compile("/upright/")):  # the lens wants it sharp, now that one looks
        phone.locator("[data-point=tip]").tap()
    measured = phone.locator("[data-length=overall_length] strong").inner_text().split()[0]
    phone.get_by_role("button", name="Keep the ticked lengths").click()
    phone.wait_for_url(re.compile(r"/send/\d+/#numbers$"))
    field = phone.get_by_label("Overall length (mm)")
    assert float(field.input_value()) == pytest.approx(float(measured), abs=0.11)
    expect(phone.locator("[name=overall_length-method]")).to_have_value("photo")
    field.fill("60")  # typed over it, so by hand
    expect(phone.locator("[name=overall_length-method]")).to_have_value("ruler")
    expect(phone.locator("#said-overall_length")).to_contain_text("cannot both be right")

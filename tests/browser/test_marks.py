"""Marks on a photo: each kind by mouse, by touch, by pen, by keyboard; undone, measured, kept, shown."""

import json
import re
from pathlib import Path

import pytest
from playwright.sync_api import expect

from lessons.answering.annotation import Kind, Plane, length_mm, length_on_plane, read_drawn
from lessons.answering.models import Mark
from lessons.answering.pages.marked import in_mm, marked_photos
from tests import factories as make
from tests.browser.drawing_hands import (
    PLACES,
    by_keyboard,
    by_mouse,
    by_touch,
    fractions,
    kept,
    pick,
    places,
    write,
)
from tests.studio.serving import wait_until

KINDS = ["point", "line", "arrow", "outline", "freehand"]
TABLET = {"viewport": {"width": 1024, "height": 768}, "has_touch": True}
LESSONS = Path(__file__).parents[1] / "lessons" / "answering"
CASES = json.loads((LESSONS / "length_cases.json").read_text())
PLANES = json.loads((LESSONS / "plane_cases.json").read_text())


@pytest.mark.parametrize("way", [by_mouse, by_touch, by_keyboard], ids=["mouse", "touch", "keyboard"])
def test_each_kind_of_mark_is_drawn_named_kept_and_shown_again(way, open_page, desk, look, watch):
    page = look(open_page(**TABLET) if way is by_touch else desk)
    notes = page.locator("[data-note-words]")
    for number, kind in enumerate(KINDS, 1):
        way(page, kind)
        expect(notes).to_have_count(number)
        write(page, f"leave this {kind}", number)
        wait_until(lambda words=f"leave this {kind}": words in [one.words for one in Mark.objects.all()])
        mark = kept(page, number)[-1]
        assert (mark.drawn.kind, mark.words) == (kind, f"leave this {kind}")
        if way is not by_keyboard:
            expected = fractions(page, places(page)[0])
            assert mark.drawn.points[0] == pytest.approx(expected, abs=0.01)
    page.reload()
    for number, kind in enumerate(KINDS):
        expect(page.locator(f"[data-stage] .mark-{kind} .ink").first).to_be_attached()
        expect(notes.nth(number)).to_have_value(f"leave this {kind}")


def test_a_line_can_be_set_by_two_clicks(desk, look):
    page = look(desk)
    pick(page, "line")
    for place in places(page)[:2]:
        page.mouse.click(*place)
    (mark,) = kept(page)
    ends = [fractions(page, place) for place in places(page)[:2]]
    assert [pytest.approx(end, abs=0.005) for end in ends] == list(mark.drawn.points)


def test_a_line_shows_its_millimetres_once_a_known_length_is_set(desk, look, sent):
    page = look(desk)
    by_mouse(page, "scale")
    page.get_by_label("How long is what you drew").fill("12,5")
    page.keyboard.press("Enter")
    by_mouse(page, "line", [PLACES[0], PLACES[3]])
    scale, line = (mark.drawn for mark in kept(page, 2))
    assert (scale.kind, scale.known_mm, line.kind) == (Kind.SCALE, 12.5, Kind.LINE)
    photo = sent.photos.first()
    said = in_mm(length_mm(line, scale, photo.width, photo.height))
    assert "±" in said
    expect(page.locator("[data-note-length]").nth(1)).to_have_text(said)
    expect(page.locator("[data-stage] .mark-length").nth(1)).to_have_text(said)


def test_a_known_length_that_is_none_is_asked_again_and_left_by_escape(desk, look):
    page = look(desk)
    by_mouse(page, "scale")
    field = page.get_by_label("How long is what you drew")
    field.fill("long")
    field.press("Enter")
    expect(page.locator("[data-hint]")).to_contain_text("more than 0")
    field.press("Escape")
    expect(field).to_be_hidden()
    expect(page.locator("[data-note-words]")).to_have_count(0)


def test_the_page_and_the_server_agree_on_millimetres(desk, look):
    page = look(desk)
    for case in CASES:
        agree_on_a_known_length(page, case)
    for case in PLANES:
        agree_on_a_measured_photo(page, case)


def agree_on_a_known_length(page, case):
    told = page.evaluate(
        """async ({ line, known, known_mm, width, height }) => {
          const { lengthMm, inMm } = await import("/static/js/length.js");
          const length = lengthMm(line, known, known_mm, width, height);
          return [length.value, length.u, inMm(length)];
        }""",
        case,
    )
    line = read_drawn({"kind": "line", "points": case["line"]})
    scale = read_drawn({"kind": "scale", "points": case["known"], "known_mm": case["known_mm"]})
    ours = length_mm(line, scale, case["width"], case["height"])
    assert told == [pytest.approx(ours.value), pytest.approx(ours.u), in_mm(ours)]


def agree_on_a_measured_photo(page, case):
    told = page.evaluate(
        """async ({ line, plane, width, height }) => {
          const { lengthOnPlane, inMm } = await import("/static/js/length.js");
          const length = lengthOnPlane(line, plane, width, height);
          return [length.value, length.u, inMm(length)];
        }""",
        case,
    )
    line = read_drawn({"kind": "line", "points": case["line"]})
    ours = length_on_plane(line, Plane(**case["plane"]), case["width"], case["height"])
    assert told == [pytest.approx(ours.value), pytest.approx(ours.u), in_mm(ours)]


def test_a_line_on_a_measured_photo_has_its_millimetres_at_once(desk, look, sent):
    photo = make.measured_photo(sent.reed)
    sent.photos.set([photo])
    page = look(desk)
    by_mouse(page, "line")
    expect(page.locator("[data-hint]")).to_contain_text("this photo was measured")
    kept(page)
    (marked,) = marked_photos(sent.photos.all(), Mark.objects.all())
    assert re.fullmatch(r"[\d.]+ ± [\d.]+ mm", marked.shown[0].words)
    expect(page.locator("[data-note-length]")).to_have_text(marked.shown[0].words)


def test_undo_redo_and_taking_off(desk, look):
    page = look(desk)
    notes = page.locator("[data-note-words]")
    by_mouse(page, "point")
    by_mouse(page, "arrow")
    expect(notes).to_have_count(2)
    page.get_by_role("button", name="Undo").click()
    expect(notes).to_have_count(1)
    page.get_by_role("button", name="Redo").click()
    expect(notes).to_have_count(2)
    page.locator("[data-note-drop]").first.click()
    expect(notes).to_have_count(1)
    (left,) = kept(page)
    assert left.drawn.kind == Kind.ARROW
    page.locator("[data-stage]").focus()
    page.keyboard.press("u")
    kept(page, 2)


def test_words_are_changed_and_the_change_undone(desk, look):
    page = look(desk)
    by_mouse(page, "point")
    write(page, "first")
    write(page, "second")
    assert kept(page)[0].words == "second"
    page.keyboard.press("u")
    expect(page.locator("[data-note-words]")).to_have_value("first")
    assert kept(page)[0].words == "first"


def test_letters_typed_into_words_are_never_keys(desk, look):
    page = look(desk)
    by_mouse(page, "point")
    page.locator("[data-note-words]").press_sequentially("plaozuikt? q1")
    expect(page.locator("[data-tool=point]")).to_have_attribute("aria-pressed", "true")
    expect(page.locator("[data-note-words]")).to_have_value("plaozuikt? q1")


def test_single_letters_can_be_switched_off(desk, look):
    page = look(desk)
    page.locator("main").press("k")
    page.get_by_label("Single letters are keys").uncheck()
    page.get_by_role("button", name="Close").first.click()
    page.locator("[data-stage]").press("a")
    expect(page.locator("[data-tool=move]")).to_have_attribute("aria-pressed", "true")


def test_a_mark_drawn_on_a_zoomed_photo_lies_where_it_was_drawn(desk, look):
    page = look(desk)
    leaf = page.locator("[data-stage] .leaf")
    before = leaf.bounding_box()["width"]
    page.mouse.move(*places(page)[1])
    for _turn in range(3):
        page.mouse.wheel(0, -200)
    page.wait_for_function("width => document.querySelector('.leaf').clientWidth > 2 * width", arg=before)
    by_mouse(page, "point")
    expected = fractions(page, places(page)[0])
    (mark,) = kept(page)
    assert mark.drawn.points[0] == pytest.approx(expected, abs=0.003)
    page.locator("[data-stage]").press("0")
    assert leaf.bounding_box()["width"] == pytest.approx(before, abs=1)


def test_two_fingers_zoom_and_leave_no_mark(open_page, look):
    page = look(open_page(**TABLET))
    pick(page, "freehand")
    cdp = page.context.new_cdp_session(page)
    (x, y), *_others = places(page, [(0.5, 0.5)])
    before = page.locator("[data-stage] .leaf").bounding_box()["width"]
    for name, apart in (("touchStart", 0), ("touchStart", 30), ("touchMove", 60), ("touchMove", 120)):
        points = [{"x": x - apart, "y": y, "id": 1}, {"x": x + apart, "y": y, "id": 2}]
        cdp.send("Input.dispatchTouchEvent", {"type": name, "touchPoints": points[: 2 if apart else 1]})
    cdp.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
    page.wait_for_function("width => document.querySelector('.leaf').clientWidth > 2 * width", arg=before)
    expect(page.locator("[data-note-words]")).to_have_count(0)


def test_a_pen_draws_and_the_palm_beside_it_does_not(open_page, look):
    page = look(open_page(**TABLET))
    pick(page, "line")
    cdp = page.context.new_cdp_session(page)
    start, end = places(page)[:2]

    def pen(name, place):
        at = {"x": place[0], "y": place[1], "button": "left", "buttons": 1, "clickCount": 1}
        cdp.send("Input.dispatchMouseEvent", {"type": name, **at, "pointerType": "pen"})

    pen("mousePressed", start)
    pen("mouseMoved", end)
    pen("mouseReleased", end)
    kept(page)
    by_touch(page, "freehand")
    expect(page.locator("[data-note-words]")).to_have_count(1)
    assert Mark.objects.count() == 1


def test_a_mark_that_could_not_be_kept_is_told_and_tried_again(desk, look, watch, teacher, sent):
    page = look(desk)
    address = f"**{teacher.to('lessons:mark', sent.pk)}"
    watch.expect(503)
    page.route(address, lambda route: route.fulfill(status=503, body="away"))
    by_mouse(page, "point")
    expect(page.locator("[data-saving]")).to_contain_text("Not kept yet")
    assert not Mark.objects.exists()
    page.unroute(address)
    kept(page)


def test_a_mark_that_was_refused_is_not_left_out_of_an_answer_unsaid(desk, look, watch, teacher, sent):
    page = look(desk)
    address = f"**{teacher.to('lessons:mark', sent.pk)}"
    watch.expect(422)
    page.route(address, lambda route: route.fulfill(status=422, json={"refusal": "Too many."}))
    by_mouse(page, "point")
    expect(page.locator("[data-saving]")).to_have_text("Too many.")
    page.get_by_label("play it").check(force=True)
    page.get_by_role("button", name="Send, next reed").click()
    expect(page.locator("[data-refusal]")).to_contain_text("a mark is not kept yet")
    page.locator("[data-note-drop]").click()
    expect(page.locator("[data-saving]")).to_have_text("Marks kept.")
    page.get_by_role("button", name="Send, next reed").click()
    page.wait_for_url(re.compile(r"/queue/$"))

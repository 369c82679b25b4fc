"""Marks on a photo: each kind by mouse, by touch, by pen, by keyboard; undone, measured, kept, shown."""

import json
import re
import time
import uuid
from pathlib import Path

import pytest
from playwright.sync_api import expect

from lessons import actions
from lessons.actions import Written
from lessons.annotation import Kind, length_mm, read_drawn
from lessons.marked import in_mm
from lessons.models import Answer, Mark, Phrase, Submission
from reeds.actions import take_out
from tests import factories as make

KINDS = ["point", "line", "arrow", "outline", "freehand"]
# of the stage, well within the photo
PLACES = [(0.35, 0.4), (0.5, 0.35), (0.62, 0.5), (0.5, 0.62)]
TABLET = {"viewport": {"width": 1024, "height": 768}, "has_touch": True}
CASES = json.loads((Path(__file__).parents[1] / "lessons" / "length_cases.json").read_text())


@pytest.fixture
def sent(student):
    return make.sent_round(student, photos=2)


@pytest.fixture
def look(sign_in, teacher, sent):
    """Return a function that opens the round on a page and waits until it can be marked."""

    def looked(page):
        sign_in(page, teacher).goto(teacher.to("lessons:review", sent.pk))
        expect(page.locator("[data-stage] svg.marks")).to_have_attribute("viewBox", re.compile(r"0 0 \d"))
        return page

    return looked


def places(page, of=PLACES):
    """Return where those parts of the stage are on the screen."""
    box = page.locator("[data-stage]").bounding_box()
    return [(box["x"] + x * box["width"], box["y"] + y * box["height"]) for x, y in of]


def fractions(page, at):
    """Return what fraction of the photo lies there."""
    box = page.locator("[data-stage] .leaf").bounding_box()
    return (at[0] - box["x"]) / box["width"], (at[1] - box["y"]) / box["height"]


def track(kind):
    return {"point": PLACES[:1], "line": PLACES[:2], "arrow": PLACES[:2], "scale": PLACES[:2]}.get(
        kind, PLACES
    )


def pick(page, kind):
    page.locator(f"[data-tool={kind}]").click()


def by_mouse(page, kind, of=None):
    pick(page, kind)
    first, *others = places(page, of or track(kind))
    page.mouse.move(*first)
    page.mouse.down()
    for place in others:
        page.mouse.move(*place, steps=4)
    page.mouse.up()


def by_touch(page, kind):
    pick(page, kind)
    cdp = page.context.new_cdp_session(page)

    def touch(name, *points):
        cdp.send(
            "Input.dispatchTouchEvent", {"type": name, "touchPoints": [{"x": x, "y": y} for x, y in points]}
        )

    first, *others = places(page, track(kind))
    touch("touchStart", first)
    last = first
    for place in others:
        for part in (0.25, 0.5, 0.75, 1):
            touch("touchMove", (last[0] + (place[0] - last[0]) * part, last[1] + (place[1] - last[1]) * part))
        last = place
    touch("touchEnd")


def by_keyboard(page, kind):
    page.locator("main").press(
        {"point": "p", "line": "l", "arrow": "a", "outline": "o", "freehand": "f"}[kind]
    )
    page.keyboard.press("Enter")
    for key in {"point": [], "line": ["ArrowRight"], "arrow": ["ArrowUp"]}.get(
        kind, ["ArrowRight", "ArrowUp"]
    ):
        for _step in range(4):
            page.keyboard.press(key)
        page.keyboard.press("Enter")
    if kind in ("outline", "freehand"):
        page.keyboard.press("Enter")  # twice on one place ends it


def kept(page, count=1):
    expect(page.locator("[data-saving]")).to_have_text("Marks kept.")
    assert Mark.objects.count() == count
    return list(Mark.objects.all())


def write(page, words, number=1):
    page.locator("[data-note-words]").nth(number - 1).fill(words)
    page.locator("[data-note-words]").nth(number - 1).press("Enter")


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("way", [by_mouse, by_touch, by_keyboard], ids=["mouse", "touch", "keyboard"])
def test_each_kind_of_mark_is_drawn_named_kept_and_shown_again(way, kind, open_page, desk, look, watch):
    page = look(open_page(**TABLET) if way is by_touch else desk)
    way(page, kind)
    expect(page.locator("[data-note-words]")).to_have_count(1)
    write(page, "leave this")
    (mark,) = kept(page)
    assert (mark.drawn.kind, mark.words) == (kind, "leave this")
    if way is not by_keyboard:
        expected = fractions(page, places(page)[0])
        assert mark.drawn.points[0] == pytest.approx(expected, abs=0.01)
    page.reload()
    expect(page.locator(f"[data-stage] .mark-{kind} .ink").first).to_be_attached()
    expect(page.locator("[data-note-words]")).to_have_value("leave this")


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


@pytest.mark.parametrize("case", CASES)
def test_the_page_and_the_server_agree_on_millimetres(case, desk, look):
    page = look(desk)
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
    page.keyboard.press("z")
    kept(page, 2)


def test_words_are_changed_and_the_change_undone(desk, look):
    page = look(desk)
    by_mouse(page, "point")
    write(page, "first")
    write(page, "second")
    assert kept(page)[0].words == "second"
    page.keyboard.press("z")
    expect(page.locator("[data-note-words]")).to_have_value("first")
    assert kept(page)[0].words == "first"


def test_letters_typed_into_words_are_never_keys(desk, look):
    page = look(desk)
    by_mouse(page, "point")
    page.locator("[data-note-words]").press_sequentially("plaoz? q1")
    expect(page.locator("[data-tool=point]")).to_have_attribute("aria-pressed", "true")
    expect(page.locator("[data-note-words]")).to_have_value("plaoz? q1")


def test_single_letters_can_be_switched_off(desk, look):
    page = look(desk)
    page.locator("main").press("?")
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


def test_my_usual_words_go_in_at_the_cursor_and_a_selection_is_kept(desk, look, teacher):
    Phrase.objects.create(studio=teacher.studio, teacher=teacher, words="a few strokes a side")
    page = look(desk)
    words = page.get_by_label("Your words")
    words.fill("First . Then play.")
    words.evaluate("field => field.setSelectionRange(6, 6)")
    page.keyboard.press("Alt+w")
    page.keyboard.type("strokes")
    page.keyboard.press("Enter")
    expect(words).to_have_value("First a few strokes a side. Then play.")
    words.evaluate("field => field.setSelectionRange(28, 38)")
    page.get_by_role("button", name="My usual words").click()
    page.get_by_role("button", name="Keep what is selected").click()
    expect(page.locator("[data-usual-said]")).to_have_text("Kept among your usual words.")
    assert set(Phrase.objects.values_list("words", "used")) == {
        ("a few strokes a side", 1),
        ("Then play.", 0),
    }


def test_a_whole_answer_by_keyboard_and_the_student_sees_the_marks(
    desk, phone, look, sign_in, student, sent, axe
):
    page = look(desk)
    by_keyboard(page, "arrow")
    page.keyboard.type("too thick here")
    page.keyboard.press("Enter")
    page.keyboard.press("e")
    page.keyboard.type("Good so far.")
    page.get_by_label("work on it").press("Space")
    expect(page.locator("[data-kept]")).to_contain_text("Draft kept")
    axe(page)
    page.keyboard.press("Control+Enter")
    page.wait_for_url(re.compile(r"/queue/$"))
    assert not Submission.objects.get().is_waiting
    sign_in(phone, student).goto(student.to("lessons:round", sent.pk))
    expect(phone.get_by_text("too thick here")).to_be_visible()
    expect(phone.locator(".marks .mark-arrow")).to_be_attached()
    axe(phone)


def test_a_refused_answer_leaves_every_word_on_the_page(desk, look, watch):
    watch.expect(422)
    page = look(desk)
    page.get_by_label("Your words").fill("Not finished")
    page.get_by_role("button", name="Send, next reed").click()
    expect(page.get_by_text("Choose what is to become of the reed.")).to_be_visible()
    expect(page.get_by_label("Your words")).to_have_value("Not finished")
    assert Answer.objects.get().sent_at is None


def test_a_usual_next_step_brings_its_caution(desk, look):
    page = look(desk)
    page.get_by_text("Other usual next steps").click()
    page.get_by_role("button", name="Take a little just under the tip.").click()
    expect(page.get_by_label("The one next step")).to_have_value("Take a little just under the tip.")
    expect(page.get_by_label("Caution with it")).to_have_value(re.compile("Knives and blades cut"))


def test_an_earlier_photo_is_laid_beside_it(desk, sign_in, teacher, student, axe):
    reed = make.ReedFactory(owner=student)
    first = make.sent_round(student, reed=reed, days=9)
    answer = actions.answer_of(first, teacher)
    drawn = read_drawn({"kind": "arrow", "points": [[0.1, 0.1], [0.5, 0.5]]})
    actions.put_mark(answer, first.photos.get(), uuid.uuid4(), drawn)
    actions.keep_answer(answer, Written(decision="work"))
    actions.send_answer(answer)
    now = make.sent_round(student, reed=reed, round=2)
    sign_in(desk, teacher).goto(teacher.to("lessons:review", now.pk))
    desk.locator("main").press("b")
    beside = desk.locator("[data-beside]")
    expect(beside).to_be_visible()
    expect(beside).to_contain_text("round 1")
    expect(beside.locator(".mark-arrow")).to_be_attached()
    axe(desk)
    beside.press("Escape")
    expect(beside).to_be_hidden()


def test_a_reed_taken_out_meanwhile_is_told_and_the_words_stay(desk, look, watch, sent):
    watch.expect(422)
    page = look(desk)
    page.get_by_label("Your words").fill("Half a sen")
    expect(page.locator("[data-kept]")).to_contain_text("Draft kept")
    take_out(sent.reed)
    page.get_by_label("Your words").fill("Half a sentence")
    expect(page.locator("[data-refusal]")).to_contain_text("taken this reed out")
    by_mouse(page, "point")
    expect(page.locator("[data-saving]")).to_contain_text("taken this reed out")
    page.get_by_label("play it").check(force=True)
    page.get_by_role("button", name="Send, next reed").click()
    expect(page.locator("[data-refusal]")).to_contain_text("taken this reed out")
    expect(page.get_by_label("Your words")).to_have_value("Half a sentence")


def test_words_are_kept_also_if_the_page_is_left_while_they_are_typed(desk, look, teacher):
    page = look(desk)
    page.get_by_label("Your words").press_sequentially("one two three four five six seven", delay=60)
    page.get_by_label("Caution with it").press_sequentially("slowly", delay=150)
    page.goto(teacher.to("lessons:queue"))
    end = time.monotonic() + 10
    while Answer.objects.get().caution != "slowly" and time.monotonic() < end:
        time.sleep(0.1)
    assert Answer.objects.values_list("words", "caution").get() == (
        "one two three four five six seven",
        "slowly",
    )

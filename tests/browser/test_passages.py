"""Passages of a recording: dragged, typed or set by keys, played, changed, undone; kept and shown again."""

import re

import pytest
from playwright.sync_api import expect

from lessons.answering import actions
from lessons.answering.models import Mark, Phrase, Written
from tests import factories as make
from tests.browser.conftest import DESK, PHONE
from tests.browser.in_the_hand import small_letters

SECONDS = 3.0  # of the tone in tests/factories.py, with the silences around it


@pytest.fixture
def sent(student):
    return make.sent_round(student, photos=1, takes=1)


@pytest.fixture
def take(sent):
    return sent.takes.get()


@pytest.fixture(params=["take", "review"])
def marking(request, sign_in, teacher, sent, take):
    """Return a function that opens one of the two pages on which a recording is marked."""

    def opened(page):
        where = {"take": ("reeds:take", take.pk), "review": ("lessons:review", sent.pk)}[request.param]
        sign_in(page, teacher).goto(teacher.to(*where))
        for folded in page.locator(".take-folded:not([open]) > summary").all():
            folded.click()
        expect(page.locator(".span-fold")).to_be_visible()
        return page

    return opened


def place(page, second):
    """Where a moment lies on the screen, in the middle of the picture."""
    picture = page.locator("svg[data-picture]")
    picture.scroll_into_view_if_needed()
    box = picture.bounding_box()
    left, right, seconds = (
        float(picture.get_attribute(f"data-{name}")) for name in ("left", "right", "shown")
    )
    x = left + (right - left) * second / seconds
    return box["x"] + box["width"] * x / 400, box["y"] + box["height"] / 2


def drag(page, start, end):
    page.mouse.move(*place(page, start))
    page.mouse.down()
    page.mouse.move(*place(page, (start + end) / 2))
    page.mouse.move(*place(page, end))
    page.mouse.up()


def kept(page, count=1):
    expect(page.locator("[data-span-saving]")).to_have_text("Marks kept.")
    marks = list(Mark.objects.order_by("made_at", "pk"))
    assert len(marks) == count
    return marks


def words(page, text):
    field = page.get_by_label("what you hear there")
    field.fill(text)
    page.get_by_role("button", name="Keep this passage").click()


def test_a_passage_is_dragged_named_kept_played_and_shown_again(desk, marking, take, axe):
    page = marking(desk)
    assert not small_letters(page)
    drag(page, 0.6, 1.4)
    expect(page.get_by_label("from, s")).not_to_have_value("")
    words(page, "it scoops up here")
    expect(page.locator(".passage-words")).to_have_text("it scoops up here")
    (mark,) = kept(page)
    assert (mark.take, mark.words) == (take, "it scoops up here")
    assert (mark.span.start_s, mark.span.end_s) == pytest.approx((0.6, 1.4), abs=0.03)
    axe(page)
    page.reload()
    expect(page.locator("rect.span")).to_have_count(1)
    expect(page.locator(".span-number")).to_have_text("1")
    page.get_by_role("button", name="Play passage 1").click()
    page.wait_for_function("() => document.querySelector('audio').currentTime > 0.8")
    page.wait_for_function("() => document.querySelector('audio').paused")
    assert 1.3 < page.evaluate("document.querySelector('audio').currentTime") < 1.9


def tap_until_told(button, place, text):
    """Tap as a person does: a tap that only ended the fling of a drag is done again."""
    for _try in range(20):
        button.tap()
        try:
            expect(place).to_have_text(text, timeout=2000)
        except AssertionError:
            continue
        return
    expect(place).to_have_text(text)


def test_a_finger_drags_a_passage(open_page, marking):
    page = marking(open_page(**PHONE))
    start, end = place(page, 0.5), place(page, 1.5)
    client = page.context.new_cdp_session(page)

    def touch(kind, *points):
        client.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": list(points)})

    touch("touchStart", {"x": start[0], "y": start[1]})
    for step in range(1, 6):
        touch("touchMove", {"x": start[0] + (end[0] - start[0]) * step / 5, "y": start[1]})
    touch("touchEnd")
    (mark,) = kept(page)
    assert (mark.span.start_s, mark.span.end_s) == pytest.approx((0.5, 1.5), abs=0.1)
    page.get_by_label("what you hear there").fill("late")
    tap_until_told(
        page.get_by_role("button", name="Keep this passage"), page.locator(".passage-words"), "late"
    )


def test_keys_set_both_ends_on_the_picture(desk, marking):
    page = marking(desk)
    page.get_by_role("slider").focus()
    for key in ("ArrowRight", "ArrowRight", "Enter", "ArrowRight", "ArrowRight", "ArrowRight", "Enter"):
        page.keyboard.press(key)
    expect(page.get_by_label("what you hear there")).to_be_focused()
    page.keyboard.type("set by keys")
    page.get_by_role("button", name="Keep this passage").press("Enter")
    expect(page.locator(".passage-words")).to_have_text("set by keys")
    (mark,) = kept(page)
    assert (mark.span.start_s, mark.span.end_s) == (0.5, 1.25)


def test_escape_leaves_what_was_begun(desk, marking):
    page = marking(desk)
    page.get_by_role("slider").focus()
    for key in ("ArrowRight", "Enter", "ArrowRight"):
        page.keyboard.press(key)
    expect(page.locator("rect.span")).to_have_count(1)
    page.keyboard.press("Escape")
    expect(page.locator("rect.span")).to_have_count(0)
    page.keyboard.press("Enter")
    assert not Mark.objects.exists()


def test_seconds_are_typed_a_usual_phrase_is_picked_and_counted(desk, marking, teacher):
    phrase = Phrase.objects.create(studio=teacher.studio, teacher=teacher, words="Start it with more air.")
    page = marking(desk)
    page.get_by_text("Mark a passage").click()
    page.get_by_label("from, s").fill("1,2")
    page.get_by_label("to, s").fill("1.9")
    page.get_by_label("or one of my usual words").select_option(label=phrase.words)
    expect(page.get_by_label("what you hear there")).to_have_value(phrase.words)
    page.get_by_role("button", name="Keep this passage").click()
    expect(page.locator(".passage-words")).to_have_text(phrase.words)
    (mark,) = kept(page)
    assert (mark.span.start_s, mark.span.end_s, mark.words) == (1.2, 1.9, phrase.words)
    phrase.refresh_from_db()
    assert phrase.used == 1


def test_what_is_no_span_is_said_and_nothing_is_kept(desk, marking):
    page = marking(desk)
    page.get_by_text("Mark a passage").click()
    page.get_by_label("from, s").fill("2")
    page.get_by_label("to, s").fill("2.01")
    page.get_by_role("button", name="Keep this passage").click()
    expect(page.locator("[data-span-saving]")).to_contain_text("too short")
    page.get_by_label("to, s").fill("soon")
    page.get_by_role("button", name="Keep this passage").click()
    expect(page.locator("[data-span-saving]")).to_contain_text("in seconds")
    assert not Mark.objects.exists()


def test_a_passage_is_changed_removed_and_the_removal_undone(desk, marking):
    page = marking(desk)
    drag(page, 0.6, 1.4)
    words(page, "first")
    kept(page)
    page.get_by_role("button", name="Change passage 1").click()
    words(page, "second")
    expect(page.locator(".passage-words")).to_have_text("second")
    (mark,) = kept(page)
    assert mark.words == "second"
    page.get_by_role("button", name="Remove passage 1").click()
    expect(page.locator(".passage")).to_have_count(0)
    expect(page.locator("rect.span")).to_have_count(0)
    kept(page, 0)
    page.get_by_role("button", name="Undo", exact=True).last.click()
    expect(page.locator(".passage-words")).to_have_text("second")
    assert kept(page)[0].words == "second"


def test_one_click_removes_a_passage_whose_words_are_still_being_typed(desk, marking):
    page = marking(desk)
    drag(page, 0.6, 1.4)
    kept(page)
    page.get_by_label("what you hear there").fill("half a though")
    page.get_by_role("button", name="Remove passage 1").click()
    expect(page.locator(".passage")).to_have_count(0)
    kept(page, 0)


def test_a_click_still_only_goes_there(desk, marking):
    page = marking(desk)
    page.mouse.click(*place(page, 2.0))
    page.wait_for_function("() => Math.abs(document.querySelector('audio').currentTime - 2) < 0.1")
    expect(page.locator("rect.span")).to_have_count(0)
    assert not Mark.objects.exists()


def test_without_script_a_passage_is_typed_and_removed(open_page, sign_in, teacher, take):
    page = open_page(java_script_enabled=False, **DESK)
    sign_in(page, teacher)
    page.goto(teacher.to("reeds:take", take.pk))
    page.get_by_text("Mark a passage").click()
    page.get_by_label("from, s").fill("1.2")
    page.get_by_label("to, s").fill("1.9")
    page.get_by_label("what you hear there").fill("typed")
    page.get_by_role("button", name="Keep this passage").click()
    expect(page.locator(".passage-words")).to_have_text("typed")
    expect(page.locator("rect.span")).to_have_count(1)
    assert Mark.objects.get().words == "typed"
    page.get_by_role("button", name=re.compile("^Remove")).click()
    expect(page.locator(".passage")).to_have_count(0)
    assert not Mark.objects.exists()


def test_the_student_reads_and_plays_it_on_the_round_once_sent(
    phone, sign_in, student, teacher, sent, take, axe
):
    answer = actions.answer_of(sent, teacher)
    Mark.objects.create(studio=sent.studio, answer=answer, take=take, annotation=make.span_mark())
    actions.keep_answer(answer, Written(decision="work"))
    actions.send_answer(answer)
    sign_in(phone, student).goto(student.to("lessons:round", sent.pk))
    expect(phone.locator(".passage-words")).to_have_text("it scoops up here")
    expect(phone.locator("rect.span")).to_have_count(1)
    axe(phone)
    phone.get_by_role("button", name="Play passage 1").tap()
    phone.wait_for_function("() => document.querySelector('audio').currentTime > 0.8")
    phone.wait_for_function("() => document.querySelector('audio').paused")


@pytest.mark.parametrize("size", [DESK, {"viewport": {"width": 1024, "height": 768}}, PHONE])
def test_recordings_leave_the_photo_its_room_and_can_be_scrolled_to(open_page, sign_in, teacher, sent, size):
    page = open_page(**size)
    sign_in(page, teacher).goto(teacher.to("lessons:review", sent.pk))
    expect(page.locator("[data-stage] svg.marks")).to_have_attribute("viewBox", re.compile(r"0 0 \d"))
    assert page.locator("[data-stage]").bounding_box()["height"] > 300
    page.get_by_role("link", name="1 recording").click()
    expect(page.get_by_role("heading", name="Recordings")).to_be_in_viewport()
    page.locator(".take-folded > summary").click()
    page.locator("svg[data-picture]").scroll_into_view_if_needed()
    expect(page.locator("svg[data-picture]")).to_be_in_viewport()
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")


def test_a_folded_recording_is_drawn_when_it_is_opened_and_marked_like_any(desk, sign_in, teacher, sent, axe):
    last = make.ready_take(sent.reed)
    sent.takes.add(last)
    page = sign_in(desk, teacher)
    page.goto(teacher.to("lessons:review", sent.pk))
    expect(page.locator("svg[data-picture]")).to_have_count(0)
    page.locator(".take-folded > summary").last.click()
    folded = page.locator(f'[data-take="{last.pk}"]')
    expect(folded.locator("svg[data-picture]")).to_be_visible()
    folded.locator(".span-fold > summary").click()
    folded.get_by_label("from, s").fill("0.5")
    folded.get_by_label("to, s").fill("1.2")
    folded.get_by_label("what you hear there").fill("it scoops up here")
    folded.get_by_role("button", name="Keep this passage").click()
    expect(folded.locator(".passage-words")).to_have_text("it scoops up here")
    expect(folded.locator("[data-span-saving]")).to_have_text("Marks kept.")
    assert Mark.objects.get().take == last
    axe(page)

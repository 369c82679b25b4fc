"""A round answered on one screen: usual words, the keyboard alone, an earlier photo, words that stay."""

import re
import time
import uuid

from playwright.sync_api import expect

from lessons.answering import actions
from lessons.answering.annotation import read_drawn
from lessons.answering.models import Answer, Phrase, Written
from lessons.sending.models import Submission
from reeds.reed.actions import take_out
from tests import factories as make
from tests.browser.drawing_hands import (
    an_answer_by_keyboard,
    by_mouse,
)


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
    an_answer_by_keyboard(page)
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
    beside.locator(".stage").press("Escape")
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
    end = time.monotonic() + 60
    while not Answer.objects.filter(caution="slowly").exists() and time.monotonic() < end:
        time.sleep(0.1)
    assert Answer.objects.values_list("words", "caution").get() == (
        "one two three four five six seven",
        "slowly",
    )


def test_sending_waits_for_the_draft_that_is_on_its_way(desk, look, teacher, sent):
    page = look(desk)
    address = f"**{teacher.to('lessons:keep', sent.pk)}"
    held = []
    page.route(address, lambda route: held.append(route))
    page.get_by_label("Your words").fill("One word")
    with page.expect_request(address):
        pass  # the draft is on its way, and does not come
    page.get_by_label("Your words").fill("One word more")
    page.get_by_label("play it").check(force=True)
    kept = teacher.to("lessons:answer", sent.pk)
    asked = []
    page.on("request", lambda request: asked.append(request.url) if request.url.endswith(kept) else None)
    page.keyboard.press("Control+Enter")
    page.wait_for_timeout(500)
    assert asked == []
    held[0].continue_()
    page.wait_for_url(re.compile(r"/queue/$"))
    assert Answer.objects.sent().get().words == "One word more"
